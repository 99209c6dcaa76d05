// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>
#include <vector>

#include "core/base/Result.h"
#include "core/drawing/Drawing.h"

namespace trammel::drawing {

/// Moves everything that is cut by half the kerf, once, so that the beam's middle runs beside the edge that
/// is kept: with KeptSide::Part outside of outlines and inside of openings and holes, with KeptSide::Sheet
/// the other way round. Corners stay sharp where the beam turns on the waste side of an outer corner. The
/// drawing's `kerf` and notes tell it; dimensions stay those of the finished part. Remarks tell what a round
/// beam leaves in inner corners.
/// Refused with a sentence that names the chain or hole: no usable width, a hole or slot that the kerf fills,
/// a drawing that is compensated already. The drawing is then unchanged.
Result<void> compensateKerf(Drawing& drawing, double width_mm, KeptSide side);

/// Grows every keep-out by a clearance (mm, ≥ 0), corners rounded, and says so in a remark. Refused where
/// the grown one is no single chain any more.
Result<void> growKeepOuts(Drawing& drawing, double clearance_mm);

/// The kerf rule in words: who compensates, exactly once.
std::string kerfWords(const Kerf& kerf);

}  // namespace trammel::drawing
