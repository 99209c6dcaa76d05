// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/StartAgain.h"

#include <algorithm>
#include <map>

#include "core/adjust/StartLinear.h"
#include "core/adjust/StartResect.h"
#include "core/adjust/StartShape.h"
#include "core/estimate/Solver.h"
#include "core/math/Statistics.h"

namespace trammel::adjust {
namespace {

/// Whether marks lie off even without the worst eighth of them; of few, one may be what shows a wrong camera.
bool misfits(std::vector<std::pair<double, int>>& marks, double chance, double& misfit) {
    std::sort(marks.begin(), marks.end(),
              [](const auto& a, const auto& b) { return a.first / a.second < b.first / b.second; });
    marks.resize(marks.size() - marks.size() / 8);
    double sum = 0.0;
    int components = 0;
    for (const auto& [square, count] : marks) sum += square, components += count;
    if (components == 0) return false;
    misfit = sum / components;
    return sum > stats::chiSquareQuantile(1.0 - chance, components);
}

/// What is seen in another photograph than this one.
std::vector<bool> seenElsewhere(const Network& n, int station) {
    std::vector<bool> seen(n.state().features.size(), false);
    for (const ImagePoint& p : n.points())
        if (p.station != station && n.owners()[at(p.owner)].active) seen[at(p.feature)] = true;
    return seen;
}

/// The others by themselves, as far as a few steps lead.
void adjustWithout(Network& n, int station) {
    estimate::SolverOptions options;
    options.mostIterations = 12;
    options.floor = 1e-3;
    std::vector<int> out;
    for (const ImagePoint& p : n.points())
        if (p.station == station && n.owners()[at(p.owner)].active) {
            n.owners()[at(p.owner)].active = false;
            out.push_back(p.owner);
        }
    const State before = n.state();
    (void)estimate::solve(n, options);  // what only the photograph held stays where it is
    std::vector<estimate::Rows> rows;
    if (!n.linearise(rows, false)) n.state() = before;
    for (const int o : out) n.owners()[at(o)].active = true;
    n.forgetFeet();
}

/// Every feature and height from the photographs as they stand.
void placeAll(Network& n, Hypothesis& h) {
    n.state() = h.state;
    h.known.featurePlan.assign(h.state.features.size(), false);
    for (const StartPoint& p : h.points.points) {
        if (p.feature < 0 || !p.plan) continue;
        n.state().features[at(p.feature)].p = p.p;
        h.known.featurePlan[at(p.feature)] = true;
    }
    startShapes(n, h.known);
}

Hypothesis camerasOf(const Network& n) {
    Hypothesis h;
    h.state = n.state();
    h.points = collectPoints(n);
    h.zeroLevel = n.datumLevel();
    h.known.station.assign(h.state.stations.size(), true);
    h.known.level.assign(h.state.levels.size(), true);
    h.known.featurePlan.assign(h.state.features.size(), true);
    return h;
}

Hypothesis allBut(const Network& n, int station) {
    Hypothesis h = camerasOf(n);
    h.known.station[at(station)] = false;
    h.known.featurePlan = seenElsewhere(n, station);
    for (StartPoint& p : h.points.points) {
        if (p.feature < 0) continue;
        p.p = h.state.point(h.state.features[at(p.feature)]);
        p.plan = p.space = h.known.featurePlan[at(p.feature)];
    }
    return h;
}

}  // namespace

std::vector<int> misplaced(const Network& n, double chance) {
    std::vector<estimate::Rows> rows;
    if (!n.linearise(rows, false)) return {};
    std::vector<std::map<int, std::pair<double, int>>> marks(n.state().stations.size());
    for (std::size_t i = 0; i < n.points().size(); ++i) {
        if (!rows[i].active) continue;
        auto& [sum, components] = marks[at(n.points()[i].station)][n.points()[i].owner];
        sum += rows[i].squared();
        components += rows[i].components;
    }
    std::vector<std::pair<double, int>> order;
    for (std::size_t s = 0; s < marks.size(); ++s) {
        std::vector<std::pair<double, int>> all;
        for (const auto& [owner, mark] : marks[s]) all.push_back(mark);
        double misfit = 0.0;
        if (!all.empty() && misfits(all, chance, misfit)) order.emplace_back(-misfit, static_cast<int>(s));
    }
    std::sort(order.begin(), order.end());
    std::vector<int> out;
    for (const auto& [misfit, station] : order) out.push_back(station);
    return out;
}

void placeAnew(Network& n) {
    Hypothesis h = camerasOf(n);
    placePoints(h);
    placeAll(n, h);
    n.forgetFeet();
}

std::vector<State> reorient(const Network& network, int station) {
    constexpr std::size_t kMostWays = 5;
    std::vector<State> out;
    Network n = network;  // work space
    for (const bool alone : {true, false}) {
        n.state() = network.state();
        n.forgetFeet();
        if (alone) adjustWithout(n, station);
        const Hypothesis others = allBut(n, station);
        std::vector<Orientation> ways = orientStation(others, n, station, true);
        if (ways.size() > kMostWays) ways.resize(kMostWays);
        for (const Orientation& way : ways) {
            Hypothesis h = others;
            h.state.stations[at(station)] = way.station;
            h.known.station[at(station)] = true;
            // As the others have it, and all of it anew: an adjustment that went astray took features along.
            n.state() = h.state;
            for (std::size_t i = 0; i < h.known.featurePlan.size(); ++i)
                if (!h.known.featurePlan[i] && n.state().features[i].level >= 0) fitOnLevel(n, i, h.known);
            out.push_back(n.state());
            placePoints(h);
            placeAll(n, h);
            out.push_back(n.state());
        }
    }
    return out;
}

}  // namespace trammel::adjust
