// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/photo/Orientation.h"

#include <algorithm>
#include <cstddef>

namespace trammel::photo {
namespace {

/// Index of the first upright pixel in the stored picture, and what a step right or down adds to it.
struct Walk {
    std::ptrdiff_t start, right, down;
};

Walk walkOf(int orientation, std::ptrdiff_t w, std::ptrdiff_t h) {
    switch (orientation) {
        case 2:
            return {w - 1, -1, w};
        case 3:
            return {w * h - 1, -1, -w};
        case 4:
            return {w * (h - 1), 1, -w};
        case 5:
            return {0, w, 1};
        case 6:
            return {w * (h - 1), -w, 1};
        case 7:
            return {w * h - 1, -w, -1};
        case 8:
            return {w - 1, w, -1};
        default:
            return {0, 1, w};
    }
}

template <int Channels, class Sample>
void copy(const std::vector<Sample>& from, const Image& to, std::vector<Sample>& samples, const Walk& walk) {
    constexpr int kTile = 64;  // keeps both pictures in the cache when rows become columns
    for (int y0 = 0; y0 < to.height; y0 += kTile)
        for (int x0 = 0; x0 < to.width; x0 += kTile)
            for (int y = y0; y < std::min(y0 + kTile, to.height); ++y) {
                std::ptrdiff_t source = walk.start + walk.right * x0 + walk.down * y;
                Sample* out =
                    samples.data() + (static_cast<std::size_t>(y) * static_cast<std::size_t>(to.width) +
                                      static_cast<std::size_t>(x0)) *
                                         Channels;
                for (int x = x0; x < std::min(x0 + kTile, to.width); ++x, source += walk.right)
                    for (int c = 0; c < Channels; ++c)
                        *out++ =
                            from[static_cast<std::size_t>(source) * Channels + static_cast<std::size_t>(c)];
            }
}

template <class Sample>
void turn(const std::vector<Sample>& from, int channels, const Image& to, std::vector<Sample>& samples,
          const Walk& walk) {
    if (from.empty()) return;
    samples.resize(from.size());
    if (channels == 1)
        copy<1>(from, to, samples, walk);
    else
        copy<3>(from, to, samples, walk);
}

}  // namespace

bool isMirrored(int o) { return o == 2 || o == 4 || o == 5 || o == 7; }
bool swapsSides(int o) { return o >= 5 && o <= 8; }

Image upright(Image stored, int orientation) {
    if (orientation < 2 || orientation > 8) return stored;
    Image out{stored.width, stored.height, stored.channels, {}};
    out.levelStep = stored.levelStep;
    out.lossy = stored.lossy;
    out.codeStep = stored.codeStep;
    if (swapsSides(orientation)) std::swap(out.width, out.height);
    const Walk walk = walkOf(orientation, stored.width, stored.height);
    turn(stored.data, stored.channels, out, out.data, walk);
    turn(stored.deep, stored.channels, out, out.deep, walk);
    return out;
}

}  // namespace trammel::photo
