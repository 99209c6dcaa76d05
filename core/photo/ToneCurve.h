// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>

#include "core/photo/Image.h"

namespace trammel::photo {

/// What an embedded colour profile (ISO 15076-1) says of the curve from codes to light. Only the curve
/// matters for geometry: blur mixes light, and a fit that takes the wrong curve moves every edge towards the
/// light or the dark. The colours themselves are left as they are.
enum class CurveKind {
    Srgb,     ///< the sRGB curve, or no profile: what cameras and screens mean unless they say otherwise
    Mapped,   ///< another curve; the codes were turned into those of the sRGB curve
    Unknown,  ///< a profile without a plain curve for each channel; the codes were left as they are
};

/// Curve of these bytes of a profile; empty bytes are Srgb.
CurveKind curveOf(const std::string& icc);

/// Turns an image's codes into those of the sRGB curve, with 16 bits where that changes them. The step
/// between codes and the kind of losses stay those of the file.
CurveKind toSrgbCurve(Image& image, const std::string& icc);

}  // namespace trammel::photo
