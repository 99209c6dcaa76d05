// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/core.h>

#include <cmath>
#include <exiv2/exiv2.hpp>
#include <mutex>

#include "core/photo/Exif.h"

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
    return e;
}

}  // namespace

Result<Exif> readExif(const std::filesystem::path& file) {
    static std::mutex oneAtATime;  // the library keeps global state for XMP
    const std::lock_guard lock(oneAtATime);
    std::error_code code;
    if (!std::filesystem::is_regular_file(file, code))
        return Error{ErrorCode::FileMissing, "no such file", file.string(), "check the name"};
    try {
        Exiv2::LogMsg::setLevel(Exiv2::LogMsg::mute);  // its warnings are not for the user
        const auto image = Exiv2::ImageFactory::open(file.string());
        image->readMetadata();
        return fromTags(Tags(image->exifData()));
    } catch (const std::exception&) {
        return Error{ErrorCode::FileDamaged, "its EXIF data cannot be read", file.string(),
                     "use the file as the camera wrote it"};
    }
}

}  // namespace trammel::photo
