// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/fit/CornerRays.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include "core/fit/CurveFit.h"

namespace trammel::fit {
namespace {

constexpr double kPi = std::numbers::pi;
constexpr int kDirections = 120;     // 3° apart
constexpr double kLeastVote = 0.45;  // share of a perfect ray
constexpr double kRival = 0.7;       // a third ray as strong as this share of the second is one too many

/// Gradient of the picture smoothed by a Gaussian of 1 px, on a patch of original pixels.
struct GradientPatch {
    int x0 = 0, y0 = 0, width = 0, height = 0;
    std::vector<Vec2> g;

    Vec2 at(const Vec2& p) const {
        const int x = static_cast<int>(std::lround(p.x())) - x0,
                  y = static_cast<int>(std::lround(p.y())) - y0;
        if (x < 0 || y < 0 || x >= width || y >= height) return Vec2::Zero();
        return g[static_cast<std::size_t>(y) * width + x];
    }
};

GradientPatch gradientAround(const photo::LinearImage& image, const Vec2& at, double reach) {
    constexpr int k = 3;
    GradientPatch out;
    out.x0 = std::max(k, static_cast<int>(at.x() - reach));
    out.y0 = std::max(k, static_cast<int>(at.y() - reach));
    out.width = std::max(0, std::min(image.width - k, static_cast<int>(at.x() + reach) + 1) - out.x0);
    out.height = std::max(0, std::min(image.height - k, static_cast<int>(at.y() + reach) + 1) - out.y0);
    out.g.resize(static_cast<std::size_t>(out.width) * out.height);
    double gauss[2 * k + 1], total = 0.0;
    for (int i = -k; i <= k; ++i) total += gauss[i + k] = std::exp(-0.5 * i * i);
    for (int y = 0; y < out.height; ++y)
        for (int x = 0; x < out.width; ++x) {
            Vec2 sum = Vec2::Zero();
            for (int j = -k; j <= k; ++j)
                for (int i = -k; i <= k; ++i) {
                    const double w = gauss[i + k] * gauss[j + k] * image.at(out.x0 + x + i, out.y0 + y + j);
                    sum += w * Vec2(i, j);
                }
            out.g[static_cast<std::size_t>(y) * out.width + x] = sum / (total * total);
        }
    return out;
}

/// The likeliest parallel of the ray in one direction: steep, and near the hand.
struct Ray {
    double vote = 0.0, offset = 0.0;
    double rival =
        -1e300;  ///< belief of the likeliest other parallel, at least 2 px away, less the ray's own
    int direction = 0;
    double angle() const { return 2.0 * kPi * direction / kDirections; }
};

std::vector<Ray> castRays(const GradientPatch& patch, const Vec2& at, const RayOptions& o, double reference) {
    std::vector<Ray> rays(kDirections);
    const int most = static_cast<int>(std::ceil(2.5 * o.handSigma_px));
    std::vector<double> votes(2 * most + 1), belief(2 * most + 1);
    std::vector<int> signs(2 * most + 1);
    for (int k = 0; k < kDirections; ++k) {
        Ray& ray = rays[k];
        ray.direction = k;
        const Vec2 along(std::cos(ray.angle()), std::sin(ray.angle())), across(-along.y(), along.x());
        for (int c = -most; c <= most; ++c) {
            double sum = 0.0;
            int n = 0;
            for (double r = o.nearest_px; r <= o.farthest_px; r += 1.0, ++n) {
                const double g = patch.at(at + r * along + c * across).dot(across) / reference;
                sum += std::copysign(std::sqrt(std::min(std::abs(g), 1.0)), g);
            }
            signs[c + most] = sum < 0 ? -1 : 1;
            votes[c + most] = std::abs(sum) / n;
            belief[c + most] = 1.5 * std::log(votes[c + most] + 1e-9) - 0.5 * std::pow(c / o.handSigma_px, 2);
        }
        const int best = static_cast<int>(std::max_element(belief.begin(), belief.end()) - belief.begin());
        ray.vote = votes[best];
        ray.offset = best - most;
        for (int c = 0; c <= 2 * most; ++c) {
            const bool peak =
                (c == 0 || votes[c] >= votes[c - 1]) && (c == 2 * most || votes[c] >= votes[c + 1]);
            // Opposite steps can be told apart closer by than equal ones (the two sides of a printed line).
            const int least = signs[c] == signs[best] ? 3 : 2;
            if (peak && std::abs(c - best) >= least && votes[c] > 0.4 * ray.vote)
                ray.rival = std::max(ray.rival, belief[c] - belief[best]);
        }
    }
    return rays;
}

int apart(int a, int b) {
    const int d = std::abs(a - b);
    return std::min(d, kDirections - d) * (360 / kDirections);
}

/// Local extremes among directions within 15°, strongest first: a ray that merely crosses an edge is none.
std::vector<Ray> peaks(const std::vector<Ray>& rays) {
    std::vector<Ray> out;
    for (const Ray& r : rays) {
        if (r.vote < kLeastVote) continue;
        const bool highest = std::all_of(rays.begin(), rays.end(), [&](const Ray& k) {
            return apart(r.direction, k.direction) > 15 || k.vote < r.vote ||
                   (k.vote == r.vote && k.direction >= r.direction);
        });
        if (highest) out.push_back(r);
    }
    std::sort(out.begin(), out.end(), [](const Ray& a, const Ray& b) { return a.vote > b.vote; });
    return out;
}

}  // namespace

Result<std::array<Vec2, 2>> edgesAround(const photo::LinearImage& image, const Vec2& at,
                                        const RayOptions& o) {
    if (!at.allFinite())
        return Error{ErrorCode::BadValue, "the corner's coordinates are not finite", "", "place it again"};
    if (at.x() < o.nearest_px || at.y() < o.nearest_px || at.x() > image.width - o.nearest_px ||
        at.y() > image.height - o.nearest_px)
        return refuse("the corner lies at the picture's border", "keep it by hand");
    const GradientPatch patch = gradientAround(image, at, o.farthest_px + 3.0 * o.handSigma_px + 2.0);
    std::vector<double> size;
    for (const Vec2& g : patch.g) size.push_back(g.norm());
    if (size.empty()) return refuse("the corner lies at the picture's border", "keep it by hand");
    const auto high = size.begin() + static_cast<std::ptrdiff_t>(0.97 * (size.size() - 1));
    std::nth_element(size.begin(), high, size.end());
    if (!(*high > 1e-4))
        return refuse("nothing but one flat surface here", "place the corner nearer to its edges");
    const std::vector<Ray> found = peaks(castRays(patch, at, o, *high));
    if (found.size() < 2) return refuse("no two edges meet here", "mark the edges of this corner");
    if (found.size() > 2 && found[2].vote > kRival * found[1].vote)
        return refuse("more than two edges meet here", "mark the two edges of this corner");
    for (int k = 0; k < 2; ++k)
        if (found[k].rival > -3.5)
            return refuse("two edges run side by side from here", "mark the two edges of this corner");
    const double between = std::abs(std::remainder(found[0].angle() - found[1].angle(), 2.0 * kPi));
    if (between > kPi - 0.26)
        return refuse("one straight edge passes here, no corner", "place the corner again");
    std::array<Vec2, 2> out;
    for (int k = 0; k < 2; ++k) {
        const Vec2 along(std::cos(found[k].angle()), std::sin(found[k].angle()));
        out[k] = at + o.farthest_px * along + found[k].offset * Vec2(-along.y(), along.x());
    }
    return out;
}

}  // namespace trammel::fit
