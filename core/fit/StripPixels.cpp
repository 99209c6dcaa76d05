// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/fit/StripPixels.h"

#include <algorithm>
#include <cmath>

namespace trammel::fit {
namespace {

constexpr double kBucket = 8.0;  // px along the guide

/// Pixels x0..x1 of one row.
struct Run {
    int y = 0, x0 = 0, x1 = 0;
};

/// The rows of the boxes round `pieces` equal pieces of the guide, joined where they overlap.
std::vector<Run> runsAlong(const photo::LinearImage& image, const Guide& guide, std::size_t pieces,
                           double low, double high) {
    std::vector<Run> runs;
    const double length = guide.length() / static_cast<double>(pieces);
    for (std::size_t k = 0; k < pieces; ++k) {
        Vec2 least = Vec2::Constant(1e300), most = Vec2::Constant(-1e300);
        for (const double part : {0.0, 0.5, 1.0}) {
            const double s = (static_cast<double>(k) + part) * length;
            const Vec2 foot = guide.point(s), normal = guide.normal(s);
            for (const double d : {low, high}) {
                least = least.cwiseMin(foot + d * normal);
                most = most.cwiseMax(foot + d * normal);
            }
        }
        const int x0 = std::max(0, static_cast<int>(std::floor(least.x() - 1)));
        const int x1 = std::min(image.width - 1, static_cast<int>(std::ceil(most.x() + 1)));
        const int y0 = std::max(0, static_cast<int>(std::floor(least.y() - 1)));
        const int y1 = std::min(image.height - 1, static_cast<int>(std::ceil(most.y() + 1)));
        for (int y = y0; y <= y1; ++y) runs.push_back({y, x0, x1});
    }
    std::sort(runs.begin(), runs.end(),
              [](const Run& a, const Run& b) { return a.y != b.y ? a.y < b.y : a.x0 < b.x0; });
    std::vector<Run> out;
    for (const Run& r : runs)
        if (!out.empty() && out.back().y == r.y && r.x0 <= out.back().x1 + 1)
            out.back().x1 = std::max(out.back().x1, r.x1);
        else
            out.push_back(r);
    return out;
}

}  // namespace

void StripPixels::reach(double low, double high) {
    if (!buckets_.empty() && low >= low_ && high <= high_) return;
    low_ = std::min(low, low_);
    high_ = std::max(high, high_);
    gather();
}

std::size_t StripPixels::bucketAt(double s) const {
    const double at = s / guide_.length() * static_cast<double>(buckets_.size());
    return static_cast<std::size_t>(std::clamp(at, 0.0, static_cast<double>(buckets_.size() - 1)));
}

void StripPixels::gather() {
    const double length = guide_.length();
    buckets_.assign(static_cast<std::size_t>(std::max(1.0, std::ceil(length / kBucket))), {});
    for (const Run& run : runsAlong(image_, guide_, buckets_.size(), low_, high_))
        for (int x = run.x0; x <= run.x1; ++x) {
            const Vec2 p(x, run.y);
            if (guide_.misses(p, low_, high_)) continue;
            const Local at = guide_.locate(p);
            if (at.d < low_ || at.d > high_ || at.s < 0.0 || at.s > length) continue;
            const std::size_t index = static_cast<std::size_t>(run.y) * image_.width + x;
            buckets_[bucketAt(at.s)].push_back({at.s, at.d, codeAt(image_, index, channel_)});
        }
}

std::vector<StripPixel> StripPixels::take(double s0, double s1, double low, double high) {
    reach(low, high);
    std::vector<StripPixel> out;
    const double middle = 0.5 * (s0 + s1);
    for (std::size_t b = bucketAt(s0); b <= bucketAt(s1); ++b)
        for (const StripPixel& p : buckets_[b])
            if (p.s >= s0 && p.s < s1 && p.d >= low && p.d <= high)
                out.push_back({p.s - middle, p.d, p.code});
    return out;
}

}  // namespace trammel::fit
