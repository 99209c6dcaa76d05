// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/unfold/Rectify.h"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "core/unfold/Seen.h"

namespace trammel::unfold {
namespace {

constexpr double kNowhere = -1e6;

}  // namespace

RectifyingMap::RectifyingMap(const Arrangement& arrangement, const Plane& plane, const Window& window)
    : width_(window.width) {
    for (;; step_ /= 2) {
        fill(arrangement, plane, window);
        if (step_ <= 4) return;
        const int rows = static_cast<int>(nodes_.size()) / columns_;
        double worst = 0.0;
        for (int j = 0; j + 1 < rows; j += std::max(1, rows / 8))
            for (int i = 0; i + 1 < columns_; i += std::max(1, columns_ / 8)) {
                const Vec2 px((i + 0.5) * step_, (j + 0.5) * step_);
                const Vec3 part = arrangement.toPart(plane.view, window.sheetAt(px), plane.depth);
                const auto exact = intoPhotograph(plane.station, part);
                const Vec2* n = &nodes_[static_cast<std::size_t>(j) * columns_ + i];
                const Vec2 mean = 0.25 * (n[0] + n[1] + n[columns_] + n[columns_ + 1]);
                if (exact) worst = std::max(worst, (mean - *exact).norm());
            }
        if (worst <= kError) return;
    }
}

void RectifyingMap::fill(const Arrangement& arrangement, const Plane& plane, const Window& window) {
    columns_ = (window.width - 1) / step_ + 2;
    const int rows = (window.height - 1) / step_ + 2;
    nodes_.assign(static_cast<std::size_t>(columns_) * rows, Vec2(kNowhere, kNowhere));
    for (int j = 0; j < rows; ++j)
        for (int i = 0; i < columns_; ++i) {
            const Vec2 sheet = window.sheetAt(Vec2(i * step_, j * step_));
            const auto px = intoPhotograph(plane.station, arrangement.toPart(plane.view, sheet, plane.depth));
            if (px) nodes_[static_cast<std::size_t>(j) * columns_ + i] = *px;
        }
}

Vec2 RectifyingMap::at(int x, int y) const {
    const Vec2* n = &nodes_[static_cast<std::size_t>(y / step_) * columns_ + x / step_];
    const double fx = static_cast<double>(x % step_) / step_, fy = static_cast<double>(y % step_) / step_;
    return (1 - fy) * ((1 - fx) * n[0] + fx * n[1]) + fy * ((1 - fx) * n[columns_] + fx * n[columns_ + 1]);
}

void RectifyingMap::row(int y, int shrink, float* out) const {
    const double fy = static_cast<double>(y % step_) / step_, by = 1.0 / shrink;
    const Vec2* n = &nodes_[static_cast<std::size_t>(y / step_) * columns_];
    const auto node = [&](int i) -> Vec2 {
        const Vec2 p = (1 - fy) * n[i] + fy * n[columns_ + i];
        return (p + Vec2(0.5, 0.5)) * by - Vec2(0.5, 0.5);
    };
    for (int cell = 0; cell * step_ < width_; ++cell) {
        Vec2 p = node(cell);
        const Vec2 each = (node(cell + 1) - p) / step_;
        const int end = std::min(width_, (cell + 1) * step_);
        for (int x = cell * step_; x < end; ++x, p += each) {
            *out++ = static_cast<float>(p.x());
            *out++ = static_cast<float>(p.y());
        }
    }
}

int shrinkFor(const adjust::StationResult& station, double pxPerMm) {
    int shrink = 1;
    while (shrink < 8 && station.scale_px_per_mm / (2 * shrink) >= 0.9 * pxPerMm) shrink *= 2;
    return shrink;
}

Result<std::vector<std::uint8_t>> rectify(const Arrangement& arrangement, const Plane& plane,
                                          const Window& window, const Source& source,
                                          const Progress* progress) {
    constexpr double kMost = 64e6;
    const bool sized = window.width > 0 && window.height > 0 && window.pxPerMm > 0.0 &&
                       static_cast<double>(window.width) * window.height <= kMost;
    const bool sound = source.data && source.width > 0 && source.height > 0 && source.shrink > 0 &&
                       source.width < 32767 && source.height < 32767 &&
                       (source.channels == 1 || source.channels == 3);
    if (!sized || !sound)
        return Error{ErrorCode::BadValue, sized ? "has no pixels to rectify" : "is too large or has no size",
                     "rectified picture", sized ? "read the photograph again" : "show less of it at once"};
    const RectifyingMap map(arrangement, plane, window);
    const cv::Mat from(source.height, source.width, CV_8UC(source.channels),
                       const_cast<std::uint8_t*>(source.data));
    std::vector<std::uint8_t> out(static_cast<std::size_t>(window.width) * window.height * 4);
    constexpr int kBand = 64;
    cv::Mat where(kBand, window.width, CV_32FC2), band;
    for (int first = 0; first < window.height; first += kBand) {
        if (progress && progress->cancelled())
            return Error{ErrorCode::Cancelled, "was stopped", "rectified picture", {}};
        const int rows = std::min(kBand, window.height - first);
        const cv::Mat part = where.rowRange(0, rows);
        for (int y = 0; y < rows; ++y) map.row(first + y, source.shrink, where.ptr<float>(y));
        cv::remap(from, band, part, cv::noArray(), cv::INTER_LINEAR, cv::BORDER_REPLICATE);
        for (int y = 0; y < rows; ++y) {
            const float* at = where.ptr<float>(y);
            const std::uint8_t* in = band.ptr(y);
            std::uint8_t* to = out.data() + static_cast<std::size_t>(first + y) * window.width * 4;
            for (int x = 0; x < window.width; ++x, at += 2, in += source.channels, to += 4) {
                const bool there = at[0] > -0.5f && at[1] > -0.5f &&
                                   at[0] < static_cast<float>(source.width) - 0.5f &&
                                   at[1] < static_cast<float>(source.height) - 0.5f;
                if (!there) continue;
                for (int c = 0; c < 3; ++c) to[c] = in[source.channels == 3 ? c : 0];
                to[3] = 255;
            }
        }
        if (progress) progress->report(static_cast<double>(first + rows) / window.height);
    }
    return out;
}

}  // namespace trammel::unfold
