// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/StartKinds.h"

#include <Eigen/Eigenvalues>
#include <Eigen/SVD>
#include <algorithm>
#include <cmath>
#include <map>

namespace trammel::adjust {
namespace {

/// Mean and principal axes of points; the first column is the longer axis.
struct Scatter {
    Vec2 mean = Vec2::Zero();
    Mat2 axes;
    Vec2 spread;  ///< standard deviation along each

    explicit Scatter(const std::vector<Vec2>& points) {
        for (const Vec2& p : points) mean += p / static_cast<double>(points.size());
        Mat2 sum = Mat2::Zero();
        for (const Vec2& p : points) sum += (p - mean) * (p - mean).transpose();
        const Eigen::SelfAdjointEigenSolver<Mat2> eigen(sum / static_cast<double>(points.size()));
        axes << eigen.eigenvectors().col(1), eigen.eigenvectors().col(0);
        spread = Vec2(eigen.eigenvalues()[1], eigen.eigenvalues()[0]).cwiseMax(0.0).cwiseSqrt();
    }
};

/// The affine image of a station at the datum origin: px = A X + g.
Mat23 affine(const StationState& s) { return std::exp(s.lnScale) * s.R.topRows<2>(); }

std::map<int, std::vector<Vec2>> byStation(const std::vector<const ImagePoint*>& points) {
    std::map<int, std::vector<Vec2>> out;
    for (const ImagePoint* p : points) out[p->station].push_back(p->px);
    return out;
}

}  // namespace

void fitSlot(FeatureState& f, const std::vector<Vec2>& rim) {
    const Scatter s(rim);
    Vec2 low(INFINITY, INFINITY), high = -low;
    for (const Vec2& p : rim) {
        const Vec2 q = s.axes.transpose() * (p - s.mean);
        low = low.cwiseMin(q);
        high = high.cwiseMax(q);
    }
    f.r = std::max((high.y() - low.y()) / 2, 1e-6);
    const double half = std::max((high.x() - low.x()) / 2 - f.r, 0.1 * f.r);
    const Vec2 middle = s.mean + s.axes * (low + high) / 2;
    f.a = middle - half * s.axes.col(0);
    f.b = middle + half * s.axes.col(0);
}

void fitCurve(FeatureState& f, const std::vector<Vec2>& course) {
    const std::size_t n = f.nodes.size();
    if (n == 0 || course.size() < 2) return;
    // A closed curve goes on from its last point to its first: the step between them counts as all others.
    const auto points = static_cast<double>(course.size());
    for (std::size_t i = 0; i < n; ++i) {
        const double at = f.closed ? points * static_cast<double>(i) / static_cast<double>(n)
                                   : (points - 1) * static_cast<double>(i) / static_cast<double>(n - 1);
        const std::size_t before = std::min(static_cast<std::size_t>(at), course.size() - (f.closed ? 1 : 2));
        const double t = at - static_cast<double>(before);
        f.nodes[i] = (1 - t) * course[before] + t * course[(before + 1) % course.size()];
    }
}

bool placeFreeEdge(Network& n, std::size_t feature, const std::vector<const ImagePoint*>& points) {
    FeatureState& f = n.state().features[feature];
    const auto views = byStation(points);
    if (views.size() < 2) return false;
    // Plane of sight of one photograph: across · (A X + g − middle) = 0.
    MatX planes(static_cast<Eigen::Index>(views.size()), 3);
    VecX right(planes.rows());
    Eigen::Index row = 0;
    for (const auto& [station, px] : views) {
        const Scatter s(px);
        const StationState& st = n.state().stations[at(station)];
        const Vec2 across = s.axes.col(1);
        const Eigen::RowVector3d plane = across.transpose() * affine(st);
        const double size = std::max(plane.norm(), 1e-12);
        planes.row(row) = plane / size;
        right[row++] = across.dot(s.mean - st.g) / size;
    }
    const Eigen::JacobiSVD<MatX> svd(planes, Eigen::ComputeThinU | Eigen::ComputeFullV);
    if (!(svd.singularValues()[1] > 0.05)) return false;
    const Vec3 u = svd.matrixV().col(2);
    Vec3 p = Vec3::Zero();
    for (int k = 0; k < 2; ++k)
        p += svd.matrixV().col(k) * svd.matrixU().col(k).dot(right) / svd.singularValues()[k];
    double low = INFINITY, high = -INFINITY;
    for (const ImagePoint* q : points) {
        const StationState& st = n.state().stations[at(q->station)];
        const Vec2 run = affine(st) * u;
        if (run.norm() < 0.1 * std::exp(st.lnScale)) continue;
        const double t = run.dot(q->px - st.g - affine(st) * p) / run.squaredNorm();
        low = std::min(low, t);
        high = std::max(high, t);
    }
    if (!(high > low)) return false;
    const Vec3 a = p + low * u, b = p + high * u;
    f.a = a.head<2>();
    f.b = b.head<2>();
    f.za = a.z();
    f.zb = b.z();
    return true;
}

void placeFreeCircle(Network& n, std::size_t feature, const std::vector<const ImagePoint*>& points) {
    FeatureState& f = n.state().features[feature];
    double roundest = -1.0;
    for (const auto& [station, px] : byStation(points)) {
        if (px.size() < 3) continue;
        const Scatter s(px);
        const double round = s.spread.y() / std::max(s.spread.x(), 1e-12);
        if (round <= roundest) continue;
        roundest = round;
        const StationState& st = n.state().stations[at(station)];
        f.normal = st.R.row(2).transpose();
        double reach = 0.0;
        for (const Vec2& p : px) reach = std::max(reach, (p - s.mean).norm());
        f.r = reach / std::exp(st.lnScale);
    }
}

}  // namespace trammel::adjust
