// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/AdvicePlan.h"

#include <algorithm>
#include <set>

namespace trammel::adjust {
namespace {

constexpr std::size_t kByScore = 60;         ///< readings taken into the pool for the score
constexpr std::size_t kByDimension = 6;      ///< and for each dimension
constexpr std::size_t kMostDimensions = 40;  ///< the worst of them
constexpr int kSweeps = 6;
constexpr double kNorms[] = {2.0, 6.0, 0.0};  ///< 0: the score itself

/// Joint covariance of the goal's dimensions and, after them, the readings of a pool.
struct Pool {
    const Goal& goal;
    std::vector<std::size_t> readings;
    std::vector<double> sigmas;
    MatX start;

    Eigen::Index dimensions() const { return static_cast<Eigen::Index>(goal.wanted().size()); }

    void observe(MatX& C, std::size_t i) const {
        const VecX c = C.col(dimensions() + static_cast<Eigen::Index>(i));
        C -= c * (c / (sigmas[i] * sigmas[i] + c[dimensions() + static_cast<Eigen::Index>(i)])).transpose();
    }
    VecX after(const MatX& C, std::size_t i) const {
        const Eigen::Index at = dimensions() + static_cast<Eigen::Index>(i);
        return C.diagonal().head(dimensions()) -
               C.col(at).head(dimensions()).cwiseAbs2() / (sigmas[i] * sigmas[i] + C(at, at));
    }
    double judge(const VecX& variances, double norm) const {
        return norm > 0 ? goal.norm(variances, norm) : goal.score(variances);
    }
    /// The reading of the pool, none of `taken`, that leaves least.
    std::optional<std::size_t> best(const MatX& C, const std::vector<std::size_t>& taken, double norm) const {
        std::optional<std::size_t> best;
        double least = 0.0;
        for (std::size_t i = 0; i < readings.size(); ++i) {
            if (std::find(taken.begin(), taken.end(), i) != taken.end()) continue;
            const double score = judge(after(C, i), norm);
            if (!best || score < least) least = score, best = i;
        }
        return best;
    }
    MatX with(const std::vector<std::size_t>& taken, std::size_t except) const {
        MatX C = start;
        for (std::size_t k = 0; k < taken.size(); ++k)
            if (k != except) observe(C, taken[k]);
        return C;
    }
};

Pool makePool(const PossibleReadings& readings, const Goal& goal, const estimate::Planned& planned,
              std::optional<std::size_t> first) {
    std::set<std::size_t> chosen;
    if (first) chosen.insert(*first);
    for (const RankedReading& r : bestReadings(readings, goal, planned, kByScore)) chosen.insert(r.reading);
    for (const std::size_t i : promising(readings, goal, planned, kByDimension, kMostDimensions))
        chosen.insert(i);
    Pool pool{goal, {chosen.begin(), chosen.end()}, {}, {}};
    std::vector<estimate::Gradient> all;
    for (const Goal::Wanted& w : goal.wanted()) all.push_back(w.gradient);
    for (const std::size_t i : pool.readings) {
        all.push_back(readings.gradient(i));
        pool.sigmas.push_back(readings.sigma(i));
    }
    const auto n = static_cast<Eigen::Index>(all.size());
    pool.start.resize(n, n);
    for (Eigen::Index i = 0; i < n; ++i) {
        const VecX column = planned.times(all[static_cast<std::size_t>(i)]);
        for (Eigen::Index k = i; k < n; ++k)
            pool.start(i, k) = pool.start(k, i) = estimate::dot(all[static_cast<std::size_t>(k)], column);
    }
    return pool;
}

/// Exchanges one reading at a time, all but the first `held`, while that helps.
void exchange(const Pool& pool, std::vector<std::size_t>& taken, std::size_t held) {
    for (int sweep = 0; sweep < kSweeps; ++sweep) {
        bool changed = false;
        for (std::size_t k = held; k < taken.size(); ++k) {
            const MatX C = pool.with(taken, k);
            const auto better = pool.best(C, taken, 0.0);
            if (!better || !(pool.goal.score(pool.after(C, *better)) <
                             (1 - 1e-9) * pool.goal.score(pool.after(C, taken[k]))))
                continue;
            taken[k] = *better;
            changed = true;
        }
        if (!changed) break;
    }
}

}  // namespace

ReadingPlan planReadings(const PossibleReadings& readings, const Goal& goal, const estimate::Planned& planned,
                         std::size_t count, std::optional<std::size_t> first) {
    const Pool pool = makePool(readings, goal, planned, first);
    ReadingPlan plan;
    std::vector<std::size_t> best;
    for (const double norm : kNorms) {
        std::vector<std::size_t> taken;
        MatX C = pool.start;
        if (first)
            taken.push_back(static_cast<std::size_t>(
                std::lower_bound(pool.readings.begin(), pool.readings.end(), *first) -
                pool.readings.begin()));
        if (first) pool.observe(C, taken.front());
        while (taken.size() < count) {
            const auto next = pool.best(C, taken, norm);
            if (!next) break;
            pool.observe(C, *next);
            taken.push_back(*next);
        }
        exchange(pool, taken, first ? 1 : 0);
        const VecX variances = pool.with(taken, taken.size()).diagonal().head(pool.dimensions());
        const double score = goal.score(variances);
        if (best.empty() || score < plan.score) best = taken, plan.score = score, plan.variances = variances;
    }
    std::stable_sort(best.begin(), best.end(), [&](std::size_t a, std::size_t b) {
        return goal.score(pool.after(pool.start, a)) < goal.score(pool.after(pool.start, b));
    });
    for (const std::size_t i : best) plan.readings.push_back(pool.readings[i]);
    return plan;
}

}  // namespace trammel::adjust
