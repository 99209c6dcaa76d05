// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/calibrate/BoardModel.h"

#include <Eigen/Cholesky>
#include <Eigen/LU>
#include <cmath>

#include "core/math/Rotation.h"

namespace trammel::calibrate {
namespace {

constexpr std::array<double, 5> kPower = {2, 4, 6, 1, 1};  // of ρκ in K1 K2 K3 P1 P2

/// Brown's part alone, in units of ρ.
camera::Constants brown(const std::array<double, 5>& K) {
    return {1.0, Vec2::Zero(), K[0], K[1], K[2], K[3], K[4]};
}

}  // namespace

camera::Constants SharedState::constants() const {
    const double kappa = std::exp(lnKappa);
    std::array<double, 5> k{};
    for (std::size_t n = 0; n < 5; ++n) k[n] = K[n] / std::pow(rho * kappa, kPower[n]);
    return {1.0 / kappa, pp, k[0], k[1], k[2], k[3], k[4]};
}

BoardProblem::BoardProblem(const Board& board, std::vector<const BoardFrame*> frames, double rho)
    : board_(board), frames_(std::move(frames)) {
    shared.rho = rho;
    states.resize(frames_.size());
    for (std::size_t f = 0; f < frames_.size(); ++f) {
        const auto& corners = frames_[f]->corners;
        weights.emplace_back(corners.size(), 1.0);
        whitening_.emplace_back();
        Vec2 middle = Vec2::Zero();
        for (const BoardCorner& c : corners) {
            middle += board.corner(c.i, c.j) / static_cast<double>(corners.size());
            // Of covariance L Lᵀ the whitening is L⁻¹.
            whitening_.back().push_back(c.covariance.llt().matrixL().solve(Mat2::Identity()));
        }
        states[f].pivot = Vec3(middle.x(), middle.y(), 0.0);
    }
    layOut();
}

void BoardProblem::layOut() {
    layout_ = {};
    for (std::size_t f = 0; f < frames_.size(); ++f) layout_.blockStart.push_back(static_cast<int>(6 * f));
    layout_.eliminatedColumns = static_cast<int>(6 * frames_.size());
    layout_.columns = layout_.eliminatedColumns;
    for (std::size_t n = 0; n < columns_.size(); ++n) columns_[n] = open[n] ? layout_.columns++ : -1;
    offsetStart_ = -1;
    const int corners = board_.cornerColumns() * board_.cornerRows();
    if (offsetSigma > 0.0) {
        offsetStart_ = layout_.columns;
        layout_.columns += 2 * corners;
        shared.offsets.resize(static_cast<std::size_t>(corners), Vec2::Zero());
    } else {
        shared.offsets.clear();
    }
}

BoardProblem BoardProblem::alone(std::size_t frame) const {
    BoardProblem out(board_, {frames_[frame]}, shared.rho);
    out.shared = shared;  // offsets too, though none are unknown
    out.states = {states[frame]};
    out.factor = factor;
    out.weights = {weights[frame]};
    return out;
}

Vec3 BoardProblem::boardPoint(int i, int j) const {
    const Vec2 middle = 0.5 * board_.size(), p = board_.corner(i, j) - middle;
    const Vec2 n = p / middle.norm();
    const double half = std::exp(0.5 * shared.ratio);
    Vec2 off = Vec2::Zero();
    if (!shared.offsets.empty())
        off = shared.offsets[static_cast<std::size_t>(j * board_.cornerColumns() + i)];
    return {middle.x() + p.x() * half + off.x(), middle.y() + p.y() / half + off.y(),
            shared.bow.dot(Vec3(n.x() * n.x(), n.x() * n.y(), n.y() * n.y()))};
}

bool BoardProblem::fill(const FrameState& f, int i, int j, const Vec2& observed, const Mat2& whitening,
                        int first, bool derivatives, estimate::Rows& row) const {
    const Vec3 P = boardPoint(i, j);
    const Vec3 Y = f.R * (P - f.pivot);
    const double kappa = std::exp(shared.lnKappa), m = std::exp(f.lnScale);
    const double D = 1.0 + kappa * m * Y.z();
    if (!(D > 1e-3)) return false;
    const Vec2 q = (m * Y.head<2>() + f.g - shared.pp) / D;
    const Vec2 t = q / shared.rho;
    Mat2 A;
    const Vec2 u = shared.rho * camera::distort(brown(shared.K), t, &A) + shared.pp;
    const Vec2 e = whitening * (observed - u);
    row.components = 2;
    row.count = 0;
    row.e = {e.x(), e.y()};
    if (!derivatives) return true;
    const auto add = [&](int column, const Vec2& d) {
        const Vec2 w = whitening * d;
        row.add(column, w.x(), w.y());
    };
    Mat23 dqdY;
    dqdY.leftCols<2>() = m / D * Mat2::Identity();
    dqdY.col(2) = -kappa * m / D * q;
    const Mat23 B = A * dqdY;
    const Mat23 turn = -B * skew(Y);
    for (int k = 0; k < 3; ++k) add(first + k, turn.col(k));
    add(first + 3, B * Y);  // d/d ln m moves Y in proportion
    add(first + 4, A.col(0) / D);
    add(first + 5, A.col(1) / D);
    add(columns_[kLnKappa], -kappa * m * Y.z() / D * (A * q));
    const Mat2 byPoint = Mat2::Identity() - A / D;
    add(columns_[kSharedX], byPoint.col(0));
    add(columns_[kSharedY], byPoint.col(1));
    const double r2 = t.squaredNorm(), rho = shared.rho;
    add(columns_[kBrown1], rho * r2 * t);
    add(columns_[kBrown2], rho * r2 * r2 * t);
    add(columns_[kBrown3], rho * r2 * r2 * r2 * t);
    add(columns_[kTangent1], rho * Vec2(2 * t.x() * t.y(), r2 + 2 * t.y() * t.y()));
    add(columns_[kTangent2], rho * Vec2(r2 + 2 * t.x() * t.x(), 2 * t.x() * t.y()));
    const Vec2 middle = 0.5 * board_.size();
    const Mat23 C = B * f.R;
    add(columns_[kRatio], 0.5 * ((P.x() - middle.x()) * C.col(0) - (P.y() - middle.y()) * C.col(1)));
    const Vec2 n = (board_.corner(i, j) - middle) / middle.norm();
    add(columns_[kBow], n.x() * n.x() * C.col(2));
    add(columns_[kBow + 1], n.x() * n.y() * C.col(2));
    add(columns_[kBow + 2], n.y() * n.y() * C.col(2));
    if (const int own = offsetColumn(i, j); own >= 0) {
        add(own, C.col(0));
        add(own + 1, C.col(1));
    }
    return true;
}

bool BoardProblem::linearise(std::vector<estimate::Rows>& rows, bool derivatives) const {
    std::size_t at = 0;
    const auto next = [&]() -> estimate::Rows& {
        if (at == rows.size()) rows.emplace_back();
        return rows[at++];
    };
    for (std::size_t f = 0; f < frames_.size(); ++f)
        for (std::size_t k = 0; k < frames_[f]->corners.size(); ++k) {
            const BoardCorner& c = frames_[f]->corners[k];
            estimate::Rows& row = next();
            const double w = std::sqrt(weights[f][k]) / factor;
            row.active = w > 0.0;
            // Inactive ones are linearised at full weight, for what their place would tell.
            const Mat2 whitening = (w > 0.0 ? w : 1.0 / factor) * whitening_[f][k];
            if (!fill(states[f], c.i, c.j, c.px, whitening, static_cast<int>(6 * f), derivatives, row) &&
                row.active)
                return false;
        }
    const auto prior = [&](int col, double value, double sigma) {
        if (col < 0) return;
        estimate::Rows& row = next();
        row.components = 1;
        row.count = 0;
        row.active = sigma > 0.0;
        row.e = {sigma > 0.0 ? -value / sigma : 0.0, 0.0};
        row.add(col, sigma > 0.0 ? 1.0 / sigma : 0.0);
    };
    prior(column(kRatio), shared.ratio, ratioSigma);
    for (int n = 0; n < 3; ++n) prior(column(kBow + n), shared.bow(n), bowSigma);
    for (int n = 0; n < offsetCount(); ++n)
        for (int k = 0; k < 2; ++k)
            prior(offsetStart_ + 2 * n + k, shared.offsets[static_cast<std::size_t>(n)](k), offsetSigma);
    rows.resize(at);
    return true;
}

void BoardProblem::step(const VecX& delta) {
    for (std::size_t f = 0; f < states.size(); ++f) {
        const auto d = delta.segment<6>(static_cast<Eigen::Index>(6 * f));
        states[f].R = nearestRotation(rotationExp(d.head<3>()) * states[f].R);
        states[f].lnScale += d(3);
        states[f].g += d.segment<2>(4);
    }
    const auto moved = [&](int index) { return column(index) < 0 ? 0.0 : delta(column(index)); };
    shared.lnKappa += moved(kLnKappa);
    shared.pp += Vec2(moved(kSharedX), moved(kSharedY));
    for (int n = 0; n < 5; ++n) shared.K[static_cast<std::size_t>(n)] += moved(kBrown1 + n);
    shared.ratio += moved(kRatio);
    for (int n = 0; n < offsetCount(); ++n)
        shared.offsets[static_cast<std::size_t>(n)] += delta.segment<2>(offsetStart_ + 2 * n);
    shared.bow += Vec3(moved(kBow), moved(kBow + 1), moved(kBow + 2));
}

std::optional<Vec2> BoardProblem::project(std::size_t frame, int i, int j) const {
    estimate::Rows row;
    if (!fill(states[frame], i, j, Vec2::Zero(), Mat2::Identity(), 0, false, row)) return std::nullopt;
    return Vec2(-row.e[0], -row.e[1]);
}

std::vector<Vec2> BoardProblem::residuals(std::size_t frame) const {
    std::vector<Vec2> out;
    for (const BoardCorner& c : frames_[frame]->corners) {
        const auto at = project(frame, c.i, c.j);
        out.push_back(at ? Vec2(c.px - *at) : Vec2::Constant(1e6));
    }
    return out;
}

std::optional<estimate::Rows> BoardProblem::planned(const FrameState& state, int i, int j, double sigma,
                                                    int firstColumn) const {
    estimate::Rows row;
    if (!fill(state, i, j, Vec2::Zero(), Mat2::Identity() / sigma, firstColumn, true, row))
        return std::nullopt;
    row.e = {0.0, 0.0};
    return row;
}

}  // namespace trammel::calibrate
