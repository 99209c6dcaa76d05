// SPDX-License-Identifier: GPL-3.0-or-later
#include <cmath>
#include <exiv2/exiv2.hpp>

#include "core/photo/Exif.h"

namespace trammel::photo {
namespace {

void set(Exiv2::ExifData& data, const char* key, const std::string& text) {
    if (!text.empty()) data[key] = text;
}

/// As a fraction of whole numbers, which is all that the format knows.
void setRational(Exiv2::ExifData& data, const char* key, const std::optional<double>& value,
                 int denominator) {
    if (value)
        data[key] = Exiv2::URational(static_cast<std::uint32_t>(std::lround(*value * denominator)),
                                     static_cast<std::uint32_t>(denominator));
}

void fill(Exiv2::ExifData& data, const Exif& exif) {
    set(data, "Exif.Image.Make", exif.make);
    set(data, "Exif.Image.Model", exif.model);
    set(data, "Exif.Photo.BodySerialNumber", exif.bodySerial);
    set(data, "Exif.Photo.LensMake", exif.lensMake);
    set(data, "Exif.Photo.LensModel", exif.lensModel);
    set(data, "Exif.Photo.DateTimeOriginal", exif.dateTimeOriginal);
    data["Exif.Image.Orientation"] = static_cast<std::uint16_t>(exif.orientation);
    setRational(data, "Exif.Photo.FocalLength", exif.focalLength_mm, 100);
    if (exif.focalLength35_mm)
        data["Exif.Photo.FocalLengthIn35mmFilm"] =
            static_cast<std::uint16_t>(std::lround(*exif.focalLength35_mm));
    if (exif.focalPlaneResolution_per_mm) {
        const double perCentimetre = 10.0 * *exif.focalPlaneResolution_per_mm;
        setRational(data, "Exif.Photo.FocalPlaneXResolution", perCentimetre, 1000);
        setRational(data, "Exif.Photo.FocalPlaneYResolution", perCentimetre, 1000);
        data["Exif.Photo.FocalPlaneResolutionUnit"] = std::uint16_t{3};  // centimetre
    }
    if (exif.pixelWidth) data["Exif.Photo.PixelXDimension"] = static_cast<std::uint32_t>(*exif.pixelWidth);
    if (exif.pixelHeight) data["Exif.Photo.PixelYDimension"] = static_cast<std::uint32_t>(*exif.pixelHeight);
    setRational(data, "Exif.Photo.FNumber", exif.fNumber, 10);
    setRational(data, "Exif.Photo.SubjectDistance", exif.subjectDistance_m, 100);
    setRational(data, "Exif.Photo.DigitalZoomRatio", exif.digitalZoom, 100);
}

}  // namespace

Result<void> writeExif(const std::filesystem::path& file, const Exif& exif) {
    Exiv2::LogMsg::setLevel(Exiv2::LogMsg::mute);
    try {
        auto image = Exiv2::ImageFactory::open(file.string());
        image->readMetadata();
        Exiv2::ExifData data = image->exifData();
        fill(data, exif);
        image->setExifData(data);
        image->writeMetadata();
    } catch (const Exiv2::Error&) {
        return Error{ErrorCode::WriteFailed, "the camera data cannot be written into the photograph",
                     file.filename().string(),
                     "check that it is a JPEG and that the folder may be written to"};
    }
    return {};
}

}  // namespace trammel::photo
