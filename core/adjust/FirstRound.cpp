// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/FirstRound.h"

#include <algorithm>
#include <optional>
#include <vector>

#include "core/adjust/Start.h"

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

}  // namespace

Result<Round> firstRound(Network& n, const Options& options, const Progress* progress) {
    auto starts = findStarts(n);
    if (!starts) return starts.error();
    const double nearly = 4.0 * starts->front().cost + 100.0;  // what a few steps have not told apart
    std::optional<Round> best;
    std::optional<Error> error;
    State state;
    for (Start& start : *starts) {
        if (best && mostFit(n) && start.cost > nearly) break;
        n.state() = std::move(start.state);
        n.forgetFeet();
        auto round = solveRound(n, options, progress);
        if (!round) {
            if (round.error().code == ErrorCode::Cancelled) return round.error();
            if (!error) error = round.error();
            continue;
        }
        if (best && best->sum <= round->sum) continue;
        best = std::move(*round);
        state = n.state();
    }
    if (!best) return *error;
    n.state() = std::move(state);
    n.forgetFeet();
    return *best;
}

}  // namespace trammel::adjust
