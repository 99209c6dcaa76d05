// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <cmath>
#include <filesystem>
#include <functional>
#include <random>
#include <vector>

#include "core/math/Types.h"
#include "core/photo/Image.h"

/// Pictures of one edge, hole or corner between two plain surfaces, with known truth. Nothing here uses
/// core/fit: the boundary blurred by a Gaussian is known in closed form or by quadrature, each pixel averages
/// many places of it in linear light, and what a camera does after that is done for real: noise, the sRGB
/// curve, 8 bits, JPEG.
namespace trammel::campaign::edges {

enum class Kind { Edge, Hole, Corner };

/// The boundary of the second surface. Edge: the half plane on the side of `normal()`; hole: a disc; corner:
/// a wedge less than straight that opens by ± `half` about `angle`.
struct Shape {
    Kind kind = Kind::Edge;
    Vec2 at = Vec2::Zero();  ///< px: a point of the edge, the hole's centre, the corner
    double angle = 0.0;      ///< rad: of the edge's normal, of the wedge's axis
    double radius = 0.0;     ///< px, hole only
    double half = 0.0;       ///< rad, corner only
    double blur = 1.0;       ///< px, standard deviation

    Vec2 normal() const { return {std::cos(angle), std::sin(angle)}; }
    /// Distance to the unblurred boundary, px; at least that far inside or outside.
    double clear(const Vec2& p) const;

    /// Unknowns of the picture: those of place first, the blur last.
    int unknowns() const;
    Shape moved(int unknown, double step) const;
};

/// Share 0..1 of the second surface that each pixel of a frame sees; n × n places a pixel.
struct Share {
    int width = 0, height = 0;
    std::vector<double> of;
    double at(int x, int y) const { return of[static_cast<std::size_t>(y) * width + x]; }
};
Share shareOf(const Shape& shape, int width, int height, int n = 6);

/// Light of the two surfaces in linear RGB.
struct Surfaces {
    Vec3 first = Vec3::Constant(0.1), second = Vec3::Constant(0.6);
    Vec3 mixed(double share) const { return first + share * (second - first); }
};

double luminance(const Vec3& rgb);

/// Two surfaces whose luminances differ by `contrast` (of full scale, either sign); `colourful` 0 makes both
/// grey.
Surfaces drawSurfaces(std::mt19937& random, double contrast, double colourful);

struct Camera {
    double noise = 0.0;   ///< standard deviation of each channel's code, of full scale
    int quality = 90;     ///< of the JPEG; 0: 8 bits, not compressed
    bool halved = false;  ///< colour stored at half size, as cameras do
    unsigned seed = 1;
};

/// The decoded picture.
photo::Image take(const Share& share, const Surfaces& surfaces, const Camera& camera,
                  const std::filesystem::path& scratch);

/// Cramér–Rao bound on the covariance of the shape's unknowns (place first, blur last; the two surfaces'
/// light is unknown too) from the luminance of the pixels that `seen` keeps, before JPEG. Each channel's
/// noise and 8-bit rounding (1/12 of a code squared) pass into linear light by the slope of the sRGB curve
/// there.
MatX bound(const Shape& shape, const Surfaces& surfaces, double noise, int width, int height,
           const std::function<bool(const Vec2&)>& seen);

}  // namespace trammel::campaign::edges
