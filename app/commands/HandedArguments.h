// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <CLI/App.hpp>
#include <string>

#include "core/handover/Deliver.h"

namespace trammel::app {

/// What the commands are asked that adjust a survey and hand something over of it, with their defaults.
struct HandedArguments {
    std::string survey, face = "top", revision = "A", side = "outside", holes = "inside";
    double kerf = 0.0, nominal = 0.0, thickness = 0.0;
    bool json = false, marksOnly = false;

    /// How the drawing is made; the kerf is left out of it, for not all compensate it.
    handover::Terms terms() const;
    drawing::Kerf kerfTerms() const;
};

// Each adds one option. The words that are left out are those of a command that follows `handover` in it.
void addFace(CLI::App& command, HandedArguments& a,
             const char* words = "Face to show, as for handover (default top)");
void addRevision(CLI::App& command, HandedArguments& a);
void addKerf(CLI::App& command, HandedArguments& a,
             const char* words = "Kerf (mm) that the file would compensate, as for handover",
             const char* sideWords = "With --kerf, as for handover (outside or inside)");
void addThickness(CLI::App& command, HandedArguments& a,
                  const char* words = "Thickness (mm) of an outline below which the survey has no level");
void addNominal(CLI::App& command, HandedArguments& a,
                const char* words = "Step of nominal sizes (mm), as for handover");
void addHoles(CLI::App& command, HandedArguments& a,
              const char* words = "Which holes are cut, as for handover (inside or cutouts)");
void addSurvey(CLI::App& command, HandedArguments& a);
void addReport(CLI::App& command, HandedArguments& a);  ///< --json and --marks-only

}  // namespace trammel::app
