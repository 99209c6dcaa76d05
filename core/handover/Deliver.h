// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <filesystem>
#include <string>

#include "core/adjust/Solution.h"
#include "core/base/Result.h"
#include "core/drawing/Build.h"
#include "core/handover/DxfWriter.h"
#include "core/handover/Inspect.h"

namespace trammel::handover {

/// What the user chooses about a hand-over.
struct Terms {
    drawing::Face face = drawing::Face::Top;
    std::string revision = "A";
    DxfVersion version = DxfVersion::R2000;
};

/// The drawing as it is handed over: arcs count as tangent within the ± of the adjustment, and a survey that
/// disagrees with itself is marked DO NOT CUT on the drawing.
Result<drawing::Drawing> drawingOf(const survey::Survey& survey, const adjust::Solution& solution,
                                   const Terms& terms);

/// Writes the drawing as DXF under this name, reads it back from the disk and says what it holds. A file that
/// came out different is taken away again, so that nobody cuts from it: an Error (WriteFailed).
Result<Contents> deliver(const drawing::Drawing& drawing, DxfVersion version,
                         const std::filesystem::path& file);

}  // namespace trammel::handover
