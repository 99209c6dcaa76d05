// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <array>
#include <functional>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "core/base/Progress.h"
#include "core/base/Result.h"
#include "core/fit/Rivals.h"
#include "core/photo/Image.h"
#include "core/survey/Edit.h"
#include "core/survey/Survey.h"

namespace trammel::fit {

/// Gives a station's upright photograph in linear light; asked once a station, one held at a time.
using PhotographProvider = std::function<Result<photo::LinearImage>(const survey::Station&)>;

/// A hand mark that stays as it is, and why.
struct Refusal {
    survey::Id mark;
    std::string why;              ///< a sentence; between rivals it tells them with their letters
    std::vector<Rival> rivals{};  ///< not empty: refused because any of these may be meant
};

struct RefineResult {
    survey::Edit edit;  ///< replaces the points of every mark that could be fitted (origin Fitted)
    std::vector<Refusal> refusals;
    std::vector<Error> photographs;  ///< those that could not be had; their marks are among the refusals
    int tried = 0;                   ///< hand marks that are not excluded, of those asked for
    int fitted = 0;
};

struct RefineOptions {
    int edgePoints = 4;          ///< points along an edge
    int rimPoints = 12;          ///< points round a hole or along an arc
    int slotPoints = 16;         ///< points round a slot; a free curve takes them by its length
    double searchSigmas = 4.0;   ///< how far from the hand an edge may lie, in the hand's σ (3 to 12 px)
    double cornerLeg_px = 90.0;  ///< length of the edges that make a corner
    /// What moves a whole mark without showing in its scatter (k = 1, px), beyond what a fit counts itself.
    /// In a view along the levels an edge borders slivers of wall and face thinner than a pixel, as seen on
    /// photographs with known truth in the accuracy campaign.
    double sideDoubt_px = 0.07, rimDoubt_px = 0.0;
    std::set<survey::Id> onlyMarks;  ///< the hand marks to fit; empty: all. σ is the same either way.
    /// Marks not asked for that are looked at in a photograph, to tell how sharp an edge is there. Fewer than
    /// a dozen: photographs of the same camera are not looked at besides.
    std::size_t mostOthers = static_cast<std::size_t>(-1);
    /// A point on either edge of a corner, px, where the user pointed at them.
    std::map<survey::Id, std::array<Vec2, 2>> cornerLegs;
    /// What the user chose where a mark was refused because of rivals; of a corner one for either edge.
    std::map<survey::Id, std::array<std::optional<Rival>, 2>> chosen;
    /// px/mm of photographs, where a solution tells it: the width of a rounding is a doubt of so many px.
    /// Without it the known lengths marked in the photograph tell.
    std::map<survey::Id, double> scale_px_per_mm;
};

/// Looks in the photographs for what each hand mark means. Marks already fitted, and excluded ones, are left
/// alone. A corner becomes the intersection of its two edges: those that the survey has marked through it on
/// the same level, else the two that leave it in the picture. Marks that are not to be changed are looked at
/// too: they tell how sharp an edge of the photograph usually is. Cancelled work returns what was fitted so
/// far.
RefineResult refine(const survey::Survey& survey, const PhotographProvider& photographs,
                    const RefineOptions& options = {}, const Progress* progress = nullptr);

}  // namespace trammel::fit
