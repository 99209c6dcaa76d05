// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/LevelDoubt.h"

#include <fmt/core.h>

#include <Eigen/Cholesky>
#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>
#include <map>

#include "core/math/Statistics.h"

namespace trammel::adjust {
namespace {

using estimate::Gradient;
using estimate::Rows;
using survey::LevelForm;

constexpr std::size_t kForms = 5;  ///< slope x y, bow xx xy yy
constexpr std::size_t kSlopes = 2;

/// What the form of one level does to the observations: gradient and normal matrix of its unknowns after all
/// others have given way.
struct Freed {
    VecX score = VecX::Zero(kForms);
    MatX normal = MatX::Zero(kForms, kForms);
    std::array<Gradient, kForms> shared{};  ///< Jᵀ A, by the unknowns that were there before
    bool touched = false;
};

/// The network with every form of every level among its columns, from `first` on.
Columns withForms(const Network& n, int first) {
    Columns c = n.columns();
    for (auto& forms : c.forms)
        for (int& column : forms) column = first++;
    return c;
}

void gather(const Rows& row, int first, std::vector<Freed>& levels) {
    for (int k = 0; k < row.components; ++k) {
        const auto kk = at(k);
        for (std::size_t i = 0; i < at(row.count); ++i) {
            if (row.column[i] < first) continue;
            const auto level = at((row.column[i] - first) / static_cast<int>(kForms));
            const auto form = (row.column[i] - first) % static_cast<int>(kForms);
            Freed& f = levels[level];
            const double a = row.J[kk][i];
            f.touched = true;
            f.score[form] += a * row.e[kk];
            for (std::size_t j = 0; j < at(row.count); ++j) {
                if (row.column[j] < first)
                    f.shared[at(form)].emplace_back(row.column[j], a * row.J[kk][j]);
                else if (at((row.column[j] - first) / static_cast<int>(kForms)) == level)
                    f.normal(form, (row.column[j] - first) % static_cast<int>(kForms)) += a * row.J[kk][j];
            }
        }
    }
}

void condense(Gradient& g) {
    std::map<int, double> sums;
    for (const auto& [column, d] : g) sums[column] += d;
    g.assign(sums.begin(), sums.end());
}

void reduce(Freed& f, const estimate::CovarianceFactor& covariance) {
    for (Gradient& g : f.shared) condense(g);
    for (std::size_t k = 0; k < kForms; ++k) {
        const VecX reach = covariance.times(f.shared[k]);
        for (std::size_t m = 0; m < kForms; ++m)
            for (const auto& [column, d] : f.shared[m])
                f.normal(static_cast<Eigen::Index>(m), static_cast<Eigen::Index>(k)) -= d * reach[column];
    }
}

/// Estimate of the unknowns `which` of a freed level and their covariance, all others of the form held;
/// false where the marks cannot tell.
bool estimateForms(const Freed& f, const std::vector<int>& which, VecX& value, MatX& covariance) {
    const auto size = static_cast<Eigen::Index>(which.size());
    MatX N(size, size);
    VecX g(size);
    for (Eigen::Index i = 0; i < size; ++i) {
        g[i] = f.score[which[static_cast<std::size_t>(i)]];
        for (Eigen::Index k = 0; k < size; ++k)
            N(i, k) = f.normal(which[static_cast<std::size_t>(i)], which[static_cast<std::size_t>(k)]);
    }
    const VecX scale = N.diagonal().cwiseMax(1e-300).cwiseSqrt().cwiseInverse();
    const MatX scaled = scale.asDiagonal() * N * scale.asDiagonal();
    const Eigen::SelfAdjointEigenSolver<MatX> eigen(scaled);
    if (!(eigen.eigenvalues()[0] > 1e-4) || !(N.diagonal().minCoeff() > 1e-9)) return false;
    covariance = scale.asDiagonal() *
                 (eigen.eigenvectors() * eigen.eigenvalues().cwiseInverse().asDiagonal() *
                  eigen.eigenvectors().transpose()) *
                 scale.asDiagonal();
    value = covariance * g;
    return true;
}

/// Effect of each unknown of the form at a place of the level, mm.
VecX effects(const LevelFormState& form, const Vec2& xy) {
    const Vec2 d = xy - form.middle;
    VecX by(kForms);
    by << d.x(), d.y(), d.x() * d.x(), d.x() * d.y(), d.y() * d.y();
    return by;
}

std::vector<Vec2> placesOn(const Network& n, int level) {
    const InUse used = n.inUse();
    std::vector<Vec2> places;
    for (std::size_t i = 0; i < n.state().features.size(); ++i) {
        const FeatureState& f = n.state().features[i];
        if (f.level != level || !used.features[i]) continue;
        if (f.kind == survey::FeatureKind::Edge) {
            places.push_back(f.a);
            places.push_back(f.b);
        } else {
            places.push_back(n.state().point(f).head<2>());
        }
    }
    return places;
}

/// Height difference between the highest and the lowest marked place, and its σ.
LevelShape measure(const Network& n, int level, const std::vector<int>& which, const VecX& value,
                   const MatX& covariance) {
    const LevelFormState& form = n.state().forms[at(level)];
    const auto part = [&](const Vec2& xy) {
        const VecX all = effects(form, xy);
        VecX by(static_cast<Eigen::Index>(which.size()));
        for (std::size_t i = 0; i < which.size(); ++i) by[static_cast<Eigen::Index>(i)] = all[which[i]];
        return by;
    };
    VecX low, high;
    double least = INFINITY, most = -INFINITY;
    Vec2 from = Vec2::Zero(), to = Vec2::Zero();
    for (const Vec2& xy : placesOn(n, level)) {
        const VecX by = part(xy);
        const double z = by.dot(value);
        if (z < least) least = z, low = by, from = xy;
        if (z > most) most = z, high = by, to = xy;
    }
    LevelShape shape;
    shape.level = n.survey().levels[at(level)].id;
    if (low.size() == 0) return shape;
    const VecX d = high - low;
    shape.amount_mm = most - least;
    shape.plusMinus_mm = 2.0 * std::sqrt(std::max(0.0, d.dot(covariance * d)));
    shape.over_mm = (to - from).norm();
    return shape;
}

bool datum(const Network& n, int level) { return level == n.datumLevel(); }

struct Search {
    const Network& n;
    const estimate::CovarianceFactor& covariance;
    double inflation, threshold;
    std::vector<LevelShape> out{};

    /// The level's form as the survey lets it be: by how much, tilt and bow each for itself.
    void given(int level) {
        const LevelFormState& form = n.state().forms[at(level)];
        if (n.columns().forms[at(level)][0] >= 0) givenPart(level, LevelForm::Tilted, {0, 1}, form.slope);
        if (n.columns().forms[at(level)][kSlopes] >= 0)
            givenPart(level, LevelForm::Bowed, {2, 3, 4}, form.bow);
    }

    void givenPart(int level, LevelForm form, const std::vector<int>& which, const VecX& value) {
        std::vector<Gradient> unit;
        for (const int k : which) unit.push_back({{n.columns().forms[at(level)][at(k)], 1.0}});
        const MatX cov = inflation * inflation * covariance.covariance(unit);
        LevelShape s = measure(n, level, which, value, cov);
        s.form = form;
        s.allowed = true;
        const double chi = value.dot(cov.ldlt().solve(value));
        s.probability = std::exp(stats::logChiSquareUpperTail(chi, static_cast<int>(which.size())));
        const bool bowed = form == LevelForm::Bowed;
        // Highest less lowest is never negative: without a test, flat would always look a little bent.
        constexpr double kShows = 0.01;
        s.sentence =
            s.probability < kShows
                ? fmt::format("{} {} by {:.2f} mm over {:.0f} mm (± {:.2f} mm).",
                              describe(n.survey(), s.level), bowed ? "bows" : "tilts", s.amount_mm, s.over_mm,
                              s.plusMinus_mm)
                : fmt::format(
                      "{} may {}, but nothing of it shows (± {:.2f} mm over {:.0f} mm): flat "
                      "agrees as well.",
                      describe(n.survey(), s.level), bowed ? "bow" : "tilt", s.plusMinus_mm, s.over_mm);
        out.push_back(std::move(s));
    }

    void doubt(int level, const std::vector<int>& which, const std::vector<int>& before, const Freed& f,
               LevelForm form) {
        VecX value, less;
        MatX cov, lessCov;
        if (!estimateForms(f, which, value, cov)) return;
        double fall = value.dot(cov.ldlt().solve(value));
        if (!before.empty()) {  // beyond what the smaller form already explains
            if (!estimateForms(f, before, less, lessCov)) return;
            fall -= less.dot(lessCov.ldlt().solve(less));
        }
        const int freedom = static_cast<int>(which.size() - before.size());
        fall /= inflation * inflation;
        if (stats::logChiSquareUpperTail(fall, freedom) > std::log(threshold)) return;
        std::vector<int> shown(which.begin() + static_cast<std::ptrdiff_t>(before.size()), which.end());
        VecX part = value.tail(freedom);
        LevelShape s = measure(n, level, shown, part, cov.bottomRightCorner(freedom, freedom));
        s.form = form;
        s.probability = std::exp(stats::logChiSquareUpperTail(fall, freedom));
        s.plusMinus_mm *= inflation;
        const bool bowed = form == LevelForm::Bowed;
        s.sentence = fmt::format(
            "{} is not flat: the marks say that it {} by {:.2f} mm over {:.0f} mm (± {:.2f} mm); let it {}, "
            "or look whether one of its features lies on another level.",
            describe(n.survey(), s.level), bowed ? "bows" : "tilts", s.amount_mm, s.over_mm, s.plusMinus_mm,
            bowed ? "bow" : "tilt");
        out.push_back(std::move(s));
    }
};

}  // namespace

std::vector<LevelShape> levelShapes(const Network& network, const estimate::CovarianceFactor& covariance,
                                    double inflation, double probability) {
    const int first = network.layout().columns;
    const Network free = network.withColumns(withForms(network, first));
    std::vector<Rows> rows;
    const auto levels = network.survey().levels.size();
    Search search{network, covariance, inflation,
                  probability / static_cast<double>(std::max<std::size_t>(levels, 1))};
    if (!free.linearise(rows, true)) return {};
    std::vector<Freed> freed(levels);
    for (const Rows& row : rows)
        if (row.active) gather(row, first, freed);
    for (std::size_t l = 0; l < levels; ++l) {
        const int level = static_cast<int>(l);
        const LevelForm form = network.survey().levels[l].form;
        if (!freed[l].touched || placesOn(network, level).size() < 3) continue;
        if (form != LevelForm::Flat) {
            search.given(level);
            continue;
        }
        reduce(freed[l], covariance);
        const std::size_t before = search.out.size();
        if (!datum(network, level)) search.doubt(level, {0, 1}, {}, freed[l], LevelForm::Tilted);
        if (search.out.size() > before) continue;  // let it tilt first; whether it bows then is for later
        if (datum(network, level))
            search.doubt(level, {2, 3, 4}, {}, freed[l], LevelForm::Bowed);
        else
            search.doubt(level, {0, 1, 2, 3, 4}, {0, 1}, freed[l], LevelForm::Bowed);
    }
    return std::move(search.out);
}

}  // namespace trammel::adjust
