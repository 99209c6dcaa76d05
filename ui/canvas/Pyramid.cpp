// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/canvas/Pyramid.h"

#include <algorithm>
#include <opencv2/imgproc.hpp>
#include <vector>

namespace trammel::ui {
namespace {

constexpr int kBand =
    16;  ///< rows of the largest picture; a multiple of what the smallest one shrinks them by

/// One pixel of 2 × 2, each channel rounded half up.
QRgb mean(QRgb a, QRgb b, QRgb c, QRgb d) {
    // two channels at once: the mask leaves eight spare bits above each of them
    const auto sum = [&](int shift) {
        return ((a >> shift) & 0xff00ffu) + ((b >> shift) & 0xff00ffu) + ((c >> shift) & 0xff00ffu) +
               ((d >> shift) & 0xff00ffu) + 0x20002u;
    };
    return 0xff000000u | ((sum(0) >> 2) & 0xff00ffu) | (((sum(8) >> 2) & 0xffu) << 8);
}

cv::Mat rows(QImage& image, int from, int to) {
    return {to - from, image.width(), CV_8UC4, image.scanLine(from),
            static_cast<std::size_t>(image.bytesPerLine())};
}

/// Rows [from, to) of the smaller picture. Whole squares of 2 × 2 by OpenCV, the odd rest one by one.
void halve(QImage& large, QImage& small, int from, int to) {
    const int wide = large.width() / 2, whole = std::min(to, large.height() / 2);
    if (wide > 0 && whole > from) {
        cv::Mat target = rows(small, from, whole).colRange(0, wide);
        cv::resize(rows(large, 2 * from, 2 * whole).colRange(0, 2 * wide), target, target.size(), 0, 0,
                   cv::INTER_AREA);
    }
    for (int y = from; y < to; ++y) {
        const auto* a = reinterpret_cast<const QRgb*>(large.constScanLine(2 * y));
        const auto* b =
            reinterpret_cast<const QRgb*>(large.constScanLine(std::min(2 * y + 1, large.height() - 1)));
        auto* out = reinterpret_cast<QRgb*>(small.scanLine(y));
        for (int x = y < whole ? wide : 0; x < small.width(); ++x) {
            const int l = 2 * x, r = std::min(2 * x + 1, large.width() - 1);
            out[x] = mean(a[l], a[r], b[l], b[r]);
        }
    }
}

/// Rows [from, to) with red in the place where Qt has it.
void convert(const photo::Image& source, QImage& target, int from, int to) {
    const cv::Mat in(to - from, source.width, CV_8UC(source.channels),
                     const_cast<std::uint8_t*>(source.at(0, from)));  // only read
    cv::Mat out = rows(target, from, to);
    cv::cvtColor(in, out, source.channels == 1 ? cv::COLOR_GRAY2BGRA : cv::COLOR_RGB2BGRA);
}

}  // namespace

std::map<int, QImage> pyramidOf(const photo::Image& image, int shrink) {
    std::vector<QImage> levels;
    for (int s = shrink, w = image.width, h = image.height; s <= 8;
         s *= 2, w = (w + 1) / 2, h = (h + 1) / 2) {
        levels.emplace_back(w, h, QImage::Format_RGB32);
        if (levels.back().isNull()) throw std::bad_alloc();
    }
    for (int top = 0; top < image.height; top += kBand) {
        int from = top, to = std::min(top + kBand, image.height);
        convert(image, levels.front(), from, to);
        for (std::size_t n = 1; n < levels.size(); ++n) {
            from /= 2, to = (to + 1) / 2;  // odd only at the end of the picture
            halve(levels[n - 1], levels[n], from, to);
        }
    }
    std::map<int, QImage> out;
    for (std::size_t n = 0; n < levels.size(); ++n) out[shrink << n] = std::move(levels[n]);
    return out;
}

}  // namespace trammel::ui
