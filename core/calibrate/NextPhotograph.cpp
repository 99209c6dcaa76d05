// SPDX-License-Identifier: GPL-3.0-or-later
#include <Eigen/Cholesky>
#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <limits>

#include "core/calibrate/Verdict.h"
#include "core/estimate/Normal.h"

namespace trammel::calibrate {
namespace {

struct Proposal {
    std::string words;
    FrameState state;
};

/// Extent of the board in the picture; nothing behind the camera.
std::optional<Eigen::AlignedBox2d> extentOf(const BoardProblem& problem, const FrameState& state,
                                            const Board& board) {
    BoardProblem one = problem.alone(0);
    one.states[0] = state;
    Eigen::AlignedBox2d box;
    for (const int i : {0, board.cornerColumns() - 1})
        for (const int j : {0, board.cornerRows() - 1}) {
            const auto at = one.project(0, i, j);
            if (!at) return std::nullopt;
            box.extend(*at);
        }
    return box;
}

/// The state moved and scaled such that the whole board fills `share` of the frame and lies towards
/// (−1..1, −1..1) in it.
std::optional<FrameState> placed(const BoardProblem& problem, FrameState state, const Board& board,
                                 FrameSizePx frame, double share, const Vec2& towards) {
    const Vec2 size(frame.width, frame.height);
    for (int pass = 0; pass < 12; ++pass) {
        const auto box = extentOf(problem, state, board);
        if (!box) return std::nullopt;
        const double fill = (box->sizes().array() / size.array()).maxCoeff();
        state.lnScale += std::log(share / fill);
        const auto now = extentOf(problem, state, board);
        if (!now) return std::nullopt;
        const Vec2 room = 0.5 * (0.96 * size - now->sizes()).cwiseMax(0.0);
        const Vec2 aim = 0.5 * (size - Vec2::Ones()) + room.cwiseProduct(towards);
        state.g += aim - now->center();
    }
    return state;
}

std::vector<Proposal> proposals(const BoardProblem& problem, const Board& board, FrameSizePx frame) {
    // Tilts start from the squarest photograph.
    std::size_t base = 0;
    for (std::size_t f = 1; f < problem.states.size(); ++f)
        if (problem.states[f].R(2, 2) > problem.states[base].R(2, 2)) base = f;
    FrameState square = problem.states[base];
    const Vec2 middle = 0.5 * board.size();
    square.pivot = Vec3(middle.x(), middle.y(), 0.0);
    std::vector<Proposal> out;
    const auto add = [&](std::string words, const Mat3& turn, double share, const Vec2& towards) {
        FrameState state = square;
        state.R = turn * state.R;
        if (const auto p = placed(problem, state, board, frame, share, towards))
            out.push_back({std::move(words), *p});
    };
    const auto about = [](const Vec3& axis, double degrees) {
        return Mat3(Eigen::AngleAxisd(degrees * M_PI / 180.0, axis).toRotationMatrix());
    };
    add("with the board's upper edge nearer, tilted by 35°", about(Vec3::UnitX(), 35), 0.9, Vec2::Zero());
    add("with the board's lower edge nearer, tilted by 35°", about(Vec3::UnitX(), -35), 0.9, Vec2::Zero());
    add("with the board's right edge nearer, tilted by 35°", about(Vec3::UnitY(), 35), 0.9, Vec2::Zero());
    add("with the board's left edge nearer, tilted by 35°", about(Vec3::UnitY(), -35), 0.9, Vec2::Zero());
    add("square to the board, turned by 90° about the line of sight", about(Vec3::UnitZ(), 90), 0.9,
        Vec2::Zero());
    add("turned by 90° about the line of sight and tilted by 35° about x",
        about(Vec3::UnitX(), 35) * about(Vec3::UnitZ(), 90), 0.9, Vec2::Zero());
    add("square to the board, so near that it fills the frame", Mat3::Identity(), 0.97, Vec2::Zero());
    const std::pair<const char*, Vec2> places[] = {{"upper left", Vec2(-1, -1)},
                                                   {"upper right", Vec2(1, -1)},
                                                   {"lower left", Vec2(-1, 1)},
                                                   {"lower right", Vec2(1, 1)}};
    for (const auto& [name, towards] : places)
        add(std::string("with the board in the ") + name + " corner of the frame, tilted by 20°",
            about(Vec3(1, 1, 0).normalized(), 20), 0.55, towards);
    return out;
}

/// Half the logarithm of the determinant of the open constants' covariance.
double spreadOf(const BoardProblem& problem, const estimate::CovarianceFactor& covariance) {
    std::vector<estimate::Gradient> all;
    for (int n = 0; n < 8; ++n)
        if (problem.column(n) >= 0) all.push_back({{problem.column(n), 1.0}});
    const MatX q = covariance.covariance(all);
    const Eigen::LLT<MatX> llt(q);
    if (llt.info() != Eigen::Success) return std::numeric_limits<double>::infinity();
    return MatX(llt.matrixL()).diagonal().array().log().sum();
}

double typicalSigma(const BoardProblem& problem) {
    std::vector<double> all;
    for (const BoardFrame* f : problem.frames())
        for (const BoardCorner& c : f->corners) all.push_back(std::sqrt(0.5 * c.covariance.trace()));
    std::nth_element(all.begin(), all.begin() + static_cast<std::ptrdiff_t>(all.size() / 2), all.end());
    return problem.factor * all[all.size() / 2];
}

}  // namespace

std::string adviseNext(const BoardProblem& problem, const Board& board, FrameSizePx frame) {
    std::vector<estimate::Rows> rows;
    if (!problem.linearise(rows, true)) return {};
    estimate::Normal normal(problem.layout(), rows);
    normal.assemble(rows);
    estimate::RankDefect defect;
    const estimate::CovarianceFactor now(normal, defect);
    if (!now.valid()) return {};
    const double sigma = typicalSigma(problem);
    double best = spreadOf(problem, now);
    std::string out;
    for (const Proposal& p : proposals(problem, board, frame)) {
        std::vector<estimate::Rows> added;
        for (int j = 0; j < board.cornerRows(); ++j)
            for (int i = 0; i < board.cornerColumns(); ++i)
                if (const auto row = problem.planned(p.state, i, j, sigma, problem.layout().columns))
                    added.push_back(*row);
        const auto then = now.extended(added, 6);
        if (!then.valid()) continue;
        if (const double spread = spreadOf(problem, then); spread < best) {
            best = spread;
            out = p.words;
        }
    }
    return out.empty() ? out : "The photograph that would help most: " + out + ".";
}

}  // namespace trammel::calibrate
