// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/AdviceReadings.h"

#include <algorithm>
#include <numeric>

namespace trammel::adjust {
namespace {

/// Room for rounding in the bound, relative.
constexpr double kRoom = 1e-9;

using Table = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>;

/// Σ' times each dimension's gradient, a row for each unknown.
Table covarianceTable(const Goal& goal, const estimate::Planned& planned, VecX& variances) {
    Table table;
    variances.resize(static_cast<Eigen::Index>(goal.wanted().size()));
    for (Eigen::Index d = 0; d < variances.size(); ++d) {
        const estimate::Gradient& g = goal.wanted()[static_cast<std::size_t>(d)].gradient;
        const VecX column = planned.times(g);
        if (d == 0) table.resize(column.size(), variances.size());
        table.col(d) = column;
        variances[d] = std::max(0.0, estimate::dot(g, column));
    }
    return table;
}

void covarianceWith(const PossibleReadings& readings, std::size_t i, const Table& table, VecX& out) {
    out.setZero(table.cols());
    for (std::size_t k = 0; k < readings.count(i); ++k)
        out += readings.values(i)[k] * table.row(readings.columns(i)[k]).transpose();
}

/// What the reading would leave at the least: its own variance is at least what its covariances ask for.
VecX leastAfter(const PossibleReadings& readings, std::size_t i, const VecX& with, const VecX& now) {
    const VecX squares = with.cwiseAbs2();
    const double least = (squares.array() / now.array().max(1e-300)).maxCoeff();
    return now - squares / (readings.sigma(i) * readings.sigma(i) + least);
}

RankedReading rank(const PossibleReadings& readings, const Goal& goal, std::size_t i, const VecX& with,
                   const VecX& now, double variance) {
    RankedReading r;
    r.reading = i;
    r.variances = now - with.cwiseAbs2() / (readings.sigma(i) * readings.sigma(i) + variance);
    r.score = goal.score(r.variances);
    return r;
}

}  // namespace

VecX variancesOf(const Goal& goal, const estimate::Planned& planned) {
    VecX v(static_cast<Eigen::Index>(goal.wanted().size()));
    for (Eigen::Index d = 0; d < v.size(); ++d)
        v[d] = planned.variance(goal.wanted()[static_cast<std::size_t>(d)].gradient);
    return v;
}

std::vector<RankedReading> bestReadings(const PossibleReadings& readings, const Goal& goal,
                                        const estimate::Planned& planned, std::size_t count,
                                        const std::vector<bool>& done) {
    VecX now;
    const Table table = covarianceTable(goal, planned, now);
    std::vector<std::pair<double, std::size_t>> bounds;
    bounds.reserve(readings.size());
    VecX with;
    for (std::size_t i = 0; i < readings.size(); ++i) {
        if (i < done.size() && done[i]) continue;
        covarianceWith(readings, i, table, with);
        bounds.emplace_back(goal.score(leastAfter(readings, i, with, now)), i);
    }
    std::sort(bounds.begin(), bounds.end());
    std::vector<RankedReading> best;
    for (const auto& [bound, i] : bounds) {
        if (best.size() == count && bound * (1 - kRoom) > best.back().score) break;
        covarianceWith(readings, i, table, with);
        RankedReading r = rank(readings, goal, i, with, now, planned.variance(readings.gradient(i)));
        const auto place = std::upper_bound(
            best.begin(), best.end(), r,
            [](const RankedReading& a, const RankedReading& b) { return a.score < b.score; });
        best.insert(place, std::move(r));
        if (best.size() > count) best.pop_back();
    }
    return best;
}

RankedReading rankReading(const PossibleReadings& readings, const Goal& goal,
                          const estimate::Planned& planned, std::size_t reading) {
    VecX now, with;
    covarianceWith(readings, reading, covarianceTable(goal, planned, now), with);
    return rank(readings, goal, reading, with, now, planned.variance(readings.gradient(reading)));
}

std::vector<std::size_t> promising(const PossibleReadings& readings, const Goal& goal,
                                   const estimate::Planned& planned, std::size_t each,
                                   std::size_t dimensions) {
    VecX now;
    const Table table = covarianceTable(goal, planned, now);
    std::vector<std::size_t> order(goal.wanted().size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::sort(order.begin(), order.end(),
              [&](std::size_t a, std::size_t b) { return goal.figureOf(a, now) > goal.figureOf(b, now); });
    order.resize(std::min(order.size(), dimensions));
    // For each dimension a heap of what is left by the best readings so far, the worst of them on top.
    std::vector<std::vector<std::pair<double, std::size_t>>> heaps(order.size());
    VecX with;
    for (std::size_t i = 0; i < readings.size(); ++i) {
        covarianceWith(readings, i, table, with);
        const VecX after = leastAfter(readings, i, with, now);
        for (std::size_t k = 0; k < order.size(); ++k) {
            const std::pair<double, std::size_t> mine{after[static_cast<Eigen::Index>(order[k])], i};
            auto& heap = heaps[k];
            if (heap.size() == each && !(mine < heap.front())) continue;
            heap.push_back(mine);
            std::push_heap(heap.begin(), heap.end());
            if (heap.size() <= each) continue;
            std::pop_heap(heap.begin(), heap.end());
            heap.pop_back();
        }
    }
    std::vector<std::size_t> all;
    for (const auto& heap : heaps)
        for (const auto& [left, i] : heap) all.push_back(i);
    return all;
}

}  // namespace trammel::adjust
