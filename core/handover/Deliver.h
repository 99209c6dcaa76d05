// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <filesystem>
#include <string>
#include <vector>

#include "core/adjust/Solution.h"
#include "core/base/Result.h"
#include "core/drawing/Build.h"
#include "core/handover/DxfWriter.h"
#include "core/handover/Inspect.h"
#include "core/handover/Template.h"
#include "core/storage/Disk.h"

namespace trammel::handover {

struct CheckSheet;  // core/handover/CheckSheet.h

/// What the user chooses about a hand-over.
struct Terms {
    drawing::Face face = drawing::Face::Top;
    std::string revision = "A";
    DxfVersion version = DxfVersion::R2000;
    drawing::Kerf kerf{};                                     ///< to compensate in the file; width 0: none
    double clearance_mm = 0.0;                                ///< by which keep-outs grow
    double nominal_mm = 0.0;                                  ///< step of nominal sizes; 0: as measured
    TemplateTerms pages{};                                    ///< of the template at true scale
    drawing::HoleChoice holes = drawing::HoleChoice::Inside;  ///< which holes are cut
};

/// The drawing as it is handed over: arcs count as tangent within the ± of the adjustment, and a survey that
/// disagrees with itself is marked DO NOT CUT on the drawing.
Result<drawing::Drawing> drawingOf(const survey::Survey& survey, const adjust::Solution& solution,
                                   const Terms& terms);

/// Writes the drawing as DXF under this name, reads it back from the disk and says what it holds. It stands
/// under its name only when it came out right: else an Error (WriteFailed), and an older file is as it was.
Result<Contents> deliver(const drawing::Drawing& drawing, DxfVersion version,
                         const std::filesystem::path& file);

/// The files of a whole hand-over.
struct Delivered {
    std::filesystem::path dxf, svg, table, checkPage, checkText, checkJson, pages;
    std::vector<std::filesystem::path> all() const {
        return {dxf, svg, table, checkPage, checkText, checkJson, pages};
    }
};

/// Writes DXF, SVG, table, check sheet and template into a folder (which must exist), all or none: the DXF is
/// written beside its place and read back, and the check sheet is computed from what was read, before any
/// file gets its name. `stem` begins the names of DXF and SVG. `check` receives the sheet. Errors as
/// deliver().
Result<Delivered> deliverSet(const drawing::Drawing& drawing, const Terms& terms,
                             const std::filesystem::path& folder, const std::string& stem, CheckSheet& check,
                             storage::Disk& disk);

}  // namespace trammel::handover
