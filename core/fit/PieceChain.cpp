// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/fit/PieceChain.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "core/fit/Conic.h"
#include "core/geometry/Intersect.h"
#include "core/math/Statistics.h"

namespace trammel::fit {
namespace {

constexpr int kPer = 3;                   // unknowns of a member; a line's third is idle
constexpr double kHeld_px = 1e-4;         // standard deviation of a held tangency
constexpr double kMostBend = 0.61;        // rad, 35°
constexpr double kRefuted = 6.635;        // χ² of one degree of freedom at 1 %
constexpr double kToleranceShare = 0.25;  // of the ±, which a miss may have besides

Eigen::Index columnOf(std::size_t member) { return static_cast<Eigen::Index>(kPer * member); }

/// Derivatives of the signed distance at p by offset, turn (lines: offset along the normal, angle) or by
/// centre and radius.
Vec3 slopeAt(const ChainMember& m, const Vec2& p) {
    if (!m.arc) return {-1.0, -m.direction().dot(p - m.at), 0.0};
    const Vec2 out = (p - m.at).normalized();
    return {-out.x(), -out.y(), -1.0};
}

void moveMember(ChainMember& m, const Vec3& step) {
    if (m.arc) {
        m.at += step.head<2>();
        m.radius += step.z();
        return;
    }
    m.at += step.x() * m.normal();
    m.angle += step.y();
}

double robustSigma(std::vector<double> r) {
    std::nth_element(r.begin(), r.begin() + static_cast<long>(r.size() / 2), r.end());
    return 1.4826 * r[r.size() / 2];
}

bool fitLineMember(ChainMember& m) {
    Vec2 mean = Vec2::Zero();
    double total = 0.0;
    for (std::size_t i = 0; i < m.points.size(); ++i) {
        const double w = 1.0 / (m.sigmas[i] * m.sigmas[i]);
        mean += w * m.points[i];
        total += w;
    }
    mean /= total;
    Mat2 scatter = Mat2::Zero();
    for (std::size_t i = 0; i < m.points.size(); ++i) {
        const Vec2 q = m.points[i] - mean;
        scatter += q * q.transpose() / (m.sigmas[i] * m.sigmas[i]);
    }
    const Eigen::SelfAdjointEigenSolver<Mat2> eigen(scatter);
    Vec2 u = eigen.eigenvectors().col(1);
    if (u.dot(m.points.back() - m.points.front()) < 0.0) u = -u;
    m.at = mean;
    m.angle = std::atan2(u.y(), u.x());
    return eigen.eigenvalues()[1] > 0.0;
}

bool fitArcMember(ChainMember& m) {
    std::vector<double> weights;
    for (const double s : m.sigmas) weights.push_back(1.0 / (s * s));
    const auto circle = fitCircle(m.points, weights);
    if (!circle) return false;
    m.at = circle->centre;
    m.radius = circle->shape(0, 0);
    double turned = 0.0;
    for (std::size_t i = 1; i < m.points.size(); ++i) {
        const Vec2 a = m.points[i - 1] - m.at, b = m.points[i] - m.at;
        turned += std::atan2(a.x() * b.y() - a.y() * b.x(), a.dot(b));
    }
    m.turn = turned < 0.0 ? -1.0 : 1.0;
    return true;
}

}  // namespace

double ChainMember::distance(const Vec2& p) const {
    return arc ? (p - at).norm() - radius : normal().dot(p - at);
}

Vec2 ChainMember::nearest(const Vec2& p) const {
    if (!arc) return p - distance(p) * normal();
    const Vec2 q = p - at;
    return at + (q.norm() > 1e-12 ? Vec2(radius * q.normalized()) : Vec2(radius, 0.0));
}

Vec2 ChainMember::travel(const Vec2& p) const {
    if (!arc) return direction();
    const Vec2 out = (p - at).normalized();
    return turn * Vec2(-out.y(), out.x());
}

bool fitMember(ChainMember& m) {
    for (int pass = 0; pass < 4; ++pass) {
        if (m.points.size() < (m.arc ? 3u : 2u)) return false;
        if (!(m.arc ? fitArcMember(m) : fitLineMember(m))) return false;
        std::vector<double> r;
        for (std::size_t i = 0; i < m.points.size(); ++i)
            r.push_back(std::abs(m.distance(m.points[i])) / m.sigmas[i]);
        if (r.size() < 6) return true;
        const double most = 4.0 * std::max(1.0, robustSigma(r));
        std::vector<Vec2> points;
        std::vector<double> sigmas;
        for (std::size_t i = 0; i < r.size(); ++i)
            if (r[i] <= most) points.push_back(m.points[i]), sigmas.push_back(m.sigmas[i]);
        if (points.size() == r.size()) return true;
        m.points = std::move(points);
        m.sigmas = std::move(sigmas);
    }
    return true;
}

PieceChain::PieceChain(std::vector<ChainMember> members, bool closed, double plusMinus_px)
    : members_(std::move(members)), closed_(closed), plusMinus_(plusMinus_px), joints_(jointCount()) {}

/// How far two neighbours are from touching, and its derivatives by their unknowns; nothing for two lines and
/// where the ways differ too much.
std::optional<PieceChain::Miss> PieceChain::miss(std::size_t joint) const {
    const std::size_t k = joint, l = after(k);
    const ChainMember &a = members_[k], &b = members_[l];
    if (!a.arc && !b.arc) return std::nullopt;
    const Vec2 near = 0.5 * (a.last + b.first);
    const Vec2 ta = a.travel(a.nearest(near)), tb = b.travel(b.nearest(near));
    if (std::acos(std::clamp(ta.dot(tb), -1.0, 1.0)) > kMostBend) return std::nullopt;
    Miss out;
    if (a.arc && b.arc) {
        const Vec2 gap = b.at - a.at;
        const double apart = gap.norm();
        if (!(apart > 1e-6)) return std::nullopt;
        const Vec2 u = gap / apart;
        const bool inside = a.turn == b.turn;
        const double sign = a.radius > b.radius ? 1.0 : -1.0;
        out.value = inside ? apart - sign * (a.radius - b.radius) : apart - (a.radius + b.radius);
        out.row = {{columnOf(k), -u.x()},
                   {columnOf(k) + 1, -u.y()},
                   {columnOf(l), u.x()},
                   {columnOf(l) + 1, u.y()},
                   {columnOf(k) + 2, inside ? -sign : -1.0},
                   {columnOf(l) + 2, inside ? sign : -1.0}};
        return out;
    }
    const std::size_t line = a.arc ? l : k, arc = a.arc ? k : l;
    const ChainMember &straight = members_[line], &round = members_[arc];
    // The centre lies on the right of travel when the arc turns right (y down), at its radius.
    out.value = straight.distance(round.at) - round.turn * round.radius;
    const Vec2 n = straight.normal();
    out.row = {{columnOf(line), -1.0},
               {columnOf(line) + 1, -straight.direction().dot(round.at - straight.at)},
               {columnOf(arc), n.x()},
               {columnOf(arc) + 1, n.y()},
               {columnOf(arc) + 2, -round.turn}};
    return out;
}

double PieceChain::accumulate(MatX& normal, VecX& gradient, bool constraints) const {
    const Eigen::Index size = columnOf(members_.size());
    normal = MatX::Zero(size, size);
    gradient = VecX::Zero(size);
    double chi = 0.0;
    for (std::size_t k = 0; k < members_.size(); ++k) {
        const ChainMember& m = members_[k];
        const Eigen::Index c = columnOf(k);
        for (std::size_t i = 0; i < m.points.size(); ++i) {
            const double w = 1.0 / (m.sigmas[i] * m.sigmas[i]), r = m.distance(m.points[i]);
            const Vec3 row = slopeAt(m, m.points[i]);
            chi += w * r * r;
            normal.block<3, 3>(c, c) += w * row * row.transpose();
            gradient.segment<3>(c) -= w * r * row;
        }
        if (!m.arc) normal(c + 2, c + 2) = 1.0;
    }
    for (std::size_t j = 0; constraints && j < joints_.size(); ++j) {
        if (!joints_[j].tangent) continue;
        const std::optional<Miss> held = miss(j);
        if (!held) continue;
        const double w = 1.0 / (kHeld_px * kHeld_px);
        for (const auto& [i, di] : held->row) {
            gradient(i) -= w * held->value * di;
            for (const auto& [l, dl] : held->row) normal(i, l) += w * di * dl;
        }
    }
    return chi;
}

void PieceChain::move(const VecX& step) {
    for (std::size_t k = 0; k < members_.size(); ++k) moveMember(members_[k], step.segment<3>(columnOf(k)));
}

/// Gauss–Newton to rest; returns χ² of the points. The shape before it comes back when it leads away.
double PieceChain::solve(bool constraints) {
    const std::vector<ChainMember> before = members_;
    MatX normal;
    VecX gradient;
    const double start = accumulate(normal, gradient, constraints);
    for (int pass = 0; pass < 20; ++pass) {
        const VecX step = normal.ldlt().solve(gradient);
        bool sound = step.allFinite();
        if (sound) move(step);
        for (const ChainMember& m : members_) sound = sound && (!m.arc || m.radius > 0.0);
        if (!sound) {
            members_ = before;
            return start;
        }
        const double chi = accumulate(normal, gradient, constraints);
        if (step.norm() < 1e-7 * (1.0 + static_cast<double>(members_.size())) || pass == 19) {
            covariance_ = normal.ldlt().solve(MatX::Identity(normal.rows(), normal.cols()));
            return chi;
        }
    }
    return start;
}

void PieceChain::chooseTangents() {
    const double slack = kToleranceShare * plusMinus_;
    for (std::size_t j = 0; j < joints_.size(); ++j) {
        const std::optional<Miss> m = miss(j);
        joints_[j].tangent = false;
        if (!m) continue;
        double variance = slack * slack;
        for (const auto& [i, di] : m->row)
            for (const auto& [l, dl] : m->row) variance += scale_ * scale_ * di * dl * covariance_(i, l);
        joints_[j].tangent = m->value * m->value < kRefuted * variance;
    }
}

void PieceChain::fit() {
    const double free = solve(false);
    double dof = 0.0;
    for (const ChainMember& m : members_) dof += static_cast<double>(m.points.size()) - (m.arc ? 3.0 : 2.0);
    if (dof > 0.0) scale_ = std::max(1.0, std::sqrt(free / dof));
    chooseTangents();
    const std::vector<ChainMember> own = members_;
    while (true) {
        int held = 0;
        for (const ChainJoint& j : joints_) held += j.tangent;
        if (held == 0) break;
        members_ = own;
        // What each held joint misses in the separate fits, to know which to let go.
        std::size_t worst = joints_.size();
        double most = -1.0;
        for (std::size_t j = 0; j < joints_.size(); ++j)
            if (const auto m = miss(j); joints_[j].tangent && m && std::abs(m->value) > most)
                most = std::abs(m->value), worst = j;
        const double slack = std::pow(kToleranceShare * plusMinus_, 2) * kRefuted;
        const double chi = solve(true);
        const double allowed = stats::chiSquareQuantile(0.999, held) * scale_ * scale_;
        const bool small = most * most < slack;
        if (chi - free <= allowed || small || worst == joints_.size()) break;
        joints_[worst].tangent = false;
    }
    if (std::none_of(joints_.begin(), joints_.end(), [](const ChainJoint& j) { return j.tangent; })) {
        members_ = own;
        solve(false);
    }
    covariance_ *= scale_ * scale_;
    placeJoints();
}

Vec2 PieceChain::meeting(const ChainMember& a, const ChainMember& b, bool tangent) const {
    const Vec2 near = 0.5 * (a.last + b.first);
    if (tangent) {
        // Between the two nearest places, which coincide where they touch.
        if (!a.arc) return a.nearest(b.at);
        if (!b.arc) return b.nearest(a.at);
        const Vec2 u = (b.at - a.at).normalized();
        const Vec2 p = a.at + a.radius * u, q = a.at - a.radius * u;
        return (p - near).norm() < (q - near).norm() ? p : q;
    }
    std::vector<Vec2> found;
    const auto lineOf = [](const ChainMember& m) { return geometry::Line{m.at, m.direction()}; };
    const auto circleOf = [](const ChainMember& m) { return geometry::Circle{m.at, m.radius}; };
    if (!a.arc && !b.arc) {
        if (const auto x = geometry::intersect(lineOf(a), lineOf(b), 0.01)) found.push_back(*x);
    } else if (a.arc && b.arc) {
        found = geometry::intersect(circleOf(a), circleOf(b), 0.5);
    } else {
        found = a.arc ? geometry::intersect(lineOf(b), circleOf(a), 0.5)
                      : geometry::intersect(lineOf(a), circleOf(b), 0.5);
    }
    Vec2 best = 0.5 * (a.nearest(near) + b.nearest(near));
    double least = 12.0;  // px; farther off it is not where they meet
    for (const Vec2& p : found)
        if ((p - near).norm() < least) least = (p - near).norm(), best = p;
    return best;
}

void PieceChain::placeJoints() {
    for (std::size_t j = 0; j < joints_.size(); ++j) {
        const std::size_t k = j, l = after(k);
        joints_[j].at = meeting(members_[k], members_[l], joints_[j].tangent);
        Eigen::Matrix<double, 2, 2 * kPer> slope;
        for (int c = 0; c < 2 * kPer; ++c) {
            Vec3 step = Vec3::Zero();
            const ChainMember& moved = members_[c < kPer ? k : l];
            step(c % kPer) = !moved.arc && c % kPer == 1 ? 1e-6 : 1e-4;
            std::array<Vec2, 2> ends;
            for (int side = 0; side < 2; ++side) {
                ChainMember a = members_[k], b = members_[l];
                moveMember(c < kPer ? a : b, side == 0 ? Vec3(-step) : step);
                ends[static_cast<std::size_t>(side)] = meeting(a, b, joints_[j].tangent);
            }
            slope.col(c) = (ends[1] - ends[0]) / (2.0 * step(c % kPer));
        }
        Eigen::Matrix<double, 2 * kPer, 2 * kPer> c;
        c << covariance_.block<3, 3>(columnOf(k), columnOf(k)),
            covariance_.block<3, 3>(columnOf(k), columnOf(l)),
            covariance_.block<3, 3>(columnOf(l), columnOf(k)),
            covariance_.block<3, 3>(columnOf(l), columnOf(l));
        joints_[j].covariance = slope * c * slope.transpose();
    }
}

double PieceChain::sigmaAt(std::size_t member, const Vec2& place) const {
    const Eigen::Index c = columnOf(member);
    const Vec3 row = slopeAt(members_[member], place);
    return std::sqrt(std::max(0.0, row.dot(covariance_.block<3, 3>(c, c) * row)));
}

double PieceChain::radiusSigma(std::size_t member) const {
    const Eigen::Index c = columnOf(member) + 2;
    return members_[member].arc ? std::sqrt(std::max(0.0, covariance_(c, c))) : 0.0;
}

}  // namespace trammel::fit
