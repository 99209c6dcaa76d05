// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/core.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "core/fit/CurveFit.h"
#include "core/fit/EdgeFit.h"
#include "core/fit/Light.h"
#include "core/math/Statistics.h"

namespace trammel::fit {
namespace {

constexpr double kShortestLeg = 14.0;  // px
constexpr double kLeastAngle = 0.26;   // rad, 15°

/// Weighted line n·x = c through points, its centroid, and the covariance of (offset, angle) at the centroid.
struct Line {
    Vec2 centre = Vec2::Zero(), along = Vec2::UnitX(), across = Vec2::UnitY();
    double offsetVariance = 0.0, angleVariance = 0.0;

    /// Variance across the line at distance `reach` from the centroid.
    double varianceAt(double reach) const { return offsetVariance + reach * reach * angleVariance; }
};

/// A leg whose points leave their own line by more than a clear edge scatters is curved, or two edges.
bool straight(const Fit& fit, const Line& line) {
    const std::vector<FitPoint>& points = fit.points;
    const double most = std::max(0.08, 1.3 * fit.formal_px);
    double chi2 = 0.0, worst = 0.0;
    for (const FitPoint& p : points) {
        const double d = line.across.dot(p.px - line.centre);
        // Not the printed σ alone: a bend has widened that, too.
        chi2 += std::pow(d / std::clamp(p.sigma_px, 0.03, most), 2);
        worst = std::max(worst, std::abs(d));
    }
    const double dof = static_cast<double>(points.size()) - 2.0;
    return dof <= 0.0 || worst < 0.05 ||
           (worst < std::max(0.3, 4.0 * fit.formal_px) && chi2 < stats::chiSquareQuantile(0.9995, dof));
}

/// What the points share does not turn their line, except in a JPEG: its errors change from block to block,
/// and where they move the mean of many blocks by so much, they turn the line as well.
Line lineThrough(const Fit& fit, bool lossy) {
    std::vector<FitPoint> points = fit.points;
    const double shared = static_cast<double>(points.size()) * fit.common_px * fit.common_px;
    for (FitPoint& p : points)
        p.sigma_px = std::sqrt(std::max(p.sigma_px * p.sigma_px - shared, 0.04 * p.sigma_px * p.sigma_px));
    Line out;
    double total = 0.0;
    for (const FitPoint& p : points) {
        const double w = 1.0 / (p.sigma_px * p.sigma_px);
        out.centre += w * p.px;
        total += w;
    }
    out.centre /= total;
    Mat2 moment = Mat2::Zero();
    for (const FitPoint& p : points) {
        const Vec2 d = p.px - out.centre;
        moment += d * d.transpose() / (p.sigma_px * p.sigma_px);
    }
    const Eigen::SelfAdjointEigenSolver<Mat2> solver(moment);
    out.along = solver.eigenvectors().col(1);
    out.across = Vec2(-out.along.y(), out.along.x());
    out.offsetVariance = 1.0 / total + fit.common_px * fit.common_px;
    const double moments = std::max(solver.eigenvalues()(1), 1e-12);
    out.angleVariance = (1.0 + (lossy ? total * fit.common_px * fit.common_px : 0.0)) / moments;
    return out;
}

/// The edge must run on to the corner itself: over the 3 px next to the corner's own rounding the steepest
/// place across the fitted line lies on it, and the step there is no less than two thirds of the edge's.
/// Otherwise another edge turns in before, as on the wall of a plate seen obliquely.
bool reaches(const photo::LinearImage& image, const Vec2& corner, const Line& line, const Vec2& away,
             double contrast, double noise, double blur, double sine) {
    const Vec2 along = line.along.dot(away) < 0 ? Vec2(-line.along) : line.along;
    const Vec2 across(-along.y(), along.x());
    const double first = 0.8 + 0.8 * blur;
    auto mean = [&](double d) {
        double sum = 0.0;
        for (int k = 0; k < 7; ++k) sum += lightAt(image, corner + (first + 0.5 * k) * along + d * across);
        return sum / 7.0;
    };
    double best = 0.0, at = 0.0, own = 0.0;
    for (double d = -2.5; d <= 2.5; d += 0.25) {
        const double g = std::abs(mean(d + 0.75) - mean(d - 0.75));
        if (g > best) {
            best = g;
            at = d;
        }
        if (d == 0.0) own = g;
    }
    const double total = std::sqrt(blur * blur + 0.25);  // the pixel's square and the interpolation widen it
    // Near the corner the other edge takes its share of the step away.
    const double share = 0.5 * std::erfc(-(first + 1.5) * sine / (total * 1.41421356));
    const double expected = contrast * share * std::erf(0.75 / (total * 1.41421356));
    // Of a difference of two means of seven interpolated places (about four pixels each).
    const double chance = noise / Tone().at(lightAt(image, corner)).slope * std::sqrt(2.0 / 4.0);
    return own > 0.66 * expected - 2.0 * chance && (std::abs(at) <= 0.75 || best - own < 3.0 * chance);
}

}  // namespace

Result<Fit> fitCorner(const photo::LinearImage& image, const Vec2& at, const Vec2& alongA, const Vec2& alongB,
                      const FitOptions& options, std::vector<Rival>* rivals) {
    if (!at.allFinite() || !alongA.allFinite() || !alongB.allFinite())
        return Error{ErrorCode::BadValue, "the corner's coordinates are not finite", "", "place it again"};
    Line lines[2];
    Vec2 growth = Vec2::Zero();  // across either line, px
    double contrasts[2] = {0.0, 0.0}, noises[2] = {0.0, 0.0};
    Fit out;
    const Vec2 ends[2] = {alongA, alongB};
    for (int k = 0; k < 2; ++k) {
        const double leg = (ends[k] - at).norm();
        if (leg < kShortestLeg)
            return refuse("an edge of this corner is too short to fit", "keep the corner by hand");
        // The corner's own rounding by the blur must not pull the line: keep clear of it, hand error
        // included.
        const double gap = std::min(0.3 * leg, 4.0 + options.handSigma_px);
        FitOptions own = options;
        own.chosen[0] = options.chosen[k];
        const Result<Fit> edge = fitEdge(image, at + (ends[k] - at) * (gap / leg), ends[k], own, rivals);
        if (!edge) {
            if (rivals)
                for (Rival& r : *rivals) r.leg = k;
            return edge.error();
        }
        lines[k] = lineThrough(*edge, image.codes.lossy);
        for (const FitPoint& p : edge->points)
            growth[k] += lines[k].across.dot(p.growth_px) / static_cast<double>(edge->points.size());
        if (!straight(*edge, lines[k]))
            return refuse("an edge of this corner is not straight", "keep the corner by hand");
        if (k == 0 || edge->blur_px > out.blur_px) {
            out.blur_px = edge->blur_px;
            out.blurSigma_px = edge->blurSigma_px;
        }
        contrasts[k] = edge->contrast;
        noises[k] = edge->noise;
        out.contrast = k == 0 ? edge->contrast : std::min(out.contrast, edge->contrast);
        out.samples += edge->samples;
    }
    const double sine = lines[0].along.x() * lines[1].along.y() - lines[0].along.y() * lines[1].along.x();
    if (std::abs(sine) < std::sin(kLeastAngle))
        return refuse("the two edges of this corner are nearly parallel",
                      "mark the edges themselves instead");
    Mat2 normals;
    normals << lines[0].across.transpose(), lines[1].across.transpose();
    const Vec2 corner =
        normals.inverse() * Vec2(lines[0].across.dot(lines[0].centre), lines[1].across.dot(lines[1].centre));
    const double moved = (corner - at).norm();
    // Further than a hand errs in 995 of 1000 marks, the edges are those of another corner.
    if (moved > std::min(1.5 * options.searchRadius_px,
                         options.handSigma_px * std::sqrt(stats::chiSquareQuantile(0.995, 2.0))))
        return refuse(fmt::format("the edges meet {:.1f} px from the corner marked", moved),
                      "place the corner and its edges again");
    for (int k = 0; k < 2; ++k)
        if (!reaches(image, corner, lines[k], ends[k] - at, contrasts[k], noises[k], out.blur_px,
                     std::abs(sine)))
            return refuse("the edges of this corner do not reach it", "keep the corner by hand");
    Mat2 variance = Mat2::Zero();
    for (int k = 0; k < 2; ++k) variance(k, k) = lines[k].varianceAt((corner - lines[k].centre).norm());
    const Mat2 covariance = normals.inverse() * variance * normals.inverse().transpose();
    const Eigen::SelfAdjointEigenSolver<Mat2> solver(covariance);
    out.points.push_back({corner, std::sqrt(solver.eigenvalues()(1)), normals.inverse() * growth});
    if (!(out.points[0].sigma_px < 1.0)) return refuse("the corner's edges are too faint", "keep it by hand");
    return out;
}

}  // namespace trammel::fit
