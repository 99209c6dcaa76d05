// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/AdviceGoal.h"

#include <algorithm>
#include <cmath>

#include "core/adjust/Covariance.h"

namespace trammel::adjust {
namespace {

/// Share of the root mean square in the score: it decides between equals and little more.
constexpr double kOfAll = 0.01;
/// Lever of an angle whose edges have no known length, mm.
constexpr double kLever_mm = 100.0;

/// Length of the shorter of an angle's edges, mm.
double lever(const Solution& solution, const survey::Dimension& d) {
    double shortest = INFINITY;
    for (const Id& id : d.objects) {
        const auto f = solution.features.find(id);
        if (f == solution.features.end() || f->second.kind != survey::FeatureKind::Edge) continue;
        const double length = (f->second.spanTo - f->second.spanFrom).norm();
        if (length > 0) shortest = std::min(shortest, length);
    }
    return std::isfinite(shortest) ? shortest : kLever_mm;
}

}  // namespace

Result<Goal> Goal::of(const Solution& solution) {
    const Covariance& covariance = *solution.covariance;
    std::vector<const DimensionResult*> all;
    for (const DimensionResult& d : solution.dimensions)
        if (d.plusMinus > 0) all.push_back(&d);  // others are fixed by the datum
    const auto keepIf = [&all](auto&& holds) {
        if (std::any_of(all.begin(), all.end(), holds)) std::erase_if(all, std::not_fn(holds));
    };
    keepIf([](const DimensionResult* d) { return d->dimension.important; });
    Goal goal;
    const auto hasTarget = [](const DimensionResult* d) { return d->dimension.target > 0; };
    goal.byTarget_ = std::any_of(all.begin(), all.end(), hasTarget);
    keepIf(hasTarget);
    for (const DimensionResult* d : all) {
        const auto term =
            resolve(covariance.survey(), d->dimension.quantity, d->dimension.objects, d->dimension.id);
        if (!term) return term.error();
        Wanted w;
        w.dimension = d->dimension;
        w.gradient = evaluate(*term, covariance.state(), covariance.columns()).gradient;
        w.widen = 2.0 * covariance.inflation();
        if (goal.byTarget_)
            w.weight = 1.0 / d->dimension.target;
        else if (d->dimension.quantity == survey::Quantity::Angle)
            w.weight = lever(solution, d->dimension);
        goal.wanted_.push_back(std::move(w));
    }
    if (goal.wanted_.empty())
        return Error{ErrorCode::Refused, "names no dimension that a reading could sharpen", "survey",
                     "add the dimensions you need"};
    return goal;
}

double Goal::figureOf(std::size_t i, const VecX& variances) const {
    return wanted_[i].widen * wanted_[i].weight *
           std::sqrt(std::max(0.0, variances[static_cast<Eigen::Index>(i)]));
}

double Goal::score(const VecX& variances) const {
    double largest = 0.0, squares = 0.0;
    for (std::size_t i = 0; i < wanted_.size(); ++i) {
        const double factor = wanted_[i].widen * wanted_[i].weight;
        const double square = factor * factor * std::max(0.0, variances[static_cast<Eigen::Index>(i)]);
        largest = std::max(largest, square);
        squares += square;
    }
    return std::sqrt(largest) + kOfAll * std::sqrt(squares / static_cast<double>(wanted_.size()));
}

double Goal::norm(const VecX& variances, double p) const {
    double largest = 0.0, sum = 0.0;
    for (std::size_t i = 0; i < wanted_.size(); ++i) largest = std::max(largest, figureOf(i, variances));
    if (!(largest > 0)) return 0.0;
    for (std::size_t i = 0; i < wanted_.size(); ++i) sum += std::pow(figureOf(i, variances) / largest, p);
    return largest * std::pow(sum, 1 / p);
}

Judged Goal::judged(std::size_t i, const VecX& variances) const {
    const double figure = figureOf(i, variances);
    return {wanted_[i].dimension, figure / wanted_[i].weight, figure};
}

std::size_t Goal::worst(const VecX& variances) const {
    std::size_t worst = 0;
    for (std::size_t i = 1; i < wanted_.size(); ++i)
        if (figureOf(i, variances) > figureOf(worst, variances)) worst = i;
    return worst;
}

}  // namespace trammel::adjust
