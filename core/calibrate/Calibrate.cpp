// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/calibrate/Calibrate.h"

#include <fmt/core.h>

#include <Eigen/LU>
#include <algorithm>
#include <cmath>

#include "core/calibrate/CornerTests.h"
#include "core/calibrate/StartBoard.h"
#include "core/calibrate/Verdict.h"
#include "core/estimate/Covariance.h"
#include "core/estimate/Normal.h"
#include "core/estimate/Solver.h"
#include "core/math/Statistics.h"

namespace trammel::calibrate {
namespace {

constexpr std::size_t kLeastCorners = 12;
constexpr std::size_t kLeastFrames = 3;
/// Corners' own offsets are unknowns where there are enough photographs to tell them from noise, and not so
/// many corners that the time would be felt.
constexpr std::size_t kFramesForOffsets = 5;
constexpr int kMostOffsets = 300;

/// A distortion term is held at zero where its σ at the farthest corner is more than this, px, unless it is
/// significant: it would only carry noise into the parts of the frame beyond.
constexpr double kDetermined = 0.5;

Error refuse(std::string what, std::string remedy) {
    return {ErrorCode::Refused, std::move(what), "calibration", std::move(remedy)};
}

class Work {
  public:
    Work(const Board& board, const std::vector<BoardFrame>& frames, const CalibrateOptions& options)
        : board_(board),
          frames_(frames),
          options_(options),
          why_(frames.size()),
          middle_(0.5 * (options.width - 1), 0.5 * (options.height - 1)),
          rho_(middle_.norm()) {}

    Result<Calibration> run();

  private:
    std::optional<Error> admit();
    BoardProblem build() const;
    bool solve(BoardProblem& problem) const;
    void openFor(BoardProblem& problem, bool k2, bool k3, bool tangential) const;
    bool decideTerms(BoardProblem& problem) const;
    void rescale(BoardProblem& problem) const;
    void rateOffsets(BoardProblem& problem) const;
    Calibration gather(const BoardProblem& problem, const estimate::CovarianceFactor& covariance) const;

    const Board& board_;
    const std::vector<BoardFrame>& frames_;
    const CalibrateOptions& options_;
    std::vector<std::string> why_;  ///< of photographs that do not count
    std::vector<std::size_t> used_;
    Vec2 middle_;
    double rho_;
};

std::optional<Error> Work::admit() {
    if (const auto no = unusable(board_)) return *no;
    if (options_.width < 32 || options_.height < 32)
        return Error{ErrorCode::BadValue, "the frame has no size", "calibration",
                     "name the photographs' size"};
    for (std::size_t f = 0; f < frames_.size(); ++f) {
        for (const BoardCorner& c : frames_[f].corners)
            if (!c.px.allFinite() || !c.covariance.allFinite() || !(c.covariance.determinant() > 0.0) ||
                !(c.covariance(0, 0) > 0.0))
                return Error{ErrorCode::BadValue, "a corner's place or σ is no number", frames_[f].name,
                             "locate it again"};
        if (frames_[f].corners.size() < kLeastCorners)
            why_[f] = fmt::format("{}: only {} corners of the board are found, {} are needed.",
                                  frames_[f].name, frames_[f].corners.size(), kLeastCorners);
        else
            used_.push_back(f);
    }
    if (used_.size() < kLeastFrames)
        return refuse(fmt::format("{} usable photograph{} of the board cannot tell a lens", used_.size(),
                                  used_.size() == 1 ? "" : "s"),
                      "take eight or more: square on, tilted both ways, turned by 90°, nearer and farther");
    return std::nullopt;
}

BoardProblem Work::build() const {
    std::vector<const BoardFrame*> list;
    for (const std::size_t f : used_) list.push_back(&frames_[f]);
    BoardProblem problem(board_, list, rho_);
    problem.ratioSigma = board_.ratioSigma;
    problem.bowSigma = options_.bowSigma_mm > 0.0 ? options_.bowSigma_mm : 0.003 * 0.5 * board_.size().norm();
    return problem;
}

bool Work::solve(BoardProblem& problem) const {
    estimate::SolverOptions options;
    options.mostIterations = 100;
    options.stepTolerance = options_.automatic ? 1e-4 : 1e-9;  // in σ of each unknown
    options.floor = options_.automatic ? 1e-6 : 0.0;
    options.firstLambda = 1e-3;
    const auto report = estimate::solve(problem, options);
    return report && report->settled;
}

void Work::openFor(BoardProblem& problem, bool k2, bool k3, bool tangential) const {
    problem.open = {};
    const auto& o = options_.open;
    const bool any = options_.automatic;
    problem.open[kLnKappa] = any || o[kDistance];
    problem.open[kSharedX] = any || o[kPointX];
    problem.open[kSharedY] = any || o[kPointY];
    problem.open[kBrown1] = any || o[kK1];
    problem.open[kBrown2] = any ? k2 : o[kK2];
    problem.open[kBrown3] = any ? k3 : o[kK3];
    problem.open[kTangent1] = any ? tangential : o[kP1];
    problem.open[kTangent2] = any ? tangential : o[kP2];
    problem.open[kRatio] = options_.uneven;
    for (int n = 0; n < 3; ++n) problem.open[static_cast<std::size_t>(kBow + n)] = options_.uneven;
    for (int n = 0; n < 5; ++n)
        if (!problem.open[static_cast<std::size_t>(kBrown1 + n)])
            problem.shared.K[static_cast<std::size_t>(n)] = 0.0;
    problem.layOut();
}

/// Standard uncertainties that agree with the residuals: Σ (v/σ)² over the redundancy.
void Work::rescale(BoardProblem& problem) const {
    std::vector<estimate::Rows> rows;
    if (!problem.linearise(rows, false)) return;
    // Each prior is a row and pays for about one unknown.
    double sum = 0.0, components = -static_cast<double>(problem.layout().columns);
    for (const estimate::Rows& row : rows)
        if (row.active) {
            sum += row.squared();
            components += row.components;
        }
    if (components > 0.0 && sum > 0.0)
        problem.factor = std::max(problem.factor * std::sqrt(sum / components), 1e-6);
}

/// σ of the print's unevenness as the corners' offsets show it (their variance component: Σ o² over their
/// redundancy; Förstner 1979).
void Work::rateOffsets(BoardProblem& problem) const {
    if (problem.offsetCount() == 0) return;
    std::vector<estimate::Rows> rows;
    if (!problem.linearise(rows, true)) return;
    estimate::Normal normal(problem.layout(), rows);
    normal.assemble(rows);
    estimate::RankDefect defect;
    const estimate::CovarianceFactor covariance(normal, defect);
    if (!covariance.valid()) return;
    const double variance = problem.offsetSigma * problem.offsetSigma;
    double sum = 0.0, freedom = 0.0;
    for (int j = 0; j < board_.cornerRows(); ++j)
        for (int i = 0; i < board_.cornerColumns(); ++i) {
            const int first = problem.offsetColumn(i, j);
            sum += problem.shared.offsets[static_cast<std::size_t>(j * board_.cornerColumns() + i)]
                       .squaredNorm();
            for (int k = 0; k < 2; ++k) freedom += 1.0 - covariance.variance({{first + k, 1.0}}) / variance;
        }
    if (freedom > 1e-3)
        problem.offsetSigma =
            std::clamp(std::sqrt(sum / freedom), 1e-5 * board_.pitchX_mm, 0.02 * board_.pitchX_mm);
}

/// Which of k2, k3 and p1, p2 the corners determine, tried from all open.
bool Work::decideTerms(BoardProblem& problem) const {
    bool k2 = true, k3 = true, tangential = true;
    double reach = 0.0;
    for (const BoardFrame* frame : problem.frames())
        for (const BoardCorner& c : frame->corners) reach = std::max(reach, (c.px - middle_).norm() / rho_);
    for (int round = 0; round < 4; ++round) {
        openFor(problem, k2, k3, tangential);
        const bool settled = solve(problem);
        if (!options_.automatic) return settled;
        rescale(problem);
        std::vector<estimate::Rows> rows;
        if (!problem.linearise(rows, true)) return false;
        estimate::Normal normal(problem.layout(), rows);
        normal.assemble(rows);
        estimate::RankDefect defect;
        const estimate::CovarianceFactor covariance(normal, defect);
        const auto weak = [&](int index, double power) {
            if (!covariance.valid()) return true;
            const double sigma = std::sqrt(covariance.variance({{problem.column(index), 1.0}}));
            const double value = std::abs(problem.shared.K[static_cast<std::size_t>(index - kBrown1)]);
            return !(sigma * rho_ * std::pow(reach, power) < kDetermined) && !(value > 3.3 * sigma);
        };
        if (k3 && weak(kBrown3, 7)) {
            k3 = false;
        } else if (tangential && weak(kTangent1, 2) && weak(kTangent2, 2)) {
            tangential = false;
        } else if (k2 && !k3 && weak(kBrown2, 5)) {
            k2 = false;
        } else {
            return settled;
        }
    }
    openFor(problem, k2, k3, tangential);
    return solve(problem);
}

Calibration Work::gather(const BoardProblem& problem, const estimate::CovarianceFactor& covariance) const {
    Calibration out;
    out.constants = problem.shared.constants();
    out.factor = problem.factor;
    out.photographs = static_cast<int>(used_.size());
    for (int n = 0; n < 8; ++n) out.open[static_cast<std::size_t>(n)] = problem.column(n) >= 0;
    out.covariance = covarianceOfConstants(problem, covariance);
    if (problem.column(kRatio) >= 0) {
        out.ratio = {problem.shared.ratio, std::sqrt(covariance.variance({{problem.column(kRatio), 1.0}}))};
        out.bow = bowOf(problem, covariance, board_);
        if (problem.offsetCount() > 0) out.unevenness_mm = problem.offsetSigma;
    }
    double sum = 0.0;
    std::size_t next = 0;
    for (std::size_t f = 0; f < frames_.size(); ++f) {
        PhotographResult result;
        result.name = frames_[f].name;
        result.why = why_[f];
        const bool used = next < used_.size() && used_[next] == f;
        if (used) {
            describeFrame(problem, next, result);
            sum +=
                result.rms_px * result.rms_px * static_cast<double>(result.corners.size() - result.dropped);
            out.corners += static_cast<int>(result.corners.size()) - result.dropped;
            ++next;
        }
        out.frames.push_back(std::move(result));
    }
    out.rms_px = std::sqrt(sum / std::max(out.corners, 1));
    return out;
}

Result<Calibration> Work::run() {
    if (const auto no = admit()) return *no;
    for (int round = 0;; ++round) {
        BoardProblem problem = build();
        openFor(problem, true, false, false);
        if (!startBoard(problem, middle_, options_.expected_px))
            return refuse("no position of the cameras explains the corners",
                          "check columns, rows and that all photographs show one and the same board");
        if (const auto no = tooAlike(problem)) return *no;
        for (int pass = 0; pass < 3; ++pass) {
            (void)solve(problem);
            reweigh(problem);
        }
        if (turnTilts(problem)) (void)solve(problem);
        if (options_.test)
            setAsideGross(problem);
        else
            for (auto& of : problem.weights) std::fill(of.begin(), of.end(), 1.0);
        bool settled = decideTerms(problem);
        rescale(problem);
        for (int test = 0; options_.test && test < 40 && dropCorners(problem); ++test) {
            settled = solve(problem);
            rescale(problem);
        }
        // A photograph that disagrees as a whole spoils the others: start anew without it.
        const auto bad = options_.test && used_.size() > kLeastFrames ? badFrame(problem) : std::nullopt;
        if (bad) {
            const std::size_t f = used_[*bad];
            why_[f] = fmt::format(
                "{}: its corners disagree with the other photographs and are left out (moved, "
                "blurred, or another board).",
                frames_[f].name);
            used_.erase(used_.begin() + static_cast<std::ptrdiff_t>(*bad));
            continue;
        }
        if (options_.uneven && board_.cornerColumns() * board_.cornerRows() <= kMostOffsets &&
            used_.size() >= kFramesForOffsets) {
            problem.offsetSigma = 1e-3 * board_.pitchX_mm;
            problem.layOut();
        }
        for (int pass = 0; pass < (problem.offsetCount() > 0 ? 8 : 3); ++pass) {
            settled = solve(problem);
            rateOffsets(problem);
            rescale(problem);
        }
        std::vector<estimate::Rows> rows;
        if (!problem.linearise(rows, true))
            return refuse("the adjustment broke off", "check the photographs");
        estimate::Normal normal(problem.layout(), rows);
        normal.assemble(rows);
        estimate::RankDefect defect;
        const estimate::CovarianceFactor covariance(normal, defect);
        if (!covariance.valid()) return alikeRefusal(problem);
        if (!settled)
            return Error{ErrorCode::NoConvergence, "the adjustment of the corners does not settle",
                         "calibration", "take more photographs, tilted both ways and all over the frame"};
        Calibration out = gather(problem, covariance);
        const FrameSizePx frame{options_.width, options_.height};
        out.advice = adviseNext(problem, board_, frame);
        return judge(std::move(out), problem, frame);
    }
}

}  // namespace

Result<Calibration> calibrate(const Board& board, const std::vector<BoardFrame>& frames,
                              const CalibrateOptions& options) {
    return Work(board, frames, options).run();
}

}  // namespace trammel::calibrate
