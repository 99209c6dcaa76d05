// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/survey/Edit.h"

namespace trammel::storage {

/// What a maker says of a photograph's place in the camera's full frame, where the file does not: all px of
/// the upright picture.
struct FrameAnswer {
    int fullWidth = 0, fullHeight = 0;
    bool offsetKnown = false;
    double offsetX = 0.0, offsetY = 0.0;  ///< what was cut away on the left and at the top
};

/// The whole picture is the frame.
FrameAnswer wholeFrame(const survey::Photo& photo);

/// Photographs of the same camera group, this one apart, whose place in the frame is not known yet.
std::vector<survey::Id> unanswered(const survey::Survey& survey, const survey::Id& station);

/// The answer as one act. An unknown offset starts from the middle, and the adjustment finds it as far as the
/// marks tell. With `others` the frame's size holds for those of `unanswered` as well: one as large as the
/// frame is whole, a smaller one has an unknown offset, a larger one is left as it is.
///
/// The principal point of the group is then near the middle of that frame (prior, kPrincipalPointSigma),
/// unless it is fixed or known to less than half of that. Photographs of the group that keep another frame
/// stay in it, and those of this one get a group of their own.
///
/// BadValue where the picture does not lie within the frame, or the frame is no size that a camera has.
Result<survey::Edit> frameEdit(const survey::Survey& survey, const survey::Id& station,
                               const FrameAnswer& answer, bool others);

}  // namespace trammel::storage
