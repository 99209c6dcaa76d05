// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/OtherSets.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "core/adjust/StartShape.h"
#include "core/estimate/Solver.h"

namespace trammel::adjust {
namespace {

/// By so much must another set be cheaper, or rounding and curvature decide.
constexpr double kCheaper = 2.0;
/// Features looked at: where more are drawn in, a photograph is wrong and asked as a whole.
constexpr std::size_t kMostFeatures = 8;
/// One mark among so many does not drag its feature along, and the pairs would be too many to try.
constexpr std::size_t kMostMarks = 24;
/// Two iterations rank the sets; so many of the best are followed further.
constexpr int kLook = 2, kFollow = 12;
constexpr std::size_t kFollowed = 6;
/// Observations computed for all looks together: where the survey is large, only the sets that leave out
/// least are tried.
constexpr std::size_t kMostWork = 400'000, kLeastSets = 12;

bool sameKind(survey::FeatureKind a, survey::FeatureKind b) {
    using survey::FeatureKind;
    const auto round = [](FeatureKind k) { return k == FeatureKind::Hole || k == FeatureKind::Arc; };
    return a == b || (round(a) && round(b));
}

}  // namespace

OtherSets::OtherSets(Network& network, const Options& options, const Progress* progress,
                     std::vector<bool> eligible)
    : n_(network),
      options_(options),
      progress_(progress),
      eligible_(std::move(eligible)),
      components_(n_.owners().size(), 0),
      featureOf_(n_.owners().size(), -1),
      marks_(n_.state().features.size()) {
    for (const ImagePoint& p : n_.points()) {
        if (!eligible_[at(p.owner)] || featureOf_[at(p.owner)] >= 0) continue;
        featureOf_[at(p.owner)] = p.feature;
        marks_[at(p.feature)].push_back({p.owner, p.station});
    }
    std::vector<estimate::Rows> rows;
    if (!n_.linearise(rows, false)) return;
    const std::vector<int> owners = n_.rowOwners();
    for (std::size_t i = 0; i < rows.size(); ++i) components_[at(owners[i])] += rows[i].components;
}

double OtherSets::cost(const std::vector<int>& aside, double sum) const {
    const double each = -2.0 * std::log(options_.suspectProbability);
    for (const int o : aside) sum += components_[at(o)] + each;
    return sum;
}

void OtherSets::take(const std::vector<int>& aside) {
    for (std::size_t o = 0; o < eligible_.size(); ++o) n_.owners()[o].active = eligible_[o];
    for (const int o : aside) n_.owners()[at(o)].active = false;
}

std::vector<int> OtherSets::doubtful(const std::vector<int>& aside) const {
    std::vector<int> out;
    const auto add = [&](int feature) {
        if (feature < 0 || marks_[at(feature)].size() > kMostMarks) return;
        if (std::find(out.begin(), out.end(), feature) == out.end()) out.push_back(feature);
    };
    for (const int o : aside) {
        add(featureOf_[at(o)]);
        for (const NetworkReading& r : n_.readings())
            if (r.owner == o)
                for (const auto& object : r.term.objects)
                    if (object.kind == QuantityTerm::Object::Kind::Feature) add(object.index);
    }
    if (out.size() > kMostFeatures) out.resize(kMostFeatures);
    return out;
}

std::vector<std::vector<int>> OtherSets::sets(const std::vector<int>& aside) const {
    std::set<std::vector<int>> found;
    const auto add = [&](std::vector<int> set) {
        std::sort(set.begin(), set.end());
        found.insert(std::move(set));
    };
    const std::vector<int> features = doubtful(aside);
    const auto others = [&](int f, int g) {
        std::vector<int> out;
        for (const int o : aside)
            if (featureOf_[at(o)] < 0 || (featureOf_[at(o)] != f && featureOf_[at(o)] != g)) out.push_back(o);
        return out;
    };
    const auto addBoth = [&](int f, int g, const std::vector<int>& own) {
        add(own);
        std::vector<int> with = others(f, g);
        with.insert(with.end(), own.begin(), own.end());
        add(with);
    };
    for (const int o : aside) add({o});
    for (const int f : features) {
        const std::vector<Seen>& own = marks_[at(f)];
        for (std::size_t i = 0; i < own.size(); ++i) {
            addBoth(f, f, {own[i].owner});
            for (std::size_t k = i + 1; own.size() >= 4 && k < own.size(); ++k)
                addBoth(f, f, {own[i].owner, own[k].owner});
        }
        for (const int g : features) {
            if (g <= f || !sameKind(n_.state().features[at(f)].kind, n_.state().features[at(g)].kind))
                continue;
            for (const Seen& a : own)
                for (const Seen& b : marks_[at(g)])
                    if (a.station == b.station) addBoth(f, g, {a.owner, b.owner});
        }
    }
    std::vector<int> now = aside;
    std::sort(now.begin(), now.end());
    found.erase(now);
    std::vector<std::vector<int>> out(found.begin(), found.end());
    const std::size_t most = std::max(kLeastSets, kMostWork / std::max<std::size_t>(n_.points().size(), 1));
    if (out.size() <= most) return out;
    std::stable_sort(out.begin(), out.end(),
                     [](const auto& a, const auto& b) { return a.size() < b.size(); });
    out.resize(most);
    return out;
}

/// Features whose marks are others now are put where these see them.
void OtherSets::intersect(const std::vector<int>& features) {
    Known known;
    known.station = n_.inUse().stations;
    known.featurePlan.assign(n_.state().features.size(), true);
    known.level.assign(n_.state().levels.size(), true);
    for (const int f : features)
        if (n_.state().features[at(f)].level >= 0) fitOnLevel(n_, at(f), known);
}

LeftOut OtherSets::tryOut(std::vector<int> aside, const State& from, int iterations) {
    take(aside);
    n_.state() = from;
    n_.forgetFeet();
    estimate::SolverOptions solver;
    solver.mostIterations = iterations;
    solver.stepTolerance = 1e-2;
    solver.floor = 1e-2;
    (void)estimate::solve(n_, solver, progress_);  // one that does not settle still has its sum
    std::vector<estimate::Rows>& rows = n_.workspace().trial;
    const double all = n_.linearise(rows, false) ? cost(aside, estimate::sumOfSquares(rows)) : INFINITY;
    return {std::move(aside), all, n_.state()};
}

std::optional<LeftOut> OtherSets::cheaper(const std::vector<int>& aside, double sum) {
    const State before = n_.state();
    const std::vector<int> features = doubtful(aside);
    std::vector<LeftOut> all;
    for (std::vector<int> set : sets(aside)) {
        if (progress_ && progress_->cancelled()) break;
        take(set);
        n_.state() = before;
        intersect(features);
        const State near = n_.state();
        all.push_back(tryOut(std::move(set), near, kLook));
    }
    const auto byCost = [](const LeftOut& a, const LeftOut& b) { return a.cost < b.cost; };
    std::sort(all.begin(), all.end(), byCost);
    if (all.size() > kFollowed) all.resize(kFollowed);
    for (LeftOut& one : all) one = tryOut(one.owners, State(one.state), kFollow);
    take(aside);
    n_.state() = before;
    n_.forgetFeet();
    const auto best = std::min_element(all.begin(), all.end(), byCost);
    if (best == all.end() || !(best->cost < cost(aside, sum) - kCheaper)) return std::nullopt;
    return std::move(*best);
}

}  // namespace trammel::adjust
