// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QString>
#include <vector>

#include "core/survey/Edit.h"

/// Readings from a sheet of cells. Pure: a survey and text in, readings and sentences out.
namespace trammel::ui {

/// One line of what was pasted.
struct PastedLine {
    int number = 0;                        ///< from 1
    QString text;                          ///< as it was pasted
    std::vector<survey::Reading> reading;  ///< one, without an id; none where something is wrong
    QString problem;                       ///< then a sentence of what
};

/// Reads lines of cells: kind, from, to, value, unit, and where there are more σ, name, and a role: "check",
/// "reference", "left out", with a comma between two. A "dimension" is a result and no reading: such a line
/// is passed over, and its problem says so. Cells are parted by tabs, else by semicolons, else by commas;
/// with commas a decimal point is needed, else a decimal comma is taken as well; what stands in quotes is not
/// parted. Kinds are those of a reading ("distance", "diameter" ...); from and to are names or ids of
/// features and levels, several in `to` parted by " – ". Units: mm (also when empty), cm, m, µm, in, °;
/// lengths become mm. σ without a cell is `sigma_mm`, for angles `sigma_rad`. A first line of headings and
/// empty lines are passed over.
std::vector<PastedLine> readPasted(const survey::Survey& survey, const QString& text, double sigma_mm,
                                   double sigma_rad);

/// All readings of the lines as one act. No changes where none is sound.
survey::Edit pasteEdit(const survey::Survey& survey, const std::vector<PastedLine>& lines);

}  // namespace trammel::ui
