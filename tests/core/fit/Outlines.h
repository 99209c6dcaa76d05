// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <numbers>
#include <opencv2/imgproc.hpp>
#include <random>
#include <vector>

#include "Pictures.h"
#include "core/geometry/Chain.h"
#include "core/geometry/Piece.h"
#include "core/photo/Decode.h"
#include "core/photo/Encode.h"

/// Random closed outlines of lines and arcs with known truth, and pictures of them: the inside is counted on
/// an 8 × 8 grid in every pixel that the outline crosses, then blurred by OpenCV's Gaussian, which shifts
/// corners and arcs as a lens does. Nothing here uses core/fit.
namespace pictures {

using trammel::geometry::Chain;

struct Outline {
    Chain chain;                        ///< px, y down
    std::vector<Vec2> clicks;           ///< middles of its sides
    std::vector<bool> tangentAtVertex;  ///< whether the two pieces meeting there do so without a corner
};

struct OutlineKind {
    double size = 150.0;                          ///< px, mean distance of corners from the middle
    double rounded = 0.5, bulged = 0.2;           ///< shares of corners with a fillet, of sides that are arcs
    double leastRadius = 8.0, mostRadius = 40.0;  ///< of fillets, px
};

/// Corners at 4 to 8 directions about the middle; every side long enough to be told, every corner turning by
/// 30° to 120°. Fillets leave at least 16 px of their sides.
inline Outline randomOutline(std::mt19937& random, const Vec2& middle, const OutlineKind& kind) {
    std::uniform_real_distribution<double> u(0.0, 1.0);
    const double pi = std::numbers::pi;
    while (true) {
        const int n = 4 + static_cast<int>(5 * u(random));
        std::vector<Vec2> p;
        const double turn = 2 * pi * u(random);
        for (int i = 0; i < n; ++i) {
            const double a = turn + 2 * pi * (i + 0.3 * (u(random) - 0.5)) / n,
                         r = kind.size * (0.65 + 0.6 * u(random));
            p.push_back(middle + r * Vec2(std::cos(a), std::sin(a)));
        }
        std::vector<double> corner(p.size()), length(p.size());
        bool sound = true;
        const auto size = static_cast<std::size_t>(n);
        for (std::size_t i = 0; i < size; ++i) {
            const Vec2 in = p[i] - p[(i + size - 1) % size], out = p[(i + 1) % size] - p[i];
            corner[i] = std::atan2(in.x() * out.y() - in.y() * out.x(), in.dot(out));
            length[i] = out.norm();
            sound = sound && length[i] > 55.0 && std::abs(corner[i]) > 0.52 && std::abs(corner[i]) < 2.1;
        }
        if (!sound) continue;
        std::vector<double> bulge(size, 0.0), radius(size, 0.0);
        for (std::size_t i = 0; i < size; ++i)
            if (u(random) < kind.bulged) bulge[i] = (u(random) < 0.5 ? -1.0 : 1.0) * (0.12 + 0.2 * u(random));
        for (std::size_t i = 0; i < size; ++i) {
            const std::size_t before = (i + size - 1) % size;
            if (u(random) >= kind.rounded || bulge[i] != 0.0 || bulge[before] != 0.0) continue;
            const double most =
                (0.5 * std::min(length[i], length[before]) - 8.0) / std::tan(0.5 * std::abs(corner[i]));
            const double r = kind.leastRadius + (kind.mostRadius - kind.leastRadius) * u(random);
            // An arc of at least 12 px and a clear departure from its corner.
            if (r > most || r * std::abs(corner[i]) < 12.0) continue;
            radius[i] = r;
        }
        Outline out;
        for (std::size_t i = 0; i < size; ++i) {
            const std::size_t before = (i + size - 1) % size, after = (i + 1) % size;
            if (radius[i] > 0.0) {
                const double back = radius[i] * std::tan(0.5 * std::abs(corner[i]));
                out.chain.vertices.push_back(
                    {p[i] + back * (p[before] - p[i]).normalized(), std::tan(0.25 * corner[i])});
                out.chain.vertices.push_back({p[i] + back * (p[after] - p[i]).normalized(), bulge[i]});
                out.tangentAtVertex.insert(out.tangentAtVertex.end(), {true, true});
            } else {
                out.chain.vertices.push_back({p[i], bulge[i]});
                out.tangentAtVertex.push_back(false);
            }
            out.clicks.push_back(trammel::geometry::Piece(p[i], p[after], bulge[i]).middle());
        }
        // Corners of bulged sides may have become flat: turn between the true directions.
        bool clear = isSimple(out.chain) && std::abs(signedArea(out.chain)) > 1e4;
        const auto pieces = trammel::geometry::pieces(out.chain);
        for (std::size_t k = 0; k < pieces.size() && clear; ++k) {
            const auto &a = pieces[k], &b = pieces[(k + 1) % pieces.size()];
            const auto direction = [](const trammel::geometry::Piece& q, bool end) {
                if (!q.isArc()) return Vec2((q.to - q.from).normalized());
                const Vec2 r = ((end ? q.to : q.from) - q.circle.centre).normalized();
                return Vec2((q.bulge > 0 ? 1.0 : -1.0) * Vec2(-r.y(), r.x()));
            };
            const double c = direction(a, true).dot(direction(b, false));
            if (!out.tangentAtVertex[(k + 1) % pieces.size()])
                clear = c < std::cos(0.45) && c > std::cos(2.3);
        }
        if (clear) return out;
    }
}

struct Exposure {
    double dark = 0.05, light = 0.45;  ///< outside, inside
    double blur = 1.0, noise = 0.006;
    int jpeg = 0;  ///< quality; 0: stored as 8-bit codes without loss
    unsigned seed = 1;
};

/// `undistorted` says where in the chain's px a place of the picture looks (empty: at itself).
inline LinearImage photograph(const Chain& chain, int width, int height, const Exposure& e,
                              const std::filesystem::path& folder = {},
                              const std::function<Vec2(const Vec2&)>& undistorted = {}) {
    const auto to = [&](double x, double y) { return undistorted ? undistorted(Vec2(x, y)) : Vec2(x, y); };
    const auto pieces = trammel::geometry::pieces(chain);
    cv::Mat share(height, width, CV_64F);
    for (int y = 0; y < height; ++y) {
        bool inside = contains(chain, to(-0.37, y + 1e-3));
        double known = 0.0;  // the next so many pixels lie on one side
        for (int x = 0; x < width; ++x) {
            double nearest = known;
            if (known < 1.0) {
                nearest = 1e300;
                for (const auto& p : pieces) nearest = std::min(nearest, distance(p, to(x, y)));
                if (nearest > 0.75) inside = contains(chain, to(x, y));
            }
            known = nearest - 1.2;
            double sum = inside ? 1.0 : 0.0;
            if (nearest <= 0.75) {
                sum = 0.0;
                for (int j = 0; j < 8; ++j)
                    for (int i = 0; i < 8; ++i)
                        sum += contains(chain, to(x + (i + 0.5 + (j - 3.5) / 8) / 8 - 0.5,
                                                  y + (j + 0.5 + (3.5 - i) / 8) / 8 - 0.5)) /
                               64.0;
            }
            share.at<double>(y, x) = sum;
        }
    }
    const int kernel = 2 * static_cast<int>(std::ceil(5 * e.blur)) + 1;
    cv::GaussianBlur(share, share, cv::Size(kernel, kernel), e.blur, e.blur, cv::BORDER_REPLICATE);
    const auto light = [&](const Vec2& p) {
        return e.dark +
               (e.light - e.dark) * share.at<double>(static_cast<int>(p.y()), static_cast<int>(p.x()));
    };
    const Camera camera{e.noise, e.jpeg == 0, e.seed};
    LinearImage image = take(
        width, height, [&](const Vec2& p) { return light(p + Vec2(0.25, 0.25)); }, camera, 1);
    if (e.jpeg == 0) return image;
    trammel::photo::Image codes;
    codes.width = width;
    codes.height = height;
    codes.channels = 3;
    for (const float v : image.data)
        for (int k = 0; k < 3; ++k)
            codes.data.push_back(static_cast<std::uint8_t>(std::lround(255.0 * toSrgb(v))));
    const auto file = folder / "outline.jpg";
    if (!trammel::photo::encodeJpeg(codes, file, e.jpeg)) std::abort();
    const auto back = trammel::photo::decode(file);
    if (!back) std::abort();
    return linearLuminance(*back);
}

}  // namespace pictures
