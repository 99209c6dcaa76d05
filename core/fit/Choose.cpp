// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/fit/Choose.h"

#include <fmt/core.h>

#include <Eigen/Cholesky>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/fit/CurveFit.h"
#include "core/math/Statistics.h"

namespace trammel::fit {
namespace {

using survey::Transition;

constexpr double kEven = 0.6;          ///< least steepness over greatest, of even light
constexpr double kEvenByPixel = 0.25;  ///< the same sample by sample: two edges are not even light
constexpr double kSameEdge_px = 1.0;   ///< a chosen edge is found again, and two are one, within this
constexpr double kRimTrace_px = 2.0, kTrace_px = 1.5;  ///< as far as the fits themselves trace at once

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

/// What a fit is free to become after the search: more than the search tries, so that a rim clicked askew or
/// a bent edge comes to rest on itself.
Family freedomOf(const Search& search) {
    Family out = search.family;
    const double length = search.guide.length();
    if (search.guide.closed()) {
        const double twice = 4.0 * std::numbers::pi / length;
        out.shapes.push_back([twice](double s) { return std::cos(twice * s); });
        out.shapes.push_back([twice](double s) { return std::sin(twice * s); });
    } else {
        out.shapes.push_back([length](double s) { return 4.0 * s / length * (1.0 - s / length); });
    }
    return out;
}

/// Where a fit that starts at the candidate comes to rest: traced and smoothed a few times, as a fit does it.
Candidate settled(Candidate c, const Family& family, const Search& search) {
    const Profiles& profiles = search.profiles;
    const double window = search.rim ? kRimTrace_px : kTrace_px;
    const auto shapes = static_cast<Eigen::Index>(family.shapes.size());
    c.coefficients.resize(family.shapes.size(), 0.0);
    for (int step = 0; step < 8; ++step) {
        const std::vector<Local> places = traceEdge(profiles, family, c, step == 0 ? window : 0.5 * window);
        if (places.size() < std::max<std::size_t>(6, profiles.s.size() / 3)) break;
        MatX rows(static_cast<Eigen::Index>(places.size()), shapes);
        for (Eigen::Index i = 0; i < rows.rows(); ++i)
            for (Eigen::Index k = 0; k < shapes; ++k)
                rows(i, k) =
                    family.shapes[static_cast<std::size_t>(k)](places[static_cast<std::size_t>(i)].s);
        VecX x = VecX::Map(c.coefficients.data(), shapes);
        for (int pass = 0; pass < 4; ++pass) {
            MatX normal = 1e-6 * MatX::Identity(shapes, shapes);  // two shapes may tell the same
            VecX right = VecX::Zero(shapes);
            for (Eigen::Index i = 0; i < rows.rows(); ++i) {
                const double d = places[static_cast<std::size_t>(i)].d;
                const double w = 1.0 / (1.0 + std::pow(d - rows.row(i).dot(x), 2));
                normal += w * rows.row(i).transpose() * rows.row(i);
                right += w * d * rows.row(i).transpose();
            }
            x = normal.ldlt().solve(right);
        }
        if (!x.allFinite()) break;
        c.coefficients.assign(x.data(), x.data() + shapes);
    }
    return c;
}

/// Those that a fit would not bring to rest at one and the same edge; of such the likeliest stays.
std::vector<Candidate> apartAfterFit(const std::vector<Candidate>& candidates, const Search& search) {
    if (candidates.size() < 2) return candidates;
    const Family family = freedomOf(search);
    std::vector<Candidate> out, rests;
    for (const Candidate& c : candidates) {
        const Candidate rest = settled(c, family, search);
        const bool known = std::any_of(rests.begin(), rests.end(), [&](const Candidate& other) {
            return (other.support > 0) == (rest.support > 0) &&
                   rmsDistance(family, other, rest, search.profiles) < kSameEdge_px;
        });
        if (known) continue;
        out.push_back(c);
        rests.push_back(rest);
    }
    return out;
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

/// Light that changes evenly over all that was looked through has no step in it, whatever noise and the
/// rounding to codes make of it: averaged along the guide and over some px across, it is as steep everywhere.
bool even(const Profiles& profiles) {
    const int per = profiles.perProfile,
              half = static_cast<int>(std::min(3.0, 0.375 * profiles.reach) / Profiles::kStep);
    std::vector<double> sums(static_cast<std::size_t>(per) + 1, 0.0);
    for (int k = 0; k < per; ++k) {
        double mean = 0.0;
        for (std::size_t p = 0; p < profiles.s.size(); ++p)
            mean += profiles.steep[p * static_cast<std::size_t>(per) + static_cast<std::size_t>(k)];
        sums[static_cast<std::size_t>(k) + 1] = sums[static_cast<std::size_t>(k)] + mean;
    }
    const auto steady = [&](int from, double share) {  // over boxes of 2·from + 1 samples
        double low = 1e300, high = -1e300;
        for (int k = from; k + from < per; ++k) {
            const double box =
                sums[static_cast<std::size_t>(k + from) + 1] - sums[static_cast<std::size_t>(k - from)];
            low = std::min(low, box);
            high = std::max(high, box);
        }
        return low > share * high || high < share * low;
    };
    return steady(half, kEven) && steady(0, kEvenByPixel);
}

bool withinReach(const Search& search, double misfit, double chance) {
    return misfit <= stats::chiSquareQuantile(chance, static_cast<double>(search.hand.size()));
}

Error tooFar(const Candidate& c, const Search& search) {
    const Candidate hand{std::vector<double>(search.family.shapes.size(), 0.0)};
    return refuse(fmt::format("the nearest clear edge lies {:.1f} px away",
                              rmsDistance(search.family, c, hand, search.profiles)),
                  "place the points nearer to it if it is the meant one");
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
        return refuse("no edge shows along the marked points",
                      "place the points nearer to the edge or leave the mark as it is");
    if (even(search.profiles))
        return refuse("the light changes evenly here, without a step",
                      "place the points on a visible edge or leave the mark as it is");
    if (o.chosen[0]) {
        const Result<Candidate> again = chosenAgain(candidates, search, *o.chosen[0]);
        if (again && !withinReach(search, again->misfit, kChosenReach)) return tooFar(*again, search);
        return again;
    }
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
    plausible = apartAfterFit(plausible, search);
    const auto nearest =
        std::min_element(plausible.begin(), plausible.end(),
                         [](const Candidate& a, const Candidate& b) { return a.misfit < b.misfit; });
    if (!withinReach(search, nearest->misfit, kHandReach)) return tooFar(*nearest, search);
    std::erase_if(plausible,
                  [&](const Candidate& c) { return !withinReach(search, c.misfit, kChosenReach); });
    if (plausible.size() < 2) return plausible.front();
    if (const Candidate* sided = bySide(plausible, search, o)) return *sided;
    if (rivals)
        for (const Candidate& c : plausible) rivals->push_back(rivalOf(c, search));
    return refuse(plausible.size() == 2
                      ? fmt::format("two edges {:.1f} px apart may be meant", apart(plausible[1]))
                      : fmt::format("{} edges side by side may be meant", plausible.size()),
                  "choose one, or place the points closer to the meant one");
}

}  // namespace trammel::fit
