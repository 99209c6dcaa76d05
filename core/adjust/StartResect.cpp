// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/StartResect.h"

#include <Eigen/Cholesky>
#include <Eigen/Eigenvalues>
#include <Eigen/Geometry>
#include <Eigen/QR>
#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>

#include "core/adjust/Projection.h"
#include "core/math/Rotation.h"

namespace trammel::adjust {
namespace {

/// A point with its image. `level` counts the levels of unknown height, −1: z is known.
struct Pair {
    Vec3 X = Vec3::Zero();
    Vec2 px = Vec2::Zero();
    double sigma = 1.0;
    int level = -1;
};

/// A marked point of a known edge from a to b, observed across it.
struct LinePair {
    Vec3 a = Vec3::Zero(), b = Vec3::UnitX();
    Vec2 px = Vec2::Zero();
    double sigma = 1.0;
    int level = -1;
};

struct Resection {
    std::vector<Pair> pairs;
    std::vector<LinePair> lines;
    int levels = 0;       ///< of unknown height
    GroupState group;     ///< without distortion
    bool relief = false;  ///< two known heights and more
    double size = 1e-9;   ///< mm
    Mat3 square = Mat3::Identity();
    double squareSigma = 0.0;  ///< 0: no prior on the direction
};

class Gatherer {
  public:
    Gatherer(const Hypothesis& h, const Network& n, int station) : h_(h), n_(n), station_(station) {}

    Resection gather(bool edges) {
        addPoints();
        if (edges) addEdges();
        r_.levels = static_cast<int>(unknown_.size());
        if (!(high_ >= low_) && r_.levels > 0) {  // no height known: they count from the first level then
            --r_.levels;
            for (Pair& pair : r_.pairs) --pair.level;
            for (LinePair& line : r_.lines) --line.level;
        }
        r_.relief = high_ - low_ > 0.02 * r_.size;
        r_.group = h_.state.groups[at(h_.state.stations[at(station_)].group)];
        r_.group.K.fill(0.0);
        const survey::Station& s = n_.survey().stations[at(station_)];
        r_.square = survey::squareRotation(s.view);
        if (s.view != survey::View::Oblique)
            r_.squareSigma = s.squareSigma_rad > 0 ? std::max(s.squareSigma_rad, 0.05) : 0.35;
        return r_;
    }

  private:
    int levelOf(int level, bool known) {
        return known ? -1 : unknown_.emplace(level, static_cast<int>(unknown_.size())).first->second;
    }
    void addPoints() {
        for (const Sighting& s : h_.points.seen) {
            const StartPoint& p = h_.points.points[at(s.point)];
            if (s.station != station_ || !p.plan || (!p.space && p.level < 0)) continue;
            Pair pair{h_.position(p), s.px, s.sigma, levelOf(p.level, p.space)};
            if (p.space)
                low_ = std::min(low_, pair.X.z()), high_ = std::max(high_, pair.X.z());
            else
                pair.X.z() = 0.0;
            r_.size = std::max(r_.size, pair.X.norm());
            r_.pairs.push_back(pair);
        }
    }
    void addEdges() {
        for (const ImagePoint& p : n_.points()) {
            const FeatureState& f = h_.state.features[at(p.feature)];
            if (p.station != station_ || !n_.owners()[at(p.owner)].active ||
                f.kind != survey::FeatureKind::Edge || f.level < 0 || !h_.known.featurePlan[at(p.feature)])
                continue;
            const bool known = h_.known.level[at(f.level)];
            const double z = known ? h_.state.levels[at(f.level)] : 0.0;
            if (known) low_ = std::min(low_, z), high_ = std::max(high_, z);
            r_.lines.push_back(
                {{f.a.x(), f.a.y(), z}, {f.b.x(), f.b.y(), z}, p.px, 1.0, levelOf(f.level, known)});
        }
    }

    const Hypothesis& h_;
    const Network& n_;
    int station_;
    Resection r_;
    std::map<int, int> unknown_;
    double low_ = INFINITY, high_ = -INFINITY;  ///< known heights
};

/// State of one resection: the camera and the heights of unknown levels.
struct Trial {
    StationState station;
    VecX heights;
    double cost = INFINITY;

    Vec3 place(const Vec3& X, int level) const { return level < 0 ? X : Vec3(X.x(), X.y(), heights[level]); }
    Vec3 place(const Pair& p) const { return place(p.X, p.level); }
};

/// The point of an edge nearest to a mark in the image, and the direction across. False where the edge is
/// seen end on.
bool foot(const Resection& r, const Trial& t, const LinePair& line, Vec3& X, Vec2& across) {
    const Vec3 a = t.place(line.a, line.level), b = t.place(line.b, line.level);
    Vec2 ua, ub;
    if (!projectPoint(r.group, t.station, a, ua) || !projectPoint(r.group, t.station, b, ub)) return false;
    const Vec2 along = ub - ua;
    if (!(along.norm() > 5.0)) return false;
    X = a + std::clamp(along.dot(line.px - ua) / along.squaredNorm(), -1.0, 2.0) * (b - a);
    across = Vec2(-along.y(), along.x()).normalized();
    return true;
}

double costOf(const Resection& r, const Trial& t) {
    double sum = 0.0;
    for (const Pair& p : r.pairs) {
        Vec2 u;
        if (!projectPoint(r.group, t.station, t.place(p), u)) return INFINITY;
        sum += (p.px - u).squaredNorm() / (p.sigma * p.sigma);
    }
    for (const LinePair& line : r.lines) {
        Vec3 X;
        Vec2 u, across;
        if (foot(r, t, line, X, across) && projectPoint(r.group, t.station, X, u))
            sum += std::pow(across.dot(line.px - u) / line.sigma, 2);
        else
            sum += 1e6;  // an edge that was marked was not end on
    }
    if (r.squareSigma > 0) {
        const Mat3 A = t.station.R * r.square.transpose();
        sum += (A(2, 0) * A(2, 0) + A(2, 1) * A(2, 1)) / (r.squareSigma * r.squareSigma);
    }
    return sum;
}

/// Normal equations in rotation, ln scale, offset and heights.
struct Equations {
    MatX N;
    VecX g;
    explicit Equations(int levels) : N(MatX::Zero(6 + levels, 6 + levels)), g(VecX::Zero(6 + levels)) {}

    /// One image component: derivative by the camera, by the height of a level, miss and weight.
    void add(const Eigen::Matrix<double, 1, 6>& J, double byHeight, int level, double e, double w) {
        N.topLeftCorner<6, 6>() += w * J.transpose() * J;
        g.head<6>() += w * J.transpose() * e;
        if (level < 0) return;
        const Eigen::Index c = 6 + level;
        N.block<6, 1>(0, c) += w * byHeight * J.transpose();
        N.block<1, 6>(c, 0) += w * byHeight * J;
        N(c, c) += w * byHeight * byHeight;
        g[c] += w * byHeight * e;
    }
};

Equations normalEquations(const Resection& r, const Trial& t) {
    Equations eq(r.levels);
    const auto byCamera = [](const Projected& proj) {
        Eigen::Matrix<double, 2, 6> J;
        J << proj.byRotation, proj.byLnScale, proj.byG;
        return J;
    };
    Projected proj;
    for (const Pair& p : r.pairs) {
        if (!projectPoint(r.group, t.station, t.place(p), proj)) continue;
        const auto J = byCamera(proj);
        const Vec2 e = p.px - proj.u;
        for (int k = 0; k < 2; ++k)
            eq.add(J.row(k), proj.byPoint(k, 2), p.level, e[k], 1.0 / (p.sigma * p.sigma));
    }
    for (const LinePair& line : r.lines) {
        Vec3 X;
        Vec2 across;
        if (!foot(r, t, line, X, across) || !projectPoint(r.group, t.station, X, proj)) continue;
        eq.add(across.transpose() * byCamera(proj), across.dot(proj.byPoint.col(2)), line.level,
               across.dot(line.px - proj.u), 1.0 / (line.sigma * line.sigma));
    }
    if (r.squareSigma > 0) {
        const Mat3 A = t.station.R * r.square.transpose();
        const double w = 1.0 / (r.squareSigma * r.squareSigma);
        for (int k = 0; k < 2; ++k) {
            Eigen::Matrix<double, 1, 6> J = Eigen::Matrix<double, 1, 6>::Zero();
            J[0] = A(1, k), J[1] = -A(0, k);
            eq.add(J, 0.0, -1, -A(2, k), w);
        }
    }
    return eq;
}

void refine(const Resection& r, Trial& t) {
    t.cost = costOf(r, t);
    if (!std::isfinite(t.cost)) return;
    double lambda = 1e-3;
    for (int i = 0; i < 25; ++i) {
        const auto [N, g] = normalEquations(r, t);
        bool better = false;
        double fall = 0.0;
        for (int tries = 0; tries < 8 && !better; ++tries) {
            MatX damped = N;
            damped.diagonal() += lambda * N.diagonal() + VecX::Constant(N.rows(), 1e-12);
            const VecX d = damped.ldlt().solve(g);
            Trial next = t;
            next.station.R = nearestRotation(rotationExp(d.head<3>()) * t.station.R);
            next.station.lnScale += std::clamp(d[3], -1.0, 1.0);
            next.station.g += d.segment<2>(4);
            next.heights += d.tail(r.levels);
            next.cost = costOf(r, next);
            better = next.cost < t.cost;
            lambda *= better ? 0.2 : 5.0;
            if (better) fall = (t.cost - next.cost) / t.cost, t = next;
        }
        if (!better || fall < 1e-3) break;
    }
}

/// The affine camera px' = A (x, y) + b z + offset, one offset for all known heights and one for each
/// unknown.
struct Affine {
    Mat2 A = Mat2::Zero();
    Vec2 b = Vec2::Zero();
    std::vector<Vec2> offsets;
};

bool solveAffine(const Resection& r, const std::vector<Vec2>& px, Affine& out) {
    const auto rows = static_cast<Eigen::Index>(r.pairs.size());
    const Eigen::Index first = r.relief ? 3 : 2, columns = first + 1 + r.levels;
    if (rows < columns) return false;
    MatX M = MatX::Zero(rows, columns), right(rows, 2);
    for (Eigen::Index i = 0; i < rows; ++i) {
        const Pair& p = r.pairs[static_cast<std::size_t>(i)];
        const double w = 1.0 / p.sigma;
        M(i, 0) = w * p.X.x() / r.size;
        M(i, 1) = w * p.X.y() / r.size;
        if (r.relief && p.level < 0) M(i, 2) = w * p.X.z() / r.size;
        M(i, first + 1 + p.level) = w;
        right.row(i) = w * px[static_cast<std::size_t>(i)].transpose();
    }
    Eigen::ColPivHouseholderQR<MatX> qr(M);
    qr.setThreshold(1e-3);
    if (qr.rank() < columns) return false;
    const MatX x = qr.solve(right);
    out.A = x.topRows<2>().transpose() / r.size;
    if (r.relief) out.b = x.row(2).transpose() / r.size;
    out.offsets.clear();
    for (Eigen::Index i = first; i < columns; ++i) out.offsets.push_back(x.row(i).transpose());
    return true;
}

/// Scaled rotation from the affine camera; `sign` chooses between the two tilts of a plane.
Trial fromAffine(const Resection& r, const Affine& a, double sign) {
    Trial t;
    t.heights = VecX::Zero(r.levels);
    const Eigen::SelfAdjointEigenSolver<Mat2> eigen(a.A * a.A.transpose());
    double scale = std::sqrt(std::max(eigen.eigenvalues()[1], 1e-18));
    Vec2 z = sign * std::sqrt(std::max(1.0 - eigen.eigenvalues()[0] / (scale * scale), 0.0)) *
             eigen.eigenvectors().col(0);
    if (r.relief) {
        const Vec3 r0(a.A(0, 0), a.A(0, 1), a.b.x()), r1(a.A(1, 0), a.A(1, 1), a.b.y());
        scale = std::max((r0.norm() + r1.norm()) / 2, 1e-9);
        z = a.b / scale;
    }
    Mat3 R;
    R.row(0) << a.A.row(0) / scale, z.x();
    R.row(1) << a.A.row(1) / scale, z.y();
    R.row(2) = R.row(0).cross(R.row(1));
    t.station.R = nearestRotation(R);
    t.station.lnScale = std::log(scale);
    t.station.g = a.offsets.front();
    const double zz = z.squaredNorm();
    for (int l = 0; l < r.levels; ++l)
        if (zz > 1e-3) t.heights[l] = z.dot(a.offsets[at(l + 1)] - t.station.g) / (scale * zz);
    return t;
}

/// Affine camera, with the images freed of the perspective that the last round shows.
bool posit(const Resection& r, int group, double sign, Trial& t) {
    std::vector<Vec2> px;
    for (const Pair& p : r.pairs) px.push_back(p.px);
    for (int round = 0; round < 4; ++round) {
        Affine a;
        if (!solveAffine(r, px, a)) return false;
        t = fromAffine(r, a, sign);
        t.station.group = group;
        const double strength = std::exp(r.group.lnKappa + t.station.lnScale);
        for (std::size_t i = 0; i < px.size(); ++i) {
            const double depth = 1.0 + strength * t.station.R.row(2).dot(t.place(r.pairs[i]));
            px[i] = r.group.pp + std::clamp(depth, 0.5, 2.0) * (r.pairs[i].px - r.group.pp);
        }
    }
    return true;
}

/// Roll, scale and offset for a given direction: the image of (R X)_xy by a similarity.
bool similarity(const Resection& r, Trial& t) {
    Vec2 mean = Vec2::Zero(), meanPx = Vec2::Zero();
    const double n = static_cast<double>(r.pairs.size());
    for (const Pair& p : r.pairs) mean += (t.station.R * t.place(p)).head<2>() / n, meanPx += p.px / n;
    double dot = 0.0, cross = 0.0, square = 0.0;
    for (const Pair& p : r.pairs) {
        const Vec2 a = (t.station.R * t.place(p)).head<2>() - mean, b = p.px - meanPx;
        dot += a.dot(b);
        cross += a.x() * b.y() - a.y() * b.x();
        square += a.squaredNorm();
    }
    const double scale = std::hypot(dot, cross) / std::max(square, 1e-12);
    if (!(scale > 0)) return false;
    const Mat3 turn = rotationExp(Vec3(0, 0, std::atan2(cross, dot)));
    t.station.R = turn * t.station.R;
    t.station.lnScale = std::log(scale);
    t.station.g = meanPx - scale * (turn.topLeftCorner<2, 2>() * mean);
    return true;
}

/// Scale and offset for a given rotation from points and edges: one linear system.
bool scaleAndOffset(const Resection& r, Trial& t) {
    Mat3 N = 1e-12 * Mat3::Identity();
    Vec3 right = Vec3::Zero();
    const auto add = [&](const Vec2& direction, const Vec3& X, const Vec2& px) {
        const Vec3 row(direction.dot((t.station.R * X).head<2>()) / r.size, direction.x(), direction.y());
        N += row * row.transpose();
        right += row * direction.dot(px);
    };
    for (const Pair& p : r.pairs) add(Vec2::UnitX(), t.place(p), p.px), add(Vec2::UnitY(), t.place(p), p.px);
    for (const LinePair& line : r.lines) {
        const Vec3 a = t.place(line.a, line.level), b = t.place(line.b, line.level);
        const Vec2 along = (t.station.R * (b - a)).head<2>();
        if (along.norm() > 0.05 * (b - a).norm()) add(Vec2(-along.y(), along.x()).normalized(), a, line.px);
    }
    const Vec3 x = N.ldlt().solve(right);
    if (!(x[0] > 0)) return false;
    t.station.lnScale = std::log(x[0] / r.size);
    t.station.g = x.tail<2>();
    return true;
}

/// Directions all around, from above and from the side; a principal view from near its own.
std::vector<Mat3> directions(const Resection& r, bool principal) {
    std::vector<Mat3> out;
    if (principal) {
        out.push_back(r.square);
        for (int i = 0; i < 6; ++i) {
            const double a = i * std::numbers::pi / 3;
            out.push_back(rotationExp(0.3 * Vec3(std::cos(a), std::sin(a), 0)) * r.square);
        }
        return out;
    }
    const Mat3 top = survey::squareRotation(survey::View::Top);
    for (const double tilt : {0.0, 0.45, 0.9, 1.35})
        for (int i = 0; i < (tilt == 0.0 ? 1 : 10); ++i) {
            const double a = i * std::numbers::pi / 5;
            out.push_back(top * rotationExp(tilt * Vec3(-std::sin(a), std::cos(a), 0)));
        }
    return out;
}

bool same(const StationState& a, const StationState& b) {
    return rotationLog(a.R * b.R.transpose()).norm() < 0.02;
}

/// Nobody holds the camera upside down without saying so: what a roll away from upright must gain in fit.
double rollPenalty(const Resection& r, const Trial& t) {
    const Mat3 A = t.station.R * r.square.transpose();
    return 40.0 * (1.0 - A(0, 0) / std::max(std::hypot(A(0, 0), A(0, 1)), 1e-9));
}

void keep(std::vector<Trial>& found, const Trial& t) {
    if (!std::isfinite(t.cost)) return;
    for (Trial& f : found)
        if (same(f.station, t.station)) {
            if (t.cost < f.cost) f = t;
            return;
        }
    found.push_back(t);
}

/// Whether one of the ways misses its marks by less than 5 px on average.
bool fair(const Resection& r, const std::vector<Trial>& found) {
    constexpr double kFair = 25.0;
    const double count = static_cast<double>(2 * r.pairs.size() + r.lines.size());
    return std::any_of(found.begin(), found.end(), [&](const Trial& t) { return t.cost < kFair * count; });
}

void tryAllAround(const Resection& r, int group, bool principal, std::vector<Trial>& found) {
    for (const Mat3& R : directions(r, principal)) {
        Trial t;
        t.heights = VecX::Zero(r.levels);
        t.station.R = R;
        t.station.group = group;
        if (r.lines.empty()) {
            if (!similarity(r, t)) continue;
            refine(r, t);
            keep(found, t);
            continue;
        }
        for (int roll = 0; roll < 4; ++roll) {
            if (roll > 0 && fair(r, found)) break;
            Trial rolled = t;
            rolled.station.R = rotationExp(Vec3(0, 0, roll * std::numbers::pi / 2)) * R;
            if (!scaleAndOffset(r, rolled)) continue;
            refine(r, rolled);
            keep(found, rolled);
        }
    }
}

}  // namespace

StationState squareOn(const Hypothesis& h, const Network& network, int station) {
    const Resection r = Gatherer(h, network, station).gather(true);
    Trial t;
    t.heights = VecX::Zero(r.levels);
    t.station.R = r.square;
    t.station.group = h.state.stations[at(station)].group;
    double scale = 0.0, others = 0.0;
    for (std::size_t s = 0; s < h.known.station.size(); ++s)
        if (h.known.station[s]) scale += h.state.stations[s].lnScale, others += 1.0;
    const bool found = r.pairs.size() + r.lines.size() >= 3 && scaleAndOffset(r, t);
    if (found) return t.station;
    t.station.lnScale = others > 0 ? scale / others : 0.0;  // about as far away as the others
    if (!r.pairs.empty()) {
        const Pair& p = r.pairs.front();
        t.station.g = p.px - std::exp(t.station.lnScale) * (t.station.R * t.place(p)).head<2>();
    }
    return t.station;
}

int usablePoints(const Hypothesis& h, int station) {
    int count = 0;
    for (const Sighting& s : h.points.seen) {
        const StartPoint& p = h.points.points[at(s.point)];
        count += s.station == station && p.plan && (p.space || p.level >= 0);
    }
    return count;
}

std::vector<Orientation> orientStation(const Hypothesis& h, const Network& network, int station, bool edges) {
    const Resection r = Gatherer(h, network, station).gather(edges);
    const bool principal = network.survey().stations[at(station)].view != survey::View::Oblique;
    const std::size_t equations = 2 * r.pairs.size() + r.lines.size() + (r.squareSigma > 0 ? 2 : 0);
    // Too few points alone allow several ways: edges then come first.
    const std::size_t spare = edges ? 0 : 2, least = edges && principal ? 2 : 3;
    if ((r.pairs.size() < least && r.lines.empty()) || equations < at(6 + r.levels) + spare) return {};
    const int group = h.state.stations[at(station)].group;
    std::vector<Trial> found;
    for (const double sign : {1.0, -1.0}) {
        Trial t;
        if (!r.lines.empty() || !posit(r, group, sign, t)) break;
        refine(r, t);
        keep(found, t);
        if (r.relief) break;
    }
    const bool manyWays =
        r.pairs.size() == 3 && r.lines.empty() && !principal;  // up to four fit three points
    if (manyWays || !fair(r, found)) tryAllAround(r, group, principal, found);
    if (principal)
        for (Trial& t : found) t.cost += rollPenalty(r, t);
    std::sort(found.begin(), found.end(), [](const Trial& a, const Trial& b) { return a.cost < b.cost; });
    // A view that was named is believed while it fits at all.
    const auto offView = [&](const Trial& t) { return (t.station.R * r.square.transpose())(2, 2) < 0.75; };
    if (principal && !std::all_of(found.begin(), found.end(), offView)) std::erase_if(found, offView);
    std::vector<Orientation> out;
    for (const Trial& t : found) out.push_back({t.station, t.cost});
    return out;
}

}  // namespace trammel::adjust
