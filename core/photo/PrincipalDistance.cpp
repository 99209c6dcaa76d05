// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/photo/PrincipalDistance.h"

#include <algorithm>
#include <cmath>

namespace trammel::photo {
namespace {

const double kFilmDiagonal_mm = std::hypot(36.0, 24.0);
constexpr double kFilmLongSide_mm = 36.0;

/// How much the stored picture was resized against what the camera wrote; 1 when it was cropped or is as it
/// was.
double resized(const Exif& e, int width, int height) {
    if (!e.pixelWidth) return 1.0;
    const double across = static_cast<double>(width) / *e.pixelWidth;
    if (height <= 0 || !e.pixelHeight) return across;
    const double down = static_cast<double>(height) / *e.pixelHeight;
    return std::abs(across / down - 1.0) < 0.01 ? across : 1.0;
}

}  // namespace

std::optional<DistancePrior> principalDistancePrior(const Exif& e, int width, int height) {
    if (width <= 0) return std::nullopt;
    const double scale = resized(e, width, height);
    const double zoom = e.digitalZoom.value_or(1.0);
    if (e.focalLength_mm && e.focalPlaneResolution_per_mm) {
        const double perMm = *e.focalPlaneResolution_per_mm * scale * zoom;
        return DistancePrior{*e.focalLength_mm * perMm, 1.0 / perMm,
                             "focal length and focal-plane resolution"};
    }
    if (!e.focalLength35_mm) return std::nullopt;
    double w = width, h = height;
    if (e.pixelWidth && e.pixelHeight) w = *e.pixelWidth * scale, h = *e.pixelHeight * scale;
    const double c = h > 0.0 ? *e.focalLength35_mm / kFilmDiagonal_mm * std::hypot(w, h)
                             : *e.focalLength35_mm / kFilmLongSide_mm * std::max(w, h);
    const double pitch = e.focalLength_mm ? *e.focalLength_mm / c : 0.0;
    return DistancePrior{c, pitch, "35 mm equivalent focal length"};
}

}  // namespace trammel::photo
