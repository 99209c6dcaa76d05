// SPDX-License-Identifier: GPL-3.0-or-later
#include "EdgesDraw.h"

#include <Eigen/Dense>
#include <cmath>
#include <numbers>

namespace trammel::campaign::edges {
namespace {

constexpr double kTurn = 2.0 * std::numbers::pi;

struct Random {
    std::mt19937& engine;
    double uniform(double a, double b) { return std::uniform_real_distribution<double>(a, b)(engine); }
    double gauss() { return std::normal_distribution<double>()(engine); }
    Vec2 shake(double sigma) {
        const double x = gauss();
        return {sigma * x, sigma * gauss()};
    }
};

void drawEdge(Draw& d, Random& random) {
    const Vec2 n = d.shape.normal(), along(-n.y(), n.x());
    d.shape.at = Vec2(129.5, 129.5) + Vec2(random.uniform(-0.5, 0.5), random.uniform(-0.5, 0.5));
    for (const double s : {-0.5, 0.5})
        d.clicks.push_back(d.shape.at + s * d.length_px * along + random.shake(d.hand_px));
}

void drawHole(Draw& d, Random& random) {
    d.shape.at = Vec2(39.5, 39.5) + Vec2(random.uniform(-0.5, 0.5), random.uniform(-0.5, 0.5));
    d.shape.radius = 10.0;
    const double start = random.uniform(0.0, kTurn);
    for (int k = 0; k < 8; ++k) {
        const double t = start + kTurn * k / 8;
        d.clicks.push_back(d.shape.at + d.shape.radius * Vec2(std::cos(t), std::sin(t)) +
                           random.shake(d.hand_px));
    }
}

void drawCorner(Draw& d, Random& random) {
    d.shape.at = Vec2(63.5, 63.5) + Vec2(random.uniform(-0.5, 0.5), random.uniform(-0.5, 0.5));
    d.shape.half = random.uniform(0.55, 1.0);  // opens by 63° to 115°
    d.clicks.push_back(d.shape.at + random.shake(d.hand_px));
    for (const double side : {-1.0, 1.0}) {
        const double t = d.shape.angle + side * d.shape.half;
        d.clicks.push_back(d.shape.at + d.leg_px * Vec2(std::cos(t), std::sin(t)) + random.shake(d.hand_px));
    }
}

/// Circle through points of given σ: unknowns x, y, r.
std::pair<Vec3, Mat3> circleThrough(const std::vector<fit::FitPoint>& points, const Vec3& start) {
    Vec3 x = start;
    Mat3 n = Mat3::Zero();
    for (int pass = 0; pass < 20; ++pass) {
        n.setZero();
        Vec3 g = Vec3::Zero();
        for (const auto& p : points) {
            const Vec2 q = p.px - x.head<2>();
            const double r = q.norm(), w = 1.0 / (p.sigma_px * p.sigma_px);
            const Vec3 j(q.x() / r, q.y() / r, 1.0);
            n += w * j * j.transpose();
            g += w * (r - x.z()) * j;
        }
        x += n.ldlt().solve(g);
    }
    return {x, n.inverse()};
}

}  // namespace

Draw draw(std::mt19937& engine, const DrawOptions& o, const std::filesystem::path& scratch) {
    Random random{engine};
    Draw d;
    d.shape.kind = o.kind;
    d.shape.blur = random.uniform(0.5, 2.5);
    d.shape.angle = random.uniform(0.0, kTurn);
    d.contrast = std::exp(random.uniform(std::log(0.1), std::log(0.8)));
    d.camera.noise = random.uniform(0.0, o.mostNoise);
    d.camera.quality = static_cast<int>(random.uniform(o.lowestQuality, o.highestQuality + 0.999));
    d.camera.halved = random.uniform(0.0, 1.0) < 0.5 && o.halved;
    d.camera.seed = static_cast<unsigned>(engine());
    d.surfaces = drawSurfaces(engine, d.contrast, o.colourful);
    d.darkInside = luminance(d.surfaces.second) < luminance(d.surfaces.first);
    if (o.kind == Kind::Edge) drawEdge(d, random);
    if (o.kind == Kind::Hole) drawHole(d, random);
    if (o.kind == Kind::Corner) drawCorner(d, random);
    const int size = o.kind == Kind::Edge ? 260 : o.kind == Kind::Hole ? 80 : 128;
    d.picture = take(shareOf(d.shape, size, size), d.surfaces, d.camera, scratch);
    if (!o.withBound) return d;
    const Vec2 n = d.shape.normal(), along(-n.y(), n.x());
    const MatX all = bound(d.shape, d.surfaces, d.camera.noise, size, size, [&](const Vec2& p) {
        if (o.kind == Kind::Edge) return std::abs(along.dot(p - d.shape.at)) < 0.5 * d.length_px;
        return o.kind == Kind::Hole || (p - d.shape.at).norm() < d.leg_px;
    });
    d.bound = all.topLeftCorner(all.rows() - 1, all.cols() - 1);
    return d;
}

Found compared(const Draw& d, const fit::Fit& fit) {
    Found out;
    out.blur = fit.blur_px;
    out.blurSigma = fit.blurSigma_px;
    if (d.shape.kind == Kind::Edge) {
        const Vec2 light = d.darkInside ? Vec2(-d.shape.normal()) : d.shape.normal();
        double sum = 0.0, total = 0.0;
        for (const auto& p : fit.points) {
            const double w = 1.0 / (p.sigma_px * p.sigma_px);
            sum += w * light.dot(p.px - d.shape.at);
            total += w;
        }
        out.error = VecX::Constant(1, sum / total);
        out.sigma = VecX::Constant(1, 1.0 / std::sqrt(total));
    } else if (d.shape.kind == Kind::Hole) {
        const Vec3 truth(d.shape.at.x(), d.shape.at.y(), d.shape.radius);
        const auto [x, covariance] = circleThrough(fit.points, truth);
        out.error = x - truth;
        out.sigma = covariance.diagonal().cwiseSqrt();
        out.error(2) *= 2.0;
        out.sigma(2) *= 2.0;
    } else {
        out.error = fit.points.front().px - d.shape.at;
        out.sigma = VecX::Constant(2, fit.points.front().sigma_px);
    }
    return out;
}

Result<Found> fitted(const Draw& d) {
    const photo::LinearImage image = photo::linearLuminance(d.picture);
    fit::FitOptions o;
    o.handSigma_px = d.hand_px;
    o.searchRadius_px = std::max(3.0, 4.0 * d.hand_px);
    const Result<fit::Fit> r = [&] {
        if (d.shape.kind == Kind::Edge) return fit::fitEdge(image, d.clicks[0], d.clicks[1], o);
        if (d.shape.kind == Kind::Hole) return fit::fitRim(image, d.clicks, true, o);
        return fit::fitCorner(image, d.clicks[0], d.clicks[1], d.clicks[2], o);
    }();
    if (!r) return r.error();
    return compared(d, *r);
}

VecX boundOf(const Draw& d) {
    VecX variance = d.bound.diagonal().head(d.shape.kind == Kind::Edge   ? 1
                                            : d.shape.kind == Kind::Hole ? 3
                                                                         : 2);
    if (d.shape.kind == Kind::Hole) variance(2) *= 4.0;
    return variance.cwiseSqrt();
}

}  // namespace trammel::campaign::edges
