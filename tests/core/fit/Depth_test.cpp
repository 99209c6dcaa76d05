// SPDX-License-Identifier: GPL-3.0-or-later
// Files of more than 8 bits: the fit reads their full depth.
#include <catch2/catch.hpp>

#include "Pictures.h"
#include "core/fit/EdgeFit.h"

using namespace trammel;
using namespace pictures;

namespace {

/// The scene as a file of 8 or 16 bits would give it, in colour or grey.
LinearImage asStored(const LinearImage& scene, bool deep, int channels) {
    photo::Image image{scene.width, scene.height, channels, {}};
    for (const float light : scene.data)
        for (int c = 0; c < channels; ++c)
            if (deep)
                image.deep.push_back(static_cast<std::uint16_t>(std::lround(65535.0 * toSrgb(light))));
            else
                image.data.push_back(static_cast<std::uint8_t>(std::lround(255.0 * toSrgb(light))));
    if (deep) {
        image.codeStep = 1.0f / 257.0f;
        photo::roundForTheEye(image);
    }
    return photo::linearLuminance(std::move(image));
}

}  // namespace

TEST_CASE("A step of two codes is located by 16 bits where 8 bits leave it a stair") {
    // Contrast of about two codes of 8 bit, no noise: nothing dithers the rounding.
    for (const int channels : {1, 3}) {
        double worst8 = 0.0, worst16 = 0.0, sigma8 = 0.0, sigma16 = 0.0;
        for (int k = 0; k < 12; ++k) {
            const double angle = 0.1 + 0.5 * k, c = 0.04 * k;
            const Vec2 n(std::cos(angle), std::sin(angle)), along(-n.y(), n.x()), middle(80.0 + c, 80.0);
            const LinearImage scene =
                take(160, 160, halfPlane(n, n.dot(middle), 0.2020, 0.2085, 1.0), {0.0, false, 1}, 4);
            const auto error = [&](bool deep, double& sigma) {
                const LinearImage stored = asStored(scene, deep, channels);
                const auto fit = fit::fitEdge(stored, middle - 60 * along, middle + 60 * along);
                if (!fit) return 99.0;
                double worst = 0.0;
                for (const auto& p : fit->points) worst = std::max(worst, std::abs(n.dot(p.px - middle)));
                sigma = std::max(sigma, fit->common_px);
                return worst;
            };
            worst8 = std::max(worst8, error(false, sigma8));
            worst16 = std::max(worst16, error(true, sigma16));
        }
        INFO("channels " << channels << " 8 bit " << worst8 << " (" << sigma8 << ")  16 bit " << worst16
                         << " (" << sigma16 << ")");
        CHECK(worst16 < 0.01);
        CHECK(worst16 < 0.1 * worst8);
        CHECK(sigma16 < 0.02);
    }
}
