// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>

#include "core/base/Result.h"
#include "core/camera/Camera.h"

namespace trammel::camera {

/// A photograph as a lens without distortion would have shown it: same principal distance and point, straight
/// edges straight. For the eye only. Marks, fits and the adjustment stay on original pixels, and whatever is
/// drawn or clicked on the corrected picture goes through these two maps.
///
/// Corrected px = c (x, y) + principal point − offset, with (x, y) the ideal coordinates of Camera.h and
/// `offset` what turns px of the picture into px of the full frame. The middle of the picture keeps its
/// scale.
class Correction {
  public:
    /// Refused (ErrorCode::Refused) where there is no picture to make: the constants fold the picture over
    /// itself, or stretch or shrink it by more than half. BadValue where they are not finite, or a side of
    /// the picture is not 1..32000 px.
    static Result<Correction> of(const Constants& constants, const Vec2& offset, int width, int height);

    /// Px of the photograph that shows what the corrected picture has here; closed form.
    Vec2 toOriginal(const Vec2& corrected) const;
    /// Its inverse, by Newton's iteration; nullopt where the model has none that far out.
    std::optional<Vec2> toCorrected(const Vec2& original) const;

    /// What the corrected picture covers, so that nothing of the photograph is lost: whole corrected px from
    /// (x, y) on. x and y may be negative.
    struct Frame {
        int x = 0, y = 0, width = 0, height = 0;
    };
    const Frame& frame() const { return frame_; }

    /// Size in px of the cells within which toOriginal is bilinear to kGridError (checked in the middle of
    /// every fourth cell and along all sides of the frame).
    int gridStep() const { return step_; }
    static constexpr double kGridError = 0.01;  ///< px

    /// The same constants, offset and frame.
    bool operator==(const Correction& other) const;

    /// Constants whose distortion is worth a corrected picture: more than half a px somewhere in it.
    static bool worthwhile(const Constants& constants, const Vec2& offset, int width, int height);

  private:
    Correction(const Constants& constants, const Vec2& offset) : constants_(constants), offset_(offset) {}
    bool unfolded(int width, int height) const;
    bool findFrame(int width, int height);
    double gridError(int step) const;

    Constants constants_;
    Vec2 offset_;
    Frame frame_;
    int step_ = 64;
};

}  // namespace trammel::camera
