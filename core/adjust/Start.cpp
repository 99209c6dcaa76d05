// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/Start.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "core/adjust/StartBundle.h"
#include "core/adjust/StartLinear.h"
#include "core/adjust/StartPlane.h"
#include "core/adjust/StartResect.h"
#include "core/adjust/StartShape.h"
#include "core/estimate/Solver.h"
#include "core/math/Rotation.h"

namespace trammel::adjust {
namespace {

using survey::FeatureKind;
using survey::View;

/// Scale from the readings: the median of measured over computed.
Result<void> scaleByReadings(Network& n) {
    std::vector<double> ratios;
    for (const bool tapes : {false, true}) {  // a tape, the roughest, only where nothing else is there
        if (!ratios.empty()) break;
        for (const auto& [term, owner, measured] : n.readings()) {
            if (!n.owners()[at(owner)].active || (term.quantity == survey::Quantity::Tape) != tapes ||
                term.quantity == survey::Quantity::Angle)
                continue;
            const double computed = evaluate(term, n.state(), n.columns()).value;
            if (std::abs(computed) > 1e-9 && measured.value / computed > 0)
                ratios.push_back(measured.value / computed);
        }
    }
    if (ratios.empty())
        return Error{ErrorCode::RankDefect, "nothing sets the scale", "survey",
                     "add a reference length or a caliper reading between two marked features"};
    std::nth_element(ratios.begin(), ratios.begin() + static_cast<std::ptrdiff_t>(ratios.size() / 2),
                     ratios.end());
    rescale(n.state(), ratios[ratios.size() / 2]);
    return {};
}

Error sharesTooLittle(const Network& n, std::size_t station) {
    return {ErrorCode::NotConnected, "shares too few marked features with the other photographs",
            describe(n.survey(), n.survey().stations[station].id),
            "mark at least four features in it, on two levels, that are marked elsewhere too"};
}

/// Each photograph must be reachable from the first through common features or levels.
Result<void> checkConnected(const Network& n, const std::vector<bool>& used) {
    const std::size_t stations = used.size();
    const State& state = n.state();
    std::vector<bool> reached(stations, false), feature(state.features.size(), false);
    std::size_t first = stations;
    for (std::size_t s = 0; s < stations && first == stations; ++s)
        if (used[s]) first = s;
    if (first == stations)
        return Error{ErrorCode::NotConnected, "no photograph has a mark", "survey",
                     "mark features in photographs"};
    reached[first] = true;
    for (bool progress = true; progress;) {
        progress = false;
        for (const ImagePoint& p : n.points()) {
            if (!n.owners()[at(p.owner)].active) continue;
            if (reached[at(p.station)] && !feature[at(p.feature)]) feature[at(p.feature)] = progress = true;
            if (feature[at(p.feature)] && !reached[at(p.station)]) reached[at(p.station)] = progress = true;
        }
    }
    for (std::size_t s = 0; s < stations; ++s)
        if (used[s] && !reached[s])
            return Error{ErrorCode::NotConnected, "shares no marked feature with the other photographs",
                         describe(n.survey(), n.survey().stations[s].id),
                         "mark in it features that are marked in the others, or leave it out"};
    return {};
}

/// Mean squared miss (in σ of about a pixel) up to which points count as fitting.
constexpr double kFair = 25.0;

bool fits(const Hypothesis& h) {
    double count = 0.0;
    for (const Sighting& s : h.points.seen) count += h.known.station[at(s.station)] ? 2.0 : 0.0;
    return h.cost < kFair * count;
}

/// Views that may hold the scale of the linear start, best first: a view from the side tells the others which
/// way the part is turned, so it comes first.
std::vector<int> anchors(const Network& n, const Hypothesis& h, const std::vector<bool>& principal) {
    std::vector<int> count(principal.size(), 0), order;
    for (const Sighting& s : h.points.seen) ++count[at(s.station)];
    const auto fromSide = [&n](int s) {
        const View v = n.survey().stations[at(s)].view;
        return v != View::Top && v != View::Bottom;
    };
    for (std::size_t s = 0; s < principal.size(); ++s)
        if (principal[s] && count[s] > 0) order.push_back(static_cast<int>(s));
    std::sort(order.begin(), order.end(), [&](int a, int b) {
        return std::pair(fromSide(a), count[at(a)]) > std::pair(fromSide(b), count[at(b)]);
    });
    return order;
}

int oriented(const Hypothesis& h) {
    return static_cast<int>(std::count(h.known.station.begin(), h.known.station.end(), true));
}

int sightingsIn(const Hypothesis& h) {
    int count = 0;
    for (const Sighting& s : h.points.seen) count += h.known.station[at(s.station)];
    return count;
}

/// The principal views; another one holds the scale while not all of them hang together and fit.
Hypothesis orientPrincipal(const Network& n, const Hypothesis& empty, const std::vector<bool>& principal) {
    std::optional<Hypothesis> best;
    const std::vector<int> order = anchors(n, empty, principal);
    for (const int anchor : order) {
        Hypothesis h = empty;
        startPrincipal(h, principal, anchor);
        bundlePoints(h, n, 4);
        placePoints(h);
        if (!best || std::pair(-sightingsIn(h), h.cost) < std::pair(-sightingsIn(*best), best->cost))
            best = std::move(h);
        if (fits(*best) && oriented(*best) == static_cast<int>(order.size())) break;
    }
    return best ? *best : empty;
}

/// The photograph to orient next, and the ways in which it may stand; none when nothing more can be oriented.
std::pair<int, std::vector<Orientation>> nextOrientation(const Network& n, const Hypothesis& h,
                                                         const std::vector<bool>& used, bool edges) {
    std::vector<std::pair<int, int>> order;
    for (std::size_t s = 0; s < used.size(); ++s)
        if (used[s] && !h.known.station[s])
            order.emplace_back(-usablePoints(h, static_cast<int>(s)), static_cast<int>(s));
    std::sort(order.begin(), order.end());
    for (const auto& [points, station] : order)
        if (auto ways = orientStation(h, n, station, edges); !ways.empty()) return {station, std::move(ways)};
    return {-1, {}};
}

/// Follows the ways that fit nearly as well as the best.
void branch(const Hypothesis& h, int station, const std::vector<Orientation>& ways,
            std::vector<Hypothesis>& out) {
    constexpr std::size_t kMostWays = 4;
    constexpr double kNearly = 25.0, kRoom = 300.0;
    for (std::size_t i = 0; i < std::min(ways.size(), kMostWays); ++i) {
        if (ways[i].cost > kNearly * ways[0].cost + kRoom) break;
        Hypothesis next = h;
        next.state.stations[at(station)] = ways[i].station;
        next.known.station[at(station)] = true;
        next.cost += ways[i].cost;
        placePoints(next);
        out.push_back(std::move(next));
    }
}

void sortAndPrune(std::vector<Hypothesis>& all, std::size_t most) {
    std::stable_sort(all.begin(), all.end(), [](const Hypothesis& a, const Hypothesis& b) {
        return std::pair(-oriented(a), a.cost) < std::pair(-oriented(b), b.cost);
    });
    if (all.size() > most) all.erase(all.begin() + static_cast<std::ptrdiff_t>(most), all.end());
}

bool twins(const Hypothesis& a, const Hypothesis& b) {
    constexpr double kTurn = 0.03;
    for (std::size_t s = 0; s < a.state.stations.size(); ++s)
        if (rotationLog(a.state.stations[s].R * b.state.stations[s].R.transpose()).norm() > kTurn)
            return false;
    return true;
}

/// Of ways that the few steps over the points brought together, the first stays.
void dropTwins(std::vector<Hypothesis>& all) {
    std::vector<Hypothesis> kept;
    for (Hypothesis& h : all)
        if (std::none_of(kept.begin(), kept.end(), [&](const Hypothesis& k) { return twins(k, h); }))
            kept.push_back(std::move(h));
    all = std::move(kept);
}

/// Orients the remaining photographs one by one; few hypotheses are followed side by side. With `edges` known
/// edges serve as well as points.
void orientRest(const Network& n, const std::vector<bool>& used, bool edges, std::vector<Hypothesis>& all) {
    constexpr std::size_t kMostHypotheses = 8;
    for (bool progress = true; progress;) {
        progress = false;
        std::vector<Hypothesis> next;
        for (const Hypothesis& h : all) {
            const auto [station, ways] = nextOrientation(n, h, used, edges);
            if (station < 0)
                next.push_back(h);
            else
                branch(h, station, ways, next), progress = true;
        }
        all = std::move(next);
        if (all.size() > 1) {
            for (Hypothesis& h : all) bundlePoints(h, n, 3), placePoints(h);
            sortAndPrune(all, all.size());
            dropTwins(all);
        }
        sortAndPrune(all, kMostHypotheses);
    }
}

/// Features and heights from the photographs that are known.
void placeShapes(Network& n, Hypothesis& h) {
    n.state() = h.state;
    h.known.featurePlan.assign(h.state.features.size(), false);
    for (const StartPoint& p : h.points.points) {
        if (p.feature < 0) continue;
        n.state().features[at(p.feature)].p = p.p;
        h.known.featurePlan[at(p.feature)] = p.plan;
    }
    startShapes(n, h.known);
    h.state = n.state();
}

/// Photographs that show too few points are oriented on edges too.
void orientOnEdges(Network& n, const std::vector<bool>& used, std::vector<Hypothesis>& all) {
    const auto whole = [&](const Hypothesis& h) {
        return oriented(h) == std::count(used.begin(), used.end(), true);
    };
    for (int round = 0; round < 3 && !whole(all.front()); ++round) {
        for (Hypothesis& h : all) bundlePoints(h, n, 4), placePoints(h), placeShapes(n, h);
        orientRest(n, used, true, all);
    }
    for (Hypothesis& h : all)
        for (std::size_t s = 0; s < used.size(); ++s) {
            if (!used[s] || h.known.station[s] || n.survey().stations[s].view == View::Oblique) continue;
            h.state.stations[s] = squareOn(h, n, static_cast<int>(s));
            h.known.station[s] = true;
        }
}

/// Heights count from the datum level again.
void zeroAtDatum(const Network& n, Hypothesis& h) {
    State& state = h.state;
    const double z = state.levels[at(n.datumLevel())];
    if (z == 0.0) return;
    for (StationState& s : state.stations) {
        const GroupState& g = state.groups[at(s.group)];
        const Vec3 t = state.pose(s).t + s.R * Vec3(0, 0, z);
        if (!(t.z() > 0)) continue;
        s.lnScale = -g.lnKappa - std::log(t.z());
        s.g = g.pp + std::exp(s.lnScale) * t.head<2>();
    }
    for (double& level : state.levels) level -= z;
    for (StartPoint& p : h.points.points) p.p.z() -= z;
    h.known.level[at(n.datumLevel())] = true;
}

/// From points to all features, true size and the datum's axes.
Result<Start> finish(Network& n, Hypothesis& h) {
    zeroAtDatum(n, h);
    placeShapes(n, h);
    State& state = n.state();
    if (auto r = scaleByReadings(n); !r) return r.error();
    startDatum(n);
    for (std::size_t g = 0; g < state.groups.size(); ++g) refreshFixed(state.groups[g], n.survey().groups[g]);
    n.placeForms();
    return Start{state, h.cost};
}

/// Several starts: a few steps of the adjustment itself, over everything that was observed, put them in
/// order.
void rank(Network& n, std::vector<Start>& starts) {
    constexpr std::size_t kMostStarts = 6;
    constexpr int kSteps = 6;
    if (starts.size() > kMostStarts) starts.resize(kMostStarts);
    estimate::SolverOptions options;
    options.mostIterations = kSteps;
    for (Start& start : starts) {
        n.state() = start.state;
        n.forgetFeet();
        (void)estimate::solve(n, options);  // not settled after so few: the state is better than before
        std::vector<estimate::Rows> rows;
        start.cost = n.linearise(rows, false) ? estimate::sumOfSquares(rows) : INFINITY;
        if (std::isfinite(start.cost)) start.state = n.state();
    }
    std::stable_sort(starts.begin(), starts.end(),
                     [](const Start& a, const Start& b) { return a.cost < b.cost; });
}

Hypothesis nothingKnown(const Network& n) {
    Hypothesis h;
    h.state = n.state();
    h.points = collectPoints(n);
    h.zeroLevel = n.datumLevel();
    h.known.station.assign(h.state.stations.size(), false);
    h.known.level.assign(h.state.levels.size(), false);
    h.known.featurePlan.assign(h.state.features.size(), false);
    h.known.level[at(h.zeroLevel)] = true;
    for (std::size_t s = 0; s < h.state.stations.size(); ++s)
        h.state.stations[s].R = survey::squareRotation(n.survey().stations[s].view);
    return h;
}

std::vector<bool> principalViews(const Network& n, const std::vector<bool>& used) {
    std::vector<bool> principal(used.size(), false);
    for (std::size_t s = 0; s < used.size(); ++s)
        principal[s] = used[s] && n.survey().stations[s].view != View::Oblique;
    return principal;
}

/// Any two principal views by themselves, those first that fit best: one that was far from square spoils all
/// of them where they are taken together.
std::vector<Hypothesis> pairsOfViews(const Network& n, const Hypothesis& empty,
                                     const std::vector<bool>& principal) {
    std::vector<Hypothesis> all;
    for (std::size_t a = 0; a < principal.size(); ++a)
        for (std::size_t b = a + 1; b < principal.size(); ++b) {
            if (!principal[a] || !principal[b]) continue;
            std::vector<bool> two(principal.size(), false);
            two[a] = two[b] = true;
            Hypothesis h = empty;
            startPrincipal(h, two, static_cast<int>(b));
            if (oriented(h) < 2) continue;
            bundlePoints(h, n, 12);
            placePoints(h);
            h.cost /= std::max(1, sightingsIn(h));
            all.push_back(std::move(h));
        }
    sortAndPrune(all, all.size());
    return all;
}

/// Orients what is not yet oriented and places everything.
Result<std::vector<Start>> completeStarts(Network& n, const std::vector<bool>& used,
                                          std::vector<Hypothesis> all) {
    orientRest(n, used, false, all);
    orientOnEdges(n, used, all);
    for (std::size_t s = 0; s < used.size(); ++s)
        if (used[s] && !all.front().known.station[s]) return sharesTooLittle(n, s);
    const int most = oriented(all.front());
    std::erase_if(all, [&](const Hypothesis& h) { return oriented(h) < most; });
    for (Hypothesis& h : all) bundlePoints(h, n, 8), placePoints(h);
    sortAndPrune(all, all.size());
    dropTwins(all);
    std::vector<Start> starts;
    for (Hypothesis& h : all) {
        auto start = finish(n, h);
        if (!start) return start.error();
        starts.push_back(std::move(*start));
    }
    if (starts.size() > 1) rank(n, starts);
    return starts;
}

}  // namespace

/// Camera constants from the survey's values; what is unknown gets a plain guess that the data then move.
void startGroups(Network& n) {
    State& state = n.state();
    for (std::size_t i = 0; i < state.groups.size(); ++i) {
        const survey::CameraGroup& d = n.survey().groups[i];
        double width = 0.0, height = 0.0;
        for (const survey::Station& s : n.survey().stations)
            if (s.group == d.id && width == 0.0) {
                const bool full = s.photo.crop.fullWidth > 0;
                width = full ? s.photo.crop.fullWidth : s.photo.width;
                height = full ? s.photo.crop.fullHeight : s.photo.height;
            }
        if (!(width > 0 && height > 0)) {  // marks alone: their extent must do
            for (const ImagePoint& p : n.points()) {
                width = std::max(width, p.px.x());
                height = std::max(height, p.px.y());
            }
        }
        GroupState& g = state.groups[i];
        g.rho = std::max(1.0, std::hypot(width, height) / 2);
        const double c =
            d.principalDistance.value > 0 ? d.principalDistance.value : 3.0 * std::max(width, height);
        g.lnKappa = -std::log(c);
        const bool given = d.principalX.value != 0.0 || d.principalY.value != 0.0;
        g.pp = given ? Vec2(d.principalX.value, d.principalY.value) : Vec2((width - 1) / 2, (height - 1) / 2);
        const std::array<const survey::Constant*, 5> all = {&d.k1, &d.k2, &d.k3, &d.p1, &d.p2};
        g.pupil = d.pupil.value;
        g.growth = d.lightGrowth.value;
        for (std::size_t k = 0; k < 5; ++k) g.K[k] = all[k]->value * std::pow(g.rho / c, kBrownPower[k]);
    }
}

void startDatum(Network& n) {
    State& state = n.state();
    const FeatureState& d = state.features[at(n.directionFeature())];
    const Vec2 origin = state.features[at(n.originFeature())].p.head<2>();
    Vec2 along = d.kind == FeatureKind::Edge ? Vec2(d.b - d.a) : Vec2(d.p.head<2>() - origin);
    if (d.kind == FeatureKind::Edge && along.x() < 0) along = -along;
    moveDatum(state, origin, std::atan2(along.y(), along.x()));
    FeatureState& o = state.features[at(n.originFeature())];
    o.p.head<2>().setZero();
    FeatureState& direction = state.features[at(n.directionFeature())];
    if (direction.kind == FeatureKind::Edge) {
        const double y = (direction.a.y() + direction.b.y()) / 2;
        direction.a.y() = direction.b.y() = y;
    } else {
        direction.p.y() = 0.0;
    }
}

Result<std::vector<Start>> findStarts(const Network& network) {
    Network n = network;  // work space
    startGroups(n);
    const std::vector<bool> used = n.inUse().stations;
    if (auto r = checkConnected(n, used); !r) return r.error();
    const Hypothesis empty = nothingKnown(n);
    const std::vector<bool> principal = principalViews(n, used);
    std::vector<Hypothesis> all = {empty};
    if (std::find(principal.begin(), principal.end(), true) != principal.end())
        all = {orientPrincipal(n, empty, principal)};
    else
        startFromPlane(all.front(), used);
    return completeStarts(n, used, std::move(all));
}

Result<std::vector<Start>> findOtherStarts(const Network& network) {
    constexpr std::size_t kMostPairs = 6;
    Network n = network;  // work space
    startGroups(n);
    const std::vector<bool> used = n.inUse().stations;
    if (auto r = checkConnected(n, used); !r) return r.error();
    const Hypothesis empty = nothingKnown(n);
    std::vector<Hypothesis> all = pairsOfViews(n, empty, principalViews(n, used));
    if (all.size() > kMostPairs) all.resize(kMostPairs);
    all.push_back(empty);
    if (!startFromPlane(all.back(), used)) all.pop_back();
    std::vector<Start> starts;
    for (Hypothesis& h : all) {
        auto more = completeStarts(n, used, {std::move(h)});
        if (!more) continue;
        for (Start& start : *more) starts.push_back(std::move(start));
    }
    rank(n, starts);
    return starts;
}

Result<void> findStart(Network& n) {
    auto starts = findStarts(n);
    if (!starts) return starts.error();
    n.state() = starts->front().state;
    n.forgetFeet();
    return {};
}

}  // namespace trammel::adjust
