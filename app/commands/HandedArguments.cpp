// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/commands/HandedArguments.h"

#include <CLI/CLI.hpp>

namespace trammel::app {

handover::Terms HandedArguments::terms() const {
    handover::Terms t;
    t.face = face == "bottom" ? drawing::Face::Bottom : drawing::Face::Top;
    t.revision = revision;
    t.nominal_mm = nominal;
    t.holes = holes == "cutouts" ? drawing::HoleChoice::Chosen : drawing::HoleChoice::Inside;
    return t;
}

drawing::Kerf HandedArguments::kerfTerms() const {
    return {kerf, side == "inside" ? drawing::KeptSide::Sheet : drawing::KeptSide::Part};
}

void addFace(CLI::App& command, HandedArguments& a, const char* words) {
    command.add_option("--face", a.face, words)->check(CLI::IsMember({"top", "bottom"}));
}

void addRevision(CLI::App& command, HandedArguments& a) {
    command.add_option("--revision", a.revision, "Revision letter (default A)");
}

void addKerf(CLI::App& command, HandedArguments& a, const char* words, const char* sideWords) {
    command.add_option("--kerf", a.kerf, words)->check(CLI::PositiveNumber);
    command.add_option("--side", a.side, sideWords)->check(CLI::IsMember({"outside", "inside"}));
}

void addThickness(CLI::App& command, HandedArguments& a, const char* words) {
    command.add_option("--thickness", a.thickness, words)->check(CLI::PositiveNumber);
}

void addNominal(CLI::App& command, HandedArguments& a, const char* words) {
    command.add_option("--nominal", a.nominal, words)->check(CLI::PositiveNumber);
}

void addHoles(CLI::App& command, HandedArguments& a, const char* words) {
    command.add_option("--holes", a.holes, words)->check(CLI::IsMember({"inside", "cutouts"}));
}

void addSurvey(CLI::App& command, HandedArguments& a) {
    command.add_option("survey", a.survey, "Survey file")->required();
}

void addReport(CLI::App& command, HandedArguments& a) {
    command.add_flag("--json", a.json, "Print the result as JSON");
    command.add_flag("--marks-only", a.marksOnly,
                     "Do not look whether the photographs are there and unchanged");
}

}  // namespace trammel::app
