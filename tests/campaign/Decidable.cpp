// SPDX-License-Identifier: GPL-3.0-or-later
#include "Decidable.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "core/adjust/Assess.h"
#include "core/estimate/Covariance.h"
#include "core/estimate/Normal.h"
#include "core/estimate/Solver.h"
#include "core/math/Statistics.h"

namespace trammel::campaign {
namespace {

using adjust::at;
using adjust::Network;
using adjust::Owner;

const double kUndecided = 2.0 * std::log(20.0);

/// The minimum near the truth with some owners left out.
class Trial {
  public:
    Trial(Network network, adjust::State truth) : n_(std::move(network)), truth_(std::move(truth)) {
        for (const Owner& o : n_.owners()) active_.push_back(o.active);
    }
    Network& network() { return n_; }

    /// Sum of squares plus the components left out, so that two ways compare; infinite where none is found.
    double without(const std::vector<int>& out) {
        for (std::size_t o = 0; o < active_.size(); ++o) n_.owners()[o].active = active_[o];
        std::set<int> gone(out.begin(), out.end());
        for (const int o : out) n_.owners()[at(o)].active = false;
        n_.state() = truth_;
        n_.forgetFeet();
        estimate::SolverOptions options;
        options.floor = 1e-6;
        options.mostIterations = 100;
        const auto report = estimate::solve(n_, options);
        std::vector<estimate::Rows> rows;
        if (!n_.linearise(rows, true)) return INFINITY;
        const std::vector<int> owners = n_.rowOwners();
        double left = 0.0;
        for (std::size_t i = 0; i < rows.size(); ++i)
            left += gone.contains(owners[i]) ? rows[i].components : 0;
        return (report ? report->sumOfSquares : estimate::sumOfSquares(rows)) + left - loose(rows);
    }
    /// Owners that agree least, at the last minimum.
    std::vector<int> worst(std::size_t most) {
        std::vector<estimate::Rows> rows;
        std::vector<int> out;
        if (!n_.linearise(rows, true)) return out;
        std::vector<double> sum(n_.owners().size(), 0.0);
        const std::vector<int> owners = n_.rowOwners();
        for (std::size_t i = 0; i < rows.size(); ++i)
            if (rows[i].active) sum[at(owners[i])] += rows[i].squared();
        for (std::size_t o = 0; o < sum.size(); ++o)
            if (sum[o] > 0) out.push_back(static_cast<int>(o));
        std::sort(out.begin(), out.end(), [&](int a, int b) { return sum[at(a)] > sum[at(b)]; });
        if (out.size() > most) out.resize(most);
        return out;
    }

  private:
    /// Unknowns that nothing holds: none of the components left out stands against them.
    double loose(const std::vector<estimate::Rows>& rows) const {
        double count = 0.0;
        std::vector<bool> held(at(n_.layout().columns), false);
        for (const auto& row : rows)
            for (int k = 0; row.active && k < row.count; ++k)
                if (row.column[at(k)] >= 0) held[at(row.column[at(k)])] = true;
        for (const bool h : held) count += h ? 0.0 : 1.0;
        return count;
    }

    Network n_;
    adjust::State truth_;
    std::vector<bool> active_;
};

std::vector<int> ownersOf(const Network& n, const std::vector<survey::Id>& ids) {
    std::vector<int> out;
    for (std::size_t o = 0; o < n.owners().size(); ++o)
        if (std::find(ids.begin(), ids.end(), n.owners()[o].object) != ids.end())
            out.push_back(static_cast<int>(o));
    return out;
}

/// What may be blamed in place of the guilty: the marks of the same features, together in each other
/// photograph, and single observations that agree least.
std::vector<std::vector<int>> inTheirPlace(Trial& trial, const Spoilt& spoilt) {
    const survey::Survey& s = spoilt.survey;
    std::set<survey::Id> features, guilty(spoilt.guilty.begin(), spoilt.guilty.end());
    for (const survey::Id& id : spoilt.guilty)
        if (const survey::Mark* m = find(s.marks, id)) features.insert(m->feature);
    std::vector<std::vector<int>> out;
    for (const survey::Station& st : s.stations) {
        std::vector<survey::Id> marks;
        for (const survey::Mark& m : s.marks)
            if (m.station == st.id && features.contains(m.feature) && !guilty.contains(m.id))
                marks.push_back(m.id);
        if (!marks.empty()) out.push_back(ownersOf(trial.network(), marks));
    }
    constexpr std::size_t kLooked = 12;
    for (const int o : trial.worst(kLooked))
        if (!guilty.contains(trial.network().owners()[at(o)].object)) out.push_back({o});
    return out;
}

}  // namespace

void weighBySolving(const adjust::State& truth, Spoilt& spoilt) {
    auto network = Network::compile(spoilt.survey);
    if (!network) return;
    Trial trial(std::move(*network), truth);
    const std::vector<int> guilty = ownersOf(trial.network(), spoilt.guilty);
    const double apart = trial.without(guilty);
    const double together = trial.without({});
    double components = 0.0;
    std::vector<estimate::Rows> rows;
    if (!std::isfinite(apart) || !trial.network().linearise(rows, false)) return;
    const std::vector<int> owners = trial.network().rowOwners();
    for (std::size_t i = 0; i < rows.size(); ++i)
        if (std::find(guilty.begin(), guilty.end(), owners[i]) != guilty.end())
            components += rows[i].components;
    const double shown = together - apart + components;
    if (!(shown > stats::chiSquareQuantile(0.999, components))) {
        spoilt.power = 0.0;
        return;
    }
    for (const std::vector<int>& other : inTheirPlace(trial, spoilt))
        if (trial.without(other) - apart < kUndecided) spoilt.undecidable = true;
}

}  // namespace trammel::campaign
