// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <catch2/catch.hpp>
#include <cmath>
#include <functional>
#include <vector>

#include "core/estimate/Covariance.h"
#include "core/estimate/Orthogonal.h"
#include "core/estimate/Solver.h"

namespace trammel::test {

/// Observation equations written down one by one, as a Problem of the adjustment engine: `fill` sets e and J
/// of every row at x. The first `nuisance` unknowns are eliminated, each a block of its own.
class Equations : public estimate::Problem {
  public:
    using Fill = std::function<void(const VecX& x, std::vector<estimate::Rows>& rows)>;

    Equations(VecX start, int nuisance, std::size_t rows, Fill fill)
        : x_(std::move(start)), saved_(x_), count_(rows), fill_(std::move(fill)) {
        layout_.columns = static_cast<int>(x_.size());
        layout_.eliminatedColumns = nuisance;
        for (int i = 0; i < nuisance; ++i) layout_.blockStart.push_back(i);
    }
    const estimate::Layout& layout() const override { return layout_; }
    bool linearise(std::vector<estimate::Rows>& rows, bool) const override {
        rows.assign(count_, {});
        fill_(x_, rows);
        return true;
    }
    void step(const VecX& delta) override { x_ += delta; }
    void save() override { saved_ = x_; }
    void restore() override { x_ = saved_; }
    double x(int column) const { return x_[column]; }

  private:
    estimate::Layout layout_;
    VecX x_, saved_;
    std::size_t count_;
    Fill fill_;
};

/// What an engine makes of a problem.
struct Solved {
    double sum = 0.0;  ///< vᵀPv
    int freedom = 0;
    double s0 = 0.0;        ///< √(vᵀPv / freedom); 0 without redundancy
    std::vector<double> e;  ///< (observed − adjusted)/σ of each component
    std::vector<double> redundancy;
    std::function<MatX(const std::vector<estimate::Gradient>&)> covariance;  ///< a priori, of functions

    double sigma(int column) const { return std::sqrt(covariance({{{column, 1.0}}})(0, 0)); }
    double sigma(const estimate::Gradient& g) const { return std::sqrt(covariance({g})(0, 0)); }
    double correlation(const estimate::Gradient& f, const estimate::Gradient& g) const {
        const MatX C = covariance({f, g});
        return C(0, 1) / std::sqrt(C(0, 0) * C(1, 1));
    }
    /// Residual over its own standard deviation as the residuals show it (Pope's tau).
    double tau(std::size_t i) const { return -e[i] / (s0 * std::sqrt(redundancy[i])); }
};

inline Solved solved(estimate::Problem& problem, estimate::Engine engine) {
    using namespace estimate;
    SolverOptions options;
    options.engine = engine;
    options.mostIterations = 300;
    // Twice: where the first rests because rounding hides the fall of the sum, a fresh one goes on.
    REQUIRE(solve(problem, options));
    const auto report = solve(problem, options);
    REQUIRE(report);
    std::vector<Rows> rows;
    problem.linearise(rows, true);
    const int columns = problem.layout().columns;
    Solved out;
    if (engine == Engine::Normal) {
        Normal normal(problem.layout(), rows);
        normal.assemble(rows);
        RankDefect defect;
        const CovarianceFactor factor(normal, defect);
        REQUIRE(factor.valid());
        out.covariance = [factor](const std::vector<Gradient>& f) { return factor.covariance(f); };
    } else {
        const MatX all = orthogonalCovariance(rows, columns);
        REQUIRE(all.rows() == columns);
        out.covariance = [all](const std::vector<Gradient>& f) {
            MatX F = MatX::Zero(static_cast<Eigen::Index>(f.size()), all.rows());
            for (std::size_t i = 0; i < f.size(); ++i)
                for (const auto& [column, value] : f[i]) F(static_cast<Eigen::Index>(i), column) += value;
            return MatX(F * all * F.transpose());
        };
    }
    out.sum = report->sumOfSquares;
    for (const Rows& row : rows)
        for (std::size_t k = 0; k < static_cast<std::size_t>(row.components); ++k) {
            Gradient g;
            for (std::size_t i = 0; i < static_cast<std::size_t>(row.count); ++i)
                g.emplace_back(row.column[i], row.J[k][i]);
            out.e.push_back(row.e[k]);
            out.redundancy.push_back(1.0 - out.covariance({g})(0, 0));
        }
    out.freedom = static_cast<int>(out.e.size()) - columns;
    if (out.freedom > 0) out.s0 = std::sqrt(out.sum / out.freedom);
    return out;
}

inline constexpr estimate::Engine kEngines[] = {estimate::Engine::Normal, estimate::Engine::Orthogonal};

/// Unit of the last decimal of a printed figure.
inline double lastPlace(const std::string& figure) {
    const auto point = figure.find('.');
    return point == std::string::npos ? 1.0 : std::pow(10.0, -static_cast<double>(figure.size() - point - 1));
}

/// Equal to the figure's last decimal, and beyond that to the share `relative` of it.
inline void compare(double found, const std::string& figure, double relative = 0.0) {
    const double printed = std::stod(figure);
    CHECK(found ==
          Approx(printed).margin(0.501 * lastPlace(figure) + relative * std::abs(printed)).epsilon(0));
}

}  // namespace trammel::test
