// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/core.h>

#include <cmath>
#include <exiv2/exiv2.hpp>
#include <mutex>
#include <string_view>

#include "core/photo/Exif.h"
#include "core/photo/HeicFile.h"
#include "core/photo/Metadata.h"
#include "core/photo/RawFile.h"

namespace trammel::photo {
namespace {

/// Reads single tags; absent, malformed or implausible ones come back empty.
class Tags {
  public:
    explicit Tags(const Exiv2::ExifData& data) : data_(data) {}

    std::string text(const char* key) const {
        const auto* tag = find(key);
        if (!tag) return {};
        std::string s = tag->toString();
        s = s.substr(0, s.find('\0'));
        const auto last = s.find_last_not_of(" \t\r\n");
        s.resize(last == std::string::npos ? 0 : last + 1);
        return s;
    }
    std::optional<double> number(const char* key, double least, double most) const {
        const auto* tag = find(key);
        if (!tag) return std::nullopt;
        // Taken from the pair itself: the library's own conversion to float keeps seven digits only.
        double value = static_cast<double>(tag->toFloat());
        if (const auto* u = dynamic_cast<const Exiv2::URationalValue*>(&tag->value()))
            value = quotient(u->value_.front());
        else if (const auto* r = dynamic_cast<const Exiv2::RationalValue*>(&tag->value()))
            value = quotient(r->value_.front());
        if (!std::isfinite(value) || value < least || value > most) return std::nullopt;
        return value;
    }
    std::optional<int> integer(const char* key, int least, int most) const {
        const auto value = number(key, least, most);
        return value ? std::optional<int>(static_cast<int>(std::lround(*value))) : std::nullopt;
    }

    bool has(const char* key) const { return find(key) != nullptr; }
    /// Makers' notes of several makers have a tag by such a name: 0 is off.
    bool saysStraightened() const {
        for (const auto& tag : data_) {
            const std::string name = tag.tagName();
            if (name.find("DistortionCorrection") == std::string::npos ||
                name.find("Param") != std::string::npos || tag.count() == 0)
                continue;
            if (tag.toLong() > 0) return true;
        }
        return false;
    }

  private:
    template <class Pair>
    static double quotient(const Pair& pair) {
        return pair.second == 0 ? std::nan("")
                                : static_cast<double>(pair.first) / static_cast<double>(pair.second);
    }
    const Exiv2::Exifdatum* find(const char* key) const {
        const auto it = data_.findKey(Exiv2::ExifKey(key));
        return it == data_.end() || it->count() == 0 ? nullptr : &*it;
    }
    const Exiv2::ExifData& data_;
};

/// mm in one FocalPlaneResolutionUnit. CIPA DC-008 has 2 (inch, the default) and 3 (centimetre); 4 and 5 are
/// seen in the wild. 1 ("no unit") says nothing.
std::optional<double> unitLength_mm(std::optional<int> unit) {
    switch (unit.value_or(2)) {
        case 2:
            return 25.4;
        case 3:
            return 10.0;
        case 4:
            return 1.0;
        case 5:
            return 0.001;
        default:
            return std::nullopt;
    }
}

std::optional<double> focalPlaneResolution(const Tags& tags) {
    const auto resolution = tags.number("Exif.Photo.FocalPlaneXResolution", 1e-9, 1e9);
    const auto unit = unitLength_mm(tags.integer("Exif.Photo.FocalPlaneResolutionUnit", 0, 65535));
    if (!resolution || !unit) return std::nullopt;
    const double perMm = *resolution / *unit;
    // Pixels of cameras measure between a half and fifty micrometres.
    if (perMm < 20.0 || perMm > 2000.0) return std::nullopt;
    return perMm;
}

Exif fromTags(const Tags& tags) {
    Exif e;
    e.make = tags.text("Exif.Image.Make");
    e.model = tags.text("Exif.Image.Model");
    e.bodySerial = tags.text("Exif.Photo.BodySerialNumber");
    e.lensMake = tags.text("Exif.Photo.LensMake");
    e.lensModel = tags.text("Exif.Photo.LensModel");
    e.orientation = tags.integer("Exif.Image.Orientation", 1, 8).value_or(1);
    e.focalLength_mm = tags.number("Exif.Photo.FocalLength", 0.1, 10000.0);
    e.focalLength35_mm = tags.number("Exif.Photo.FocalLengthIn35mmFilm", 1.0, 20000.0);  // 0 means unknown
    e.focalPlaneResolution_per_mm = focalPlaneResolution(tags);
    e.pixelWidth = tags.integer("Exif.Photo.PixelXDimension", 1, 1000000);
    e.pixelHeight = tags.integer("Exif.Photo.PixelYDimension", 1, 1000000);
    e.fNumber = tags.number("Exif.Photo.FNumber", 0.1, 1000.0);
    // 0 means unknown, 0xFFFFFFFF / 1 infinity; nothing measured here is a kilometre away.
    e.subjectDistance_m = tags.number("Exif.Photo.SubjectDistance", 1e-3, 1e4);
    e.digitalZoom = tags.number("Exif.Photo.DigitalZoomRatio", 1.0, 1000.0);  // 0 means not used
    e.dateTimeOriginal = tags.text("Exif.Photo.DateTimeOriginal");
    e.customRendered = tags.integer("Exif.Photo.CustomRendered", 0, 65535);
    e.compositeImage = tags.integer("Exif.Photo.0xa460", 0, 65535);  // CompositeImage, since Exif 2.32
    e.correctionDeclared = tags.has("Exif.Image.0xc74e") || tags.has("Exif.SubImage1.0xc74e");  // OpcodeList3
    e.straightened = tags.saysStraightened();
    return e;
}

/// Words of XMP by which programs and phones tell what they did. From memory of such files; no standard.
void addXmp(Exif& e, std::string_view xmp) {
    const auto says = [xmp](const char* word) { return xmp.find(word) != std::string_view::npos; };
    e.merged = e.merged || says("GPano:") || says("hdrgm:Version") || says("HdrPlus") || says("HDRGainMap");
    e.straightened = e.straightened || says("LensProfileEnable=\"1\"") || says("LensProfileEnable>1<");
}

std::mutex& oneAtATime() {
    static std::mutex mutex;  // the library keeps global state for XMP
    return mutex;
}

Metadata fromHeic(const std::filesystem::path& file) {
    Metadata out;
    const Result<HeicExtras> extras = readHeicExtras(file);
    if (!extras) throw std::runtime_error("no HEIC");
    Exiv2::ExifData data;
    if (!extras->exif.empty())
        Exiv2::ExifParser::decode(data, reinterpret_cast<const Exiv2::byte*>(extras->exif.data()),
                                  static_cast<std::uint32_t>(extras->exif.size()));
    out.exif = fromTags(Tags(data));
    addXmp(out.exif, extras->xmp);
    out.icc = extras->icc;
    out.transfer = extras->transfer;
    const Result<Header> header = readHeicHeader(file, out.exif);
    out.exif.orientation = header ? header->orientation : 1;
    return out;
}

Metadata fromLibrary(const std::filesystem::path& file) {
    Metadata out;
    const auto image = Exiv2::ImageFactory::open(file.string());
    image->readMetadata();
    out.exif = fromTags(Tags(image->exifData()));
    addXmp(out.exif, image->xmpPacket());
    if (const Exiv2::DataBuf* icc = image->iccProfile(); icc && icc->pData_ && icc->size_ > 0)
        out.icc.assign(reinterpret_cast<const char*>(icc->pData_), static_cast<std::size_t>(icc->size_));
    return out;
}

/// A raw file is the whole frame as the sensor gave it, which its EXIF does not say.
Metadata fromRaw(const std::filesystem::path& file) {
    Metadata out;
    try {
        out = fromLibrary(file);
    } catch (const std::exception&) {
    }
    const Result<Exif> raw = readRawExif(file);
    const Result<Header> header = readRawHeader(file);
    if (!raw || !header) throw std::runtime_error("no raw file");
    Exif& e = out.exif;
    if (e.make.empty()) e.make = raw->make;
    if (e.model.empty()) e.model = raw->model;
    if (e.lensModel.empty()) e.lensModel = raw->lensModel;
    if (!e.focalLength_mm) e.focalLength_mm = raw->focalLength_mm;
    if (!e.focalLength35_mm) e.focalLength35_mm = raw->focalLength35_mm;
    e.orientation = raw->orientation;
    e.pixelWidth = header->width, e.pixelHeight = header->height;
    out.icc.clear();  // its pixels come out with the sRGB curve
    return out;
}

}  // namespace

Result<Metadata> readMetadata(const std::filesystem::path& file, FileFormat format) {
    const std::lock_guard lock(oneAtATime());
    try {
        Exiv2::LogMsg::setLevel(Exiv2::LogMsg::mute);  // its warnings are not for the user
        if (format == FileFormat::Heic) return fromHeic(file);
        return format == FileFormat::Raw ? fromRaw(file) : fromLibrary(file);
    } catch (const std::exception&) {
        return Error{ErrorCode::FileDamaged, "its EXIF data cannot be read", file.string(),
                     "use the file as the camera wrote it"};
    }
}

std::string readEmbeddedJpeg(const std::filesystem::path& file) {
    const std::lock_guard lock(oneAtATime());
    try {
        Exiv2::LogMsg::setLevel(Exiv2::LogMsg::mute);
        const auto image = Exiv2::ImageFactory::open(file.string());
        image->readMetadata();
        const Exiv2::PreviewManager previews(*image);
        const Exiv2::PreviewPropertiesList list = previews.getPreviewProperties();  // smallest first
        if (list.empty() || list.back().extension_ != ".jpg") return {};
        const Exiv2::PreviewImage largest = previews.getPreviewImage(list.back());
        return {reinterpret_cast<const char*>(largest.pData()), largest.size()};
    } catch (const std::exception&) {
        return {};
    }
}

Result<Exif> readExif(const std::filesystem::path& file) {
    const Result<FileFormat> format = formatOf(file);
    if (!format) return format.error();
    Result<Metadata> metadata = readMetadata(file, *format);
    if (!metadata) return metadata.error();
    return std::move(metadata->exif);
}

}  // namespace trammel::photo
