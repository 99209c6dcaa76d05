// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <cstdint>

#include "core/adjust/Solution.h"
#include "core/base/Progress.h"
#include "core/base/Result.h"
#include "core/unfold/Arrangement.h"

namespace trammel::unfold {

/// What of the sheet a rectified picture covers. Px (i, j) shows the place topLeft + ((i + ½), −(j + ½)) /
/// pxPerMm: (0, 0) is the upper left px, as in any picture.
struct Window {
    Vec2 topLeft = Vec2::Zero();  ///< sheet, mm
    double pxPerMm = 1.0;
    int width = 0, height = 0;  ///< px
    Vec2 sheetAt(const Vec2& px) const { return topLeft + Vec2(px.x() + 0.5, -(px.y() + 0.5)) / pxPerMm; }
    Vec2 pxAt(const Vec2& sheet) const {
        const Vec2 d = (sheet - topLeft) * pxPerMm;
        return {d.x() - 0.5, -d.y() - 0.5};
    }
};

/// One plane of the part as one photograph shows it.
struct Plane {
    View view = View::Top;
    double depth = 0.0;  ///< mm towards the viewer: z of a level in the top view, −z in the bottom view
    adjust::StationResult station;
};

/// Where the source px of a window are: exact on a grid of `step` px, bilinear between.
class RectifyingMap {
  public:
    /// The step is halved until the middle of the cells is off by no more than `kError`, down to 4 px.
    RectifyingMap(const Arrangement& arrangement, const Plane& plane, const Window& window);
    static constexpr double kError = 0.1;  ///< px of the photograph

    int step() const { return step_; }
    /// Px of the photograph that a px of the window shows, as the picture takes it; far outside (−1e6) where
    /// there is none.
    Vec2 at(int x, int y) const;
    /// The row's source px in px of the photograph shrunk by `shrink`, `width` pairs of x and y.
    void row(int y, int shrink, float* out) const;

  private:
    void fill(const Arrangement& arrangement, const Plane& plane, const Window& window);

    int step_ = 32, width_ = 0, columns_ = 0;
    std::vector<Vec2> nodes_;
};

/// Rows of the photograph, shrunk by 1, 2, 4 or 8 (px p of the shrunk one is (p + ½)·shrink − ½ of the
/// whole), 1 or 3 channels of 8 bit.
struct Source {
    const std::uint8_t* data = nullptr;
    int width = 0, height = 0, channels = 3, shrink = 1;
};

/// The shrink at which a photograph has about as many px to the mm as the window: never fewer than it needs.
int shrinkFor(const adjust::StationResult& station, double pxPerMm);

/// Rows of `window`, 4 bytes a px: red, green, blue, and 255 where the photograph shows the place or 0 (all
/// four) where it does not. Bilinear. For the eye only: what is measured is measured in original pixels.
/// BadValue for a window of no size or above 64 million px, or a source without pixels; Cancelled.
Result<std::vector<std::uint8_t>> rectify(const Arrangement& arrangement, const Plane& plane,
                                          const Window& window, const Source& source,
                                          const Progress* progress = nullptr);

}  // namespace trammel::unfold
