// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>
#include <string>

#include "core/photo/Exif.h"

namespace trammel::photo {

/// Least relative standard uncertainty of a principal distance taken from EXIF: the engraved focal length is
/// rounded and holds at infinity; focused close it is f (1 + m) for a lens that moves as a whole and can be a
/// good deal shorter for one that focuses inside.
inline constexpr double kExifDistanceSigma = 0.10;

struct DistancePrior {
    double c_px = 0.0;      ///< for a lens focused at infinity, px of the stored picture
    double pitch_mm = 0.0;  ///< pixel pitch in the stored picture; 0 when the file does not say
    std::string source;     ///< "focal length and focal-plane resolution", ...
};

/// Principal distance from EXIF (CIPA DC-008), for a stored picture (before orientation) of this size:
/// - FocalLength × FocalPlaneXResolution, or else
/// - FocalLengthIn35mmFilm, taken over the diagonal (43.27 mm): f35 / 43.2666 · √(w² + h²); over the long
/// side
///   (36 mm) when the height is unknown. The two agree for 3:2 frames; elsewhere makers differ by several per
///   cent.
/// Where the picture differs from PixelXDimension × PixelYDimension in the same proportion (within 1 %) it
/// was resized, and the pitch grows accordingly; in another proportion it was cropped, and the pitch stays
/// (the 35 mm equivalent is then referred to the uncropped size).
std::optional<DistancePrior> principalDistancePrior(const Exif& exif, int width, int height = 0);

}  // namespace trammel::photo
