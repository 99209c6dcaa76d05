// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/mount/PatternFit.h"

#include <Eigen/Cholesky>
#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>
#include <random>

namespace trammel::mount {
namespace {

constexpr std::size_t kMostHoles = 400;
constexpr double kWork = 2e9;  // multiplications; draws of large patterns are fewer for it

/// The largest |error| over clearance by a shift and a turn, smoothed: (1/k) ln Σ exp(k g), which is convex
/// and lies at most ln(n)/k above the largest g. Newton's method on it, k growing from stage to stage.
class Largest {
  public:
    Largest(const std::vector<Vec2>& places, const std::vector<Vec2>& errors,
            const std::vector<double>& clearances)
        : errors_(errors), clearances_(clearances) {
        Vec2 middle = Vec2::Zero();
        for (const Vec2& p : places) middle += p / static_cast<double>(places.size());
        double size = 1e-9;
        for (const Vec2& p : places) size = std::max(size, (p - middle).norm());
        for (const Vec2& p : places) turns_.push_back(Vec2(-(p - middle).y(), (p - middle).x()) / size);
    }

    bool withinOne() {
        const double n = static_cast<double>(errors_.size());
        for (const double k : {4.0, 32.0, 256.0, 4096.0, 65536.0}) {
            for (int i = 0; i < 40; ++i) {
                const double value = look(p_, k, true);
                if (most_ <= 1.0) return true;
                Mat3 h = hessian_;
                h.diagonal().array() += 1e-12 * (1.0 + h.trace());
                const Vec3 step = -h.ldlt().solve(gradient_);
                const double slope = gradient_.dot(step);
                if (!step.allFinite() || slope > -1e-10) break;
                double t = 1.0;
                while (t > 1e-6 && look(p_ + t * step, k, false) > value + 0.25 * t * slope) t *= 0.5;
                p_ += t * step;
            }
            const double value = look(p_, k, false);
            if (most_ <= 1.0) return true;
            if (value - std::log(n) / k > 1.0) return false;  // the least of the largest g is above this
        }
        return most_ <= 1.0 + 1e-4;
    }

  private:
    double look(const Vec3& p, double k, bool derive) {
        const std::size_t n = errors_.size();
        g_.resize(n), u_.resize(n), length_.resize(n);
        most_ = 0.0;
        for (std::size_t i = 0; i < n; ++i) {
            const Vec2 d = errors_[i] - p.head<2>() - p.z() * turns_[i];
            length_[i] = std::sqrt(d.squaredNorm() + 1e-18);
            u_[i] = d / length_[i];
            g_[i] = length_[i] / clearances_[i];
            most_ = std::max(most_, g_[i]);
        }
        double sum = 0.0;
        for (const double g : g_) sum += std::exp(k * (g - most_));
        if (derive) differentiate(k, sum);
        return most_ + std::log(sum) / k;
    }

    void differentiate(double k, double sum) {
        gradient_.setZero(), hessian_.setZero();
        Mat3 outer = Mat3::Zero();
        for (std::size_t i = 0; i < g_.size(); ++i) {
            const double w = std::exp(k * (g_[i] - most_)) / sum, c = clearances_[i];
            if (w < 1e-14) continue;
            const Vec2 across(-u_[i].y(), u_[i].x());
            const Vec3 along(u_[i].x(), u_[i].y(), u_[i].dot(turns_[i]));
            const Vec3 aside(across.x(), across.y(), across.dot(turns_[i]));
            const Vec3 gradient = -along / c;
            gradient_ += w * gradient;
            outer += w * gradient * gradient.transpose();
            hessian_ += w / (length_[i] * c) * aside * aside.transpose();
        }
        hessian_ += k * (outer - gradient_ * gradient_.transpose());
    }

    const std::vector<Vec2>& errors_;
    const std::vector<double>& clearances_;
    std::vector<Vec2> turns_, u_;
    std::vector<double> g_, length_;
    Vec3 p_ = Vec3::Zero(), gradient_ = Vec3::Zero();
    Mat3 hessian_ = Mat3::Zero();
    double most_ = 0.0;
};

Error refuse(const std::string& what, const std::string& remedy) {
    return {ErrorCode::BadValue, what, "pattern", remedy};
}

/// A matrix with S Sᵀ = Σ; a covariance may be singular (a datum hole does not move).
Result<MatX> root(const MatX& covariance) {
    const Eigen::SelfAdjointEigenSolver<MatX> eigen(0.5 * (covariance + covariance.transpose()));
    if (eigen.info() != Eigen::Success)
        return refuse("has a covariance that cannot be factored", "adjust again");
    const VecX& values = eigen.eigenvalues();
    const double largest = std::max(values.maxCoeff(), 0.0);
    if (values.minCoeff() < -1e-9 * largest - 1e-15)
        return refuse("has a covariance with a negative variance", "adjust again");
    return MatX(eigen.eigenvectors() * values.cwiseMax(0.0).cwiseSqrt().asDiagonal());
}

Result<void> check(const std::vector<PatternHole>& holes, const FitTerms& t) {
    const auto n = static_cast<Eigen::Index>(3 * holes.size());
    if (holes.empty() || holes.size() > kMostHoles)
        return refuse("has no holes, or more than 400", "choose those that the part is mounted by");
    if (t.covariance.rows() != n || t.covariance.cols() != n || !t.covariance.allFinite())
        return refuse("has no covariance of its holes", "adjust the survey with its covariance");
    if (!(t.made_sigma >= 0.0 && t.made_sigma < 1e3))
        return refuse("has a counterpart of no usable uncertainty", "give its ± in mm, 0 or above");
    if (t.draws < 1000 || t.draws > 10000000)
        return refuse("is to be drawn too rarely or too often", "choose 1000 to 10000000");
    for (const PatternHole& h : holes)
        if (!h.place.allFinite() || !std::isfinite(h.diameter + h.screw + h.play) || !(h.screw > 0.0) ||
            h.play < 0.0)
            return refuse("holds a hole or screw of no usable size", "choose a screw of a size above 0 mm");
    return {};
}

}  // namespace

bool fitsShifted(const std::vector<Vec2>& places, const std::vector<Vec2>& errors,
                 const std::vector<double>& clearances) {
    if (*std::min_element(clearances.begin(), clearances.end()) <= 0.0) return false;
    return places.size() == 1 || Largest(places, errors, clearances).withinOne();
}

double FitChance::sigmaOf(double p) const {
    // Of no failure in M draws nothing smaller than about 1/M can be told.
    return std::sqrt(std::max(p * (1 - p), 1.0 / draws) / draws);
}

Result<FitChance> fitChance(const std::vector<PatternHole>& holes, const FitTerms& terms) {
    if (const auto ok = check(holes, terms); !ok) return ok.error();
    const auto spread = root(terms.covariance);
    if (!spread) return spread.error();
    const std::size_t n = holes.size();
    const double size = 9.0 * static_cast<double>(n * n);
    const int draws =
        static_cast<int>(std::max(terms.draws / 10.0, std::min<double>(terms.draws, kWork / size)));
    std::mt19937_64 random(terms.seed);
    std::normal_distribution<double> normal;
    std::vector<Vec2> places(n), errors(n);
    std::vector<double> clearances(n);
    for (std::size_t i = 0; i < n; ++i) places[i] = holes[i].place;
    std::vector<long> each(n, 0);
    long all = 0, shifted = 0;
    VecX z(terms.covariance.rows()), e(terms.covariance.rows());
    for (int k = 0; k < draws; ++k) {
        for (double& value : z) value = normal(random);
        e.noalias() = *spread * z;
        bool fits = true;
        for (std::size_t i = 0; i < n; ++i) {
            const auto row = static_cast<Eigen::Index>(3 * i);
            errors[i] = e.segment<2>(row);
            errors[i] += terms.made_sigma * Vec2(normal(random), normal(random));
            clearances[i] = 0.5 * (holes[i].diameter + e[row + 2] - holes[i].screw) + holes[i].play;
            const bool own = errors[i].norm() <= clearances[i];
            each[i] += own;
            fits = fits && own;
        }
        all += fits;
        shifted += fits || fitsShifted(places, errors, clearances);
    }
    FitChance out;
    for (const long count : each) out.each.push_back(static_cast<double>(count) / draws);
    out.all = static_cast<double>(all) / draws;
    out.shifted = static_cast<double>(shifted) / draws;
    out.draws = draws;
    return out;
}

}  // namespace trammel::mount
