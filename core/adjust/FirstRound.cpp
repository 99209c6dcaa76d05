// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/FirstRound.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <vector>

#include "core/adjust/Gross.h"
#include "core/adjust/Start.h"
#include "core/adjust/StartAgain.h"
#include "core/estimate/Solver.h"
#include "core/math/Statistics.h"

namespace trammel::adjust {
namespace {

/// Whether most observations fit: the median of the squared residuals is untouched by single mistakes. Its
/// value for good data is 0.45 (χ² with one degree of freedom).
bool mostFit(const Network& n) {
    constexpr double kMost = 4.0;  // most within 2 σ
    std::vector<estimate::Rows> rows;
    if (!n.linearise(rows, false)) return false;
    std::vector<double> squares;
    for (const estimate::Rows& row : rows)
        if (row.active)
            for (int k = 0; k < row.components; ++k) squares.push_back(row.e[at(k)] * row.e[at(k)]);
    if (squares.empty()) return true;
    const auto middle = squares.begin() + static_cast<std::ptrdiff_t>(squares.size() / 2);
    std::nth_element(squares.begin(), middle, squares.end());
    return *middle < kMost;
}

/// The lowest sum of squares so far, and where it lies.
class Search {
  public:
    Search(Network& n, const Options& options, const Progress* progress)
        : n_(n), options_(options), progress_(progress) {}

    /// Adjusts from a start; false when cancelled. `again`: from another one than the survey's own, which
    /// must explain the misfit to be taken. Noise stronger than its σ moves minima about, and the lowest is
    /// then no better founded than the one next to the plain start.
    bool follow(State start, bool again = false) {
        n_.state() = std::move(start);
        n_.forgetFeet();
        auto round = solveRound(n_, options_, progress_);
        const double enough = !best_ ? INFINITY : again ? std::max(0.5 * best_->sum, fair()) : best_->sum;
        if (round && round->sum < enough && (!best_ || round->sum < best_->sum)) {
            best_ = std::move(*round);
            state_ = n_.state();
        } else if (!round && round.error().code == ErrorCode::Cancelled) {
            error_ = round.error();
            return false;
        } else if (!round) {
            remember(round.error());
        }
        return true;
    }

    /// Leaves the network at the best place found, or the most promising of those that did not settle.
    void stand() {
        if (!best_ && !(lowest_ < INFINITY)) return;
        n_.state() = best_ ? state_ : unsettled_;
        n_.forgetFeet();
        // Features that an adjustment took along when it went astray may lie anywhere.
        if (!best_ && !n_.linearise(n_.workspace().trial, false)) placeAnew(n_);
    }

    /// Settled, with residuals about as large as their σ allow.
    bool fits() const { return best_ && best_->sum < fair(); }

    /// What was observed fits, but does not suffice.
    bool lacksSomething() const {
        return !best_ && error_ && error_->code == ErrorCode::RankDefect && lowest_ < fair();
    }

    /// Turns misplaced photographs, the worst first, while that lowers the sum of squares.
    bool turnPhotographs() {
        constexpr int kMostTurns = 8;
        std::vector<int> tried;
        for (int i = 0; i < kMostTurns; ++i) {
            const std::vector<int> all = doubtful();
            const auto next = std::find_if(all.begin(), all.end(), [&](int s) {
                return std::find(tried.begin(), tried.end(), s) == tried.end();
            });
            if (next == all.end()) break;
            const double before = lowest();
            const int station = *next;
            if (!followBest(reorient(n_, station))) return false;
            if (lowest() < 0.999 * before)
                tried.assign({station});
            else
                tried.push_back(station);
        }
        return true;
    }

    /// Photographs that do not fit, unless the whole does.
    std::vector<int> doubtful() {
        constexpr double kChance = 0.01;
        if (fits()) return {};
        stand();
        return misplaced(n_, kChance);
    }

    const std::optional<Round>& best() const { return best_; }
    const std::optional<Error>& error() const { return error_; }

  private:
    double lowest() const { return best_ ? best_->sum : lowest_; }

    /// A few steps from each tell which to follow.
    bool followBest(const std::vector<State>& starts) {
        estimate::SolverOptions options;
        options.mostIterations = 8;
        options.floor = 1e-3;
        double least = INFINITY;
        State best;
        for (const State& start : starts) {
            n_.state() = start;
            n_.forgetFeet();
            const auto r = estimate::solve(n_, options, progress_);
            if (!r && r.error().code == ErrorCode::Cancelled) {
                error_ = r.error();
                return false;
            }
            std::vector<estimate::Rows>& rows = n_.workspace().trial;
            if (!n_.linearise(rows, false)) continue;
            if (const double sum = estimate::sumOfSquares(rows); sum < least) {
                least = sum;
                best = n_.state();
            }
        }
        return !(least < lowest()) || follow(std::move(best), true);
    }

    /// What went wrong where the residuals were least is what the user should hear.
    void remember(const Error& error) {
        std::vector<estimate::Rows>& rows = n_.workspace().trial;
        const double sum = n_.linearise(rows, false) ? estimate::sumOfSquares(rows) : INFINITY;
        if (!error_ || sum < lowest_) error_ = error;
        if (!(sum < lowest_)) return;
        lowest_ = sum;
        unsettled_ = n_.state();
    }

    /// Sum of squares up to which a survey is believed: not improbable (one in a thousand), or with residuals
    /// up to 1.7 times their σ, as of marks a little worse than stated.
    double fair() const {
        constexpr double kImprobable = 0.001, kVariance = 3.0;
        const int f = freedom(n_);
        if (f <= 0) return INFINITY;
        return std::max(kVariance * f, stats::chiSquareQuantile(1.0 - kImprobable, f));
    }

    Network& n_;
    const Options& options_;
    const Progress* progress_;
    std::optional<Round> best_;
    std::optional<Error> error_;
    State state_, unsettled_;
    double lowest_ = INFINITY;  ///< of those that did not settle
};

}  // namespace

Result<Round> firstRound(Network& n, const Options& options, const Progress* progress) {
    auto starts = findStarts(n);
    if (!starts) return starts.error();
    const double nearly = 4.0 * starts->front().cost + 100.0;  // what a few steps have not told apart
    Search search(n, options, progress);
    for (Start& start : *starts) {
        if (search.best() && mostFit(n) && start.cost > nearly) break;
        if (!search.follow(std::move(start.state))) return *search.error();
    }
    if (search.lacksSomething()) {
        search.stand();
        return *search.error();
    }
    if (!search.turnPhotographs()) return *search.error();
    if (!search.best() || !search.doubtful().empty()) {
        auto others = findOtherStarts(n);
        if (others && !others->empty() && !search.follow(std::move(others->front().state), true))
            return *search.error();
        if (!search.turnPhotographs()) return *search.error();
    }
    search.stand();
    if (!search.best()) return *search.error();
    return *search.best();
}

}  // namespace trammel::adjust
