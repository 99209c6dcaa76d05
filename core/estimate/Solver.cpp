// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/estimate/Solver.h"

#include <Eigen/QR>
#include <algorithm>
#include <cmath>
#include <memory>
#include <optional>

#include "core/estimate/Normal.h"
#include "core/estimate/Orthogonal.h"

namespace trammel::estimate {
namespace {

/// One linearisation that can be solved for several dampings.
class LinearStep {
  public:
    virtual ~LinearStep() = default;
    virtual void assemble(const std::vector<Rows>& rows) = 0;
    virtual bool solve(double lambda, const VecX& D, VecX& delta) const = 0;
    virtual VecX gradient() const = 0;
    virtual VecX diagonal() const = 0;
};

class NormalStep : public LinearStep {
  public:
    NormalStep(const Problem& problem, const std::vector<Rows>& rows) : normal_(Normal::of(problem, rows)) {}
    void assemble(const std::vector<Rows>& rows) override { normal_.assemble(rows); }
    bool solve(double lambda, const VecX& D, VecX& delta) const override {
        return normal_.solve(lambda, D, delta);
    }
    VecX gradient() const override { return normal_.gradient(); }
    VecX diagonal() const override { return normal_.diagonal(); }

  private:
    Normal& normal_;
};

class OrthogonalStep : public LinearStep {
  public:
    explicit OrthogonalStep(const Layout& layout) : columns_(layout.columns) {}
    void assemble(const std::vector<Rows>& rows) override {
        system_ = dense(rows, columns_);
        scale_ = system_.J.colwise().norm().cwiseMax(1e-300).transpose();
    }
    bool solve(double lambda, const VecX& D, VecX& delta) const override {
        const Eigen::Index rows = system_.J.rows();
        MatX A = MatX::Zero(rows + (lambda > 0 ? columns_ : 0), columns_);
        VecX b = VecX::Zero(A.rows());
        A.topRows(rows) = system_.J * scale_.cwiseInverse().asDiagonal();
        b.head(rows) = system_.e;
        if (lambda > 0) A.bottomRows(columns_).diagonal() = (lambda * D).cwiseSqrt().cwiseQuotient(scale_);
        delta = scale_.cwiseInverse().asDiagonal() * A.colPivHouseholderQr().solve(b);
        return delta.allFinite();
    }
    VecX gradient() const override { return system_.J.transpose() * system_.e; }
    VecX diagonal() const override { return scale_.cwiseAbs2(); }

  private:
    int columns_;
    DenseSystem system_;
    VecX scale_;
};

Error noConvergence(const std::string& why) {
    return {ErrorCode::NoConvergence, "the adjustment did not settle (" + why + ")", "",
            "look for marks tied to the wrong feature or photographs given the wrong view"};
}

/// Marquardt's damping with Nielsen's update.
struct Damping {
    double lambda, grow = 2.0;
    void accept(double gain) {
        lambda *= std::max(1.0 / 3.0, 1.0 - std::pow(2.0 * gain - 1.0, 3));
        if (gain > 0.9 && lambda < 1e-2) lambda *= 0.1;  // the quadratic model holds: hurry to Gauss-Newton
        if (lambda < 1e-14) lambda = 0.0;
        grow = 2.0;
    }
    void reject() {
        lambda = std::max(lambda, 1e-12) * grow;
        grow *= 2.0;
    }
};

enum class Outcome { Accepted, Rejected, Settled };

struct Iteration {
    Problem& problem;
    double sum;
    /// Largest diagonal of N so far, fading by half a step: a column that suddenly goes numb keeps its
    /// damping (after Moré 1978), and a valley that turns is still followed.
    VecX scaling;
    double hiddenStep = INFINITY;  ///< the last step whose fall rounding hides
    std::vector<Rows>& trial;
    double fall = INFINITY;  ///< of the sum of squares in the last accepted step

    /// Whether even the full Gauss-Newton step promises nothing that counts.
    bool atTheFloor(const LinearStep& linear, double floor) const {
        const VecX none = VecX::Zero(scaling.size());
        VecX delta;
        return linear.solve(0.0, none, delta) && delta.dot(linear.gradient()) < floor;
    }

    Outcome tryStep(const LinearStep& linear, Damping& damping, double tolerance) {
        VecX delta;
        if (!linear.solve(damping.lambda, scaling, delta)) return reject(damping);
        const VecX diagonal = linear.diagonal();
        const double stepSize = (delta.array().abs() * diagonal.array().sqrt()).maxCoeff();
        const double predicted =
            delta.dot(linear.gradient()) + damping.lambda * delta.cwiseAbs2().dot(scaling);
        problem.save();
        problem.step(delta);
        const bool possible = problem.linearise(trial, false);
        const double next = possible ? sumOfSquares(trial) : INFINITY;
        const double gain = predicted > 0 ? (sum - next) / predicted : -1.0;
        // At the minimum rounding decides the sign of the gain: a tiny step is taken as the end, and so is
        // one that no longer gets shorter though it promises less than rounding can show.
        const double rounding = 1e-13 * (1.0 + sum);
        const bool hidden = predicted <= rounding;
        const bool stalled = hidden && stepSize > 0.9 * hiddenStep;
        const bool free = damping.lambda < 1e-3;  // a step that damping made short proves nothing
        if (hidden) hiddenStep = stepSize;
        if ((stepSize < tolerance * std::sqrt(1.0 + sum) || stalled) && free && next <= sum + rounding) {
            sum = next;
            return Outcome::Settled;
        }
        if (std::isfinite(next) && next <= sum + (hidden || stepSize < 1e-6 ? rounding : 0.0)) {
            fall = sum - next;
            sum = next;
            damping.accept(hidden ? 1.0 : gain);
            return Outcome::Accepted;
        }
        problem.restore();
        if (stepSize < 1e-7 && next <= sum + 1e3 * rounding) return Outcome::Settled;
        return reject(damping);
    }

  private:
    static Outcome reject(Damping& damping) {
        damping.reject();
        return Outcome::Rejected;
    }
};

}  // namespace

Result<SolverReport> solve(Problem& problem, const SolverOptions& options, const Progress* progress) {
    std::vector<Rows>& rows = problem.workspace().rows;
    if (!problem.linearise(rows, true)) return noConvergence("the start puts a point behind a camera");
    std::unique_ptr<LinearStep> linear;
    if (options.engine == Engine::Normal)
        linear = std::make_unique<NormalStep>(problem, rows);
    else
        linear = std::make_unique<OrthogonalStep>(problem.layout());

    SolverReport report;
    Iteration iteration{problem, sumOfSquares(rows), VecX::Zero(problem.layout().columns), INFINITY,
                        problem.workspace().trial};
    if (!std::isfinite(iteration.sum)) return noConvergence("a value is not finite");
    Damping damping{options.firstLambda};
    int crawling = 0;
    constexpr int kMostCrawling = 5;
    for (report.iterations = 1; report.iterations <= options.mostIterations; ++report.iterations) {
        if (progress && progress->cancelled()) return Error{ErrorCode::Cancelled, "stopped", "", ""};
        if (progress) progress->report(static_cast<double>(report.iterations) / options.mostIterations);
        linear->assemble(rows);
        iteration.scaling = (0.5 * iteration.scaling).cwiseMax(linear->diagonal());
        Outcome outcome = Outcome::Rejected;
        for (int tries = 0; tries < 40 && outcome == Outcome::Rejected; ++tries)
            outcome = iteration.tryStep(*linear, damping, options.stepTolerance);
        if (outcome == Outcome::Rejected) return noConvergence("no step lowers the residuals");
        crawling = iteration.fall < options.floor ? crawling + 1 : 0;
        report.settled = outcome == Outcome::Settled ||
                         (crawling >= kMostCrawling && iteration.atTheFloor(*linear, 100 * options.floor));
        if (report.settled) break;
        problem.linearise(rows, true);
    }
    report.sumOfSquares = iteration.sum;
    if (!report.settled) return noConvergence("too many iterations");
    return report;
}

}  // namespace trammel::estimate
