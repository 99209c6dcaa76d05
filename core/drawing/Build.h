// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/adjust/Solution.h"
#include "core/base/Result.h"
#include "core/drawing/Cutting.h"
#include "core/drawing/Drawing.h"
#include "core/drawing/OutlineChain.h"

namespace trammel::drawing {

struct Options {
    Face face = Face::Top;
    std::string revision = "A";
    ChainOptions chain;
    std::vector<std::string> remarks;  ///< more sentences to print beside the part, without their full stop
    HoleChoice holes = HoleChoice::Inside;
    double nominal_mm = 0.0;    ///< step of rounding to nominal sizes (Nominal.h); 0: as measured
    Kerf kerf{};                ///< to compensate (Kerf.h); width 0: none
    double clearance_mm = 0.0;  ///< by which keep-outs are grown (Kerf.h)
};

/// The drawing of an adjusted survey: its outlines as closed, simple chains, the holes that no outline uses
/// as circles (Cutting.h says which of them are cut), centre marks, all dimensions with ± laid out beside the
/// part, and the notes. Fails with one sentence (naming the features) when there is nothing to draw, a chain
/// does not close or crosses itself, two chains of one level touch, or a cutout lies outside the outline of
/// its level.
Result<Drawing> build(const survey::Survey& survey, const adjust::Solution& solution,
                      const Options& options = {});

/// The text printed with the drawing, wrapped: what it is, units, face, heights, dimensions that plan cannot
/// show, the survey's own note, remarks.
std::vector<std::string> noteLines(const Drawing& drawing);

}  // namespace trammel::drawing
