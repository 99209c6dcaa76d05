// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/Gross.h"

#include <algorithm>
#include <cmath>

#include "core/adjust/Start.h"
#include "core/estimate/Solver.h"

namespace trammel::adjust {
namespace {

/// Variance factor from which single mistakes are looked for before the tests begin.
constexpr double kSpoilt = 4.0;
/// Off by so many σ after the robust rounds: left out at first.
constexpr double kGross = 8.0;
constexpr double kScale = 3.0;  ///< σ; where Cauchy's weight has fallen to a half

/// The network with a weight on each row.
class Weighted : public estimate::Problem {
  public:
    explicit Weighted(Network& n) : n_(n) {}
    const estimate::Layout& layout() const override { return n_.layout(); }
    bool linearise(std::vector<estimate::Rows>& rows, bool derivatives) const override {
        if (!n_.linearise(rows, derivatives)) return false;
        for (std::size_t i = 0; i < rows.size() && i < root_.size(); ++i)
            for (std::size_t c = 0; c < 2; ++c) {
                rows[i].e[c] *= root_[i];
                for (int k = 0; derivatives && k < rows[i].count; ++k) rows[i].J[c][at(k)] *= root_[i];
            }
        return true;
    }
    void step(const VecX& delta) override { n_.step(delta); }
    void save() override { n_.save(); }
    void restore() override { n_.restore(); }

    /// Weights from the residuals as they are, at a scale (σ).
    bool weigh(double scale) {
        std::vector<estimate::Rows> rows;
        if (!n_.linearise(rows, false)) return false;
        root_.resize(rows.size());
        for (std::size_t i = 0; i < rows.size(); ++i)
            root_[i] = 1.0 / std::sqrt(1.0 + rows[i].squared() / (scale * scale));
        return true;
    }

  private:
    Network& n_;
    std::vector<double> root_;
};

/// Root of the median of the active residuals' squares, a component; infinite behind a camera.
double spread(const Network& n) {
    std::vector<estimate::Rows> rows;
    if (!n.linearise(rows, false)) return INFINITY;
    std::vector<double> sizes;
    for (const estimate::Rows& row : rows)
        for (int k = 0; row.active && k < row.components; ++k) sizes.push_back(std::abs(row.e[at(k)]));
    if (sizes.empty()) return 0.0;
    const auto middle = sizes.begin() + static_cast<std::ptrdiff_t>(sizes.size() / 2);
    std::nth_element(sizes.begin(), middle, sizes.end());
    return 1.4826 * *middle;
}

/// Largest residual (σ) of each active owner.
std::vector<double> largest(const Network& n) {
    std::vector<double> out(n.owners().size(), 0.0);
    std::vector<estimate::Rows> rows;
    if (!n.linearise(rows, false)) return out;
    const std::vector<int> owners = n.rowOwners();
    for (std::size_t i = 0; i < rows.size(); ++i)
        if (rows[i].active) out[at(owners[i])] = std::max(out[at(owners[i])], std::sqrt(rows[i].squared()));
    return out;
}

bool robustRounds(Network& n, const Progress* progress) {
    Weighted weighted(n);
    estimate::SolverOptions options;
    options.mostIterations = 4;
    double scale = kScale * std::max(1.0, spread(n));
    for (int i = 0; i < 20; ++i) {
        if (!std::isfinite(scale) || !weighted.weigh(scale)) return false;
        const auto r = estimate::solve(weighted, options, progress);
        if (!r && r.error().code == ErrorCode::Cancelled) return false;
        const double now = kScale * std::max(1.0, spread(n));
        if (scale <= kScale && i > 3) break;
        scale = std::max(kScale, std::min(0.7 * scale, now));
    }
    return true;
}

}  // namespace

int freedom(const Network& n) {
    std::vector<estimate::Rows> rows;
    n.linearise(rows, false);
    int components = 0;
    for (const estimate::Rows& row : rows) components += row.active ? row.components : 0;
    return components - n.layout().columns;
}

bool carriedAway(const Network& n, const Result<Round>& round) {
    if (round) return false;
    if (round.error().code != ErrorCode::NoConvergence && round.error().code != ErrorCode::RankDefect)
        return false;
    std::vector<estimate::Rows> rows;
    return !n.linearise(rows, false) || estimate::sumOfSquares(rows) > kSpoilt * std::max(1, freedom(n));
}

void leaveGross(Network& n, const Options& options, const Progress* progress, Result<Round>& round,
                std::vector<int>& gross) {
    const State before = n.state();
    auto starts = findStarts(n);
    if (!starts) return;
    n.state() = std::move(starts->front().state);
    n.forgetFeet();
    if (robustRounds(n, progress)) {
        const std::vector<double> off = largest(n);
        std::vector<int> out;
        for (int o = 0; o < static_cast<int>(off.size()); ++o)
            if (off[at(o)] > kGross) out.push_back(o);
        std::sort(out.begin(), out.end(), [&](int a, int b) { return off[at(a)] > off[at(b)]; });
        const State robust = n.state();
        // Where something then hangs loose the mildest come back first.
        for (; !out.empty(); out.resize(out.size() - (out.size() + 3) / 4)) {
            for (const int o : out) n.owners()[at(o)].active = false;
            auto without = solveRound(n, options, progress);
            if (without && (!round || without->sum < round->sum)) {
                round = std::move(without);
                gross = out;
                return;
            }
            for (const int o : out) n.owners()[at(o)].active = true;
            if (!without && without.error().code == ErrorCode::Cancelled) break;
            n.state() = robust;
            n.forgetFeet();
        }
        // Nobody stands off: the robust place itself may settle where the start did not.
        if (!round) {
            n.state() = robust;
            n.forgetFeet();
            auto again = solveRound(n, options, progress);
            if (again) {
                round = std::move(again);
                return;
            }
        }
    }
    n.state() = before;
    n.forgetFeet();
}

}  // namespace trammel::adjust
