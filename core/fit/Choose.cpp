// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/fit/Choose.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "core/fit/CurveFit.h"
#include "core/math/Statistics.h"

namespace trammel::fit {
namespace {

using survey::Transition;

constexpr double kSameEdge_px = 1.0;  ///< a chosen edge is found again within this

Rival rivalOf(const Candidate& candidate, const Search& search) {
    Rival r;
    const int pieces = search.rim ? 48 : 8;
    const double length = search.guide.length();
    for (int i = 0; i <= pieces; ++i) {
        const double s = length * i / pieces;
        r.line.push_back(search.guide.point(s, candidate.offset(search.family, s)));
    }
    r.sense = candidate.support < 0 ? -1.0 : 1.0;
    r.rim = search.rim;
    return r;
}

Result<Candidate> chosenAgain(const std::vector<Candidate>& candidates, const Search& search,
                              const Rival& chosen) {
    const Candidate* best = nullptr;
    double least = kSameEdge_px;
    for (const Candidate& c : candidates) {
        if ((c.support > 0) != (chosen.sense > 0)) continue;
        double sum = 0.0;
        for (const Vec2& p : chosen.line) {
            const Local at = search.guide.locate(p);
            sum += std::pow(c.offset(search.family, at.s) - at.d, 2);
        }
        const double apart =
            std::sqrt(sum / static_cast<double>(std::max<std::size_t>(1, chosen.line.size())));
        if (apart < least) least = apart, best = &c;
    }
    if (!best) return refuse("the chosen edge is not found again here", "place the points along it");
    return *best;
}

double meanOffset(const Candidate& c, const Search& search) {
    double sum = 0.0;
    for (const double s : search.profiles.s) sum += c.offset(search.family, s);
    return sum / static_cast<double>(search.profiles.s.size());
}

/// Of two lines of a transition the one that the feature names; null where that decides nothing.
const Candidate* bySide(const std::vector<Candidate>& two, const Search& search, const FitOptions& o) {
    if (two.size() != 2 || (o.transition != Transition::Inner && o.transition != Transition::Outer))
        return nullptr;
    double inwards = -1.0;  // a whole rim's middle lies inside
    if (!search.guide.closed()) {
        if (!o.inside) return nullptr;
        inwards = search.guide.locate(*o.inside).d < 0 ? -1.0 : 1.0;
    }
    const bool firstIsInner = inwards * meanOffset(two[0], search) > inwards * meanOffset(two[1], search);
    return firstIsInner == (o.transition == Transition::Inner) ? &two[0] : &two[1];
}

}  // namespace

std::vector<double> placesAlong(const Guide& guide, const std::vector<Vec2>& points) {
    std::vector<double> out;
    for (const Vec2& p : points) out.push_back(guide.locate(p).s);
    return out;
}

Result<Candidate> meantEdge(const Search& search, const FitOptions& o, std::vector<Rival>* rivals) {
    const std::vector<Candidate> candidates =
        searchEdges(search.profiles, search.family, search.hand, search.slack * o.handSigma_px);
    if (candidates.empty())
        return refuse("no edge runs along this stroke",
                      "place the points nearer to the edge or leave the mark as it is");
    if (o.chosen[0]) return chosenAgain(candidates, search, *o.chosen[0]);
    std::vector<Candidate> plausible =
        plausibleEdges(candidates, search.family, search.profiles, search.hand.size());
    const auto apart = [&](const Candidate& c) {
        return rmsDistance(search.family, plausible.front(), c, search.profiles);
    };
    // Whatever lies in a rounding is it: the doubt of its width says so.
    if (o.transition == Transition::Round)
        plausible.erase(std::remove_if(plausible.begin() + 1, plausible.end(),
                                       [&](const Candidate& c) { return apart(c) <= o.transition_px; }),
                        plausible.end());
    Candidate meant = plausible.front();
    if (plausible.size() > 1) {
        const Candidate* sided = bySide(plausible, search, o);
        if (!sided) {
            if (rivals)
                for (const Candidate& c : plausible) rivals->push_back(rivalOf(c, search));
            return refuse(plausible.size() == 2
                              ? fmt::format("two edges {:.1f} px apart: which?", apart(plausible[1]))
                              : fmt::format("{} edges side by side: which?", plausible.size()),
                          "choose one, or place the points closer to the meant one");
        }
        meant = *sided;
    }
    if (meant.misfit > stats::chiSquareQuantile(0.998, static_cast<double>(search.hand.size())) &&
        plausible.size() == 1)
        return refuse(
            fmt::format("the nearest clear edge lies {:.1f} px away",
                        rmsDistance(search.family, meant,
                                    Candidate{std::vector<double>(search.family.shapes.size(), 0.0)},
                                    search.profiles)),
            "place the points nearer to it if it is the meant one");
    return meant;
}

}  // namespace trammel::fit
