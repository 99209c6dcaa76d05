// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/FirstSteps.h"

#include <QCoreApplication>
#include <algorithm>
#include <map>
#include <set>

namespace trammel::ui {
namespace {

constexpr int kPhotographs = 3;  ///< fewer leave mistakes unnoticed
constexpr int kTied = 6;         ///< features seen twice from which three photographs hold together

QString tr(const char* text) { return QCoreApplication::translate("FirstSteps", text); }

/// Features marked in two photographs or more.
int tied(const survey::Survey& s) {
    std::map<survey::Id, std::set<survey::Id>> seen;
    for (const survey::Mark& m : s.marks)
        if (!m.excluded) seen[m.feature].insert(m.station);
    return static_cast<int>(
        std::ranges::count_if(seen, [](const auto& one) { return one.second.size() >= 2; }));
}

bool hasLength(const survey::Survey& s) {
    return std::ranges::any_of(s.readings, [](const survey::Reading& r) {
        return !r.excluded && !r.check && r.quantity != survey::Quantity::Angle;
    });
}

}  // namespace

std::array<Step, kSteps> firstSteps(const survey::Survey& s, bool agreed, bool handedOver) {
    const int photographs = static_cast<int>(s.stations.size()), ties = tied(s);
    return {{{tr("Photographs"),
              tr("Add three photographs or more of one unit and say which view each shows; %1 so far.")
                  .arg(photographs),
              photographs >= kPhotographs},
             {tr("Marks"),
              tr("Mark six corners or holes or more, each in two photographs or more: choose it in the list, "
                 "then "
                 "click it in the next one; %1 so far.")
                  .arg(ties),
              ties >= kTied},
             {tr("Lengths"),
              tr("Type what the caliper shows between two of them, or mark a rule in the picture."),
              hasLength(s)},
             {tr("Agreement"), tr("Adjust, and mend what is named until everything agrees."), agreed},
             {tr("Hand-over"),
              s.outlines.empty()
                  ? tr("Make an outline of features in their order, then write the drawing with its ±.")
                  : tr("Write the drawing with its ±, and read what the file really contains."),
              handedOver}}};
}

std::size_t currentStep(const std::array<Step, kSteps>& steps) {
    return static_cast<std::size_t>(std::ranges::find_if(steps, [](const Step& s) { return !s.done; }) -
                                    steps.begin());
}

}  // namespace trammel::ui
