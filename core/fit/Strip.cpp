// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/fit/Strip.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "core/fit/Step.h"

namespace trammel::fit {
namespace {

constexpr int kMost = 14;
constexpr double kFullScale = 0.992;  // 8-bit codes 253 and above
constexpr double kLeastNoise = 5e-4;  // codes 0..1
using Row = Eigen::Matrix<double, Eigen::Dynamic, 1, 0, kMost, 1>;
using Normal = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, 0, kMost, kMost>;

/// Places of the parameters in the vector; −1 where a parameter is not estimated.
struct Layout {
    int offset = 0, slope = -1, blur = -1, low = 0, high = 0, lowTilt = -1, highTilt = -1, companion = 0,
        size = 0;
    explicit Layout(const StripModel& m) {
        int n = 1;
        if (m.tilts) slope = n++;
        if (!m.fixedBlur) blur = n++;
        low = n++;
        high = n++;
        if (m.tilts) {
            lowTilt = n++;
            highTilt = n++;
        }
        companion = n;  // place, height of each
        size = n + 2 * static_cast<int>(m.companions.size());
    }
};

/// The model at one set of parameters: residuals of all pixels, and derivatives of their codes. A row of
/// derivatives is as long as the first of 4, 6, 8, 16 that holds it: sums over rows of fixed length are fast.
struct Evaluated {
    std::vector<double> residuals, rows;
};

/// Sums w·j·jᵀ and w·r·j over the rows.
template <int N>
void sumUp(const Evaluated& e, const std::vector<double>& weights, Normal& n, Row& g) {
    Eigen::Matrix<double, N, N> products = Eigen::Matrix<double, N, N>::Zero();
    Eigen::Matrix<double, N, 1> sum = Eigen::Matrix<double, N, 1>::Zero();
    for (std::size_t i = 0; i < weights.size(); ++i) {
        const Eigen::Map<const Eigen::Matrix<double, N, 1>> j(e.rows.data() + i * N);
        const Eigen::Matrix<double, N, 1> weighted = weights[i] * j;
        sum += e.residuals[i] * weighted;
        products.noalias() += weighted * j.transpose();
    }
    n = products.topLeftCorner(n.rows(), n.cols());
    g = sum.head(g.size());
}

class Problem {
  public:
    Problem(const std::vector<StripPixel>& pixels, double length, const StripModel& model)
        : pixels_(pixels),
          model_(model),
          at_(model),
          stride_(at_.size <= 4   ? 4
                  : at_.size <= 6 ? 6
                  : at_.size <= 8 ? 8
                                  : 16),
          perHalf_(1.0 / std::max(0.5 * length, 1.0)),
          weights_(pixels.size(), 1.0) {}

    const Layout& layout() const { return at_; }
    double blurOf(const Row& x) const { return at_.blur < 0 ? model_.blur : x(at_.blur); }

    void evaluate(const Row& x, Evaluated& out) const {
        if (!step_ || step_->blur() != blurOf(x)) step_.emplace(blurOf(x), model_.normal);
        out.residuals.resize(pixels_.size());
        out.rows.resize(pixels_.size() * static_cast<std::size_t>(stride_));
        double* row = out.rows.data();
        for (std::size_t i = 0; i < pixels_.size(); ++i, row += stride_)
            out.residuals[i] = pixels_[i].code - value(x, *step_, pixels_[i], row);
    }
    const double* row(const Evaluated& e, std::size_t pixel) const {
        return e.rows.data() + pixel * static_cast<std::size_t>(stride_);
    }

    /// Weighted sum of squares.
    double cost(const Row& x, const Evaluated& e) const {
        double sum = prior(x, nullptr, nullptr);
        for (std::size_t i = 0; i < weights_.size(); ++i)
            sum += weights_[i] * e.residuals[i] * e.residuals[i];
        return sum;
    }

    void normalEquations(const Row& x, const Evaluated& e, Normal& n, Row& g) const {
        n.resize(at_.size, at_.size);
        g.resize(at_.size);
        if (stride_ == 4) sumUp<4>(e, weights_, n, g);
        if (stride_ == 6) sumUp<6>(e, weights_, n, g);
        if (stride_ == 8) sumUp<8>(e, weights_, n, g);
        if (stride_ == 16) sumUp<16>(e, weights_, n, g);
        prior(x, &n, &g);
    }

    /// Cauchy weights from the residuals' median absolute value; returns the noise so found.
    double reweight(const Evaluated& e) {
        const std::vector<double>& r = e.residuals;
        median_ = medianSize(r);
        const double sigma = std::max(1.4826 * median_, kLeastNoise);
        noise_ = sigma;
        const double per = 1.0 / (9.0 * sigma * sigma);
        double sum = 0.0, total = 0.0;
        for (std::size_t i = 0; i < r.size(); ++i) {
            const double r2 = r[i] * r[i], w = 1.0 / (1.0 + r2 * per);
            weights_[i] = w;
            sum += w * r2;
            total += w;
        }
        const double dof = std::max(1.0, total - at_.size);
        return std::max(std::sqrt(sum / dof), kLeastNoise);
    }

    const std::vector<double>& weights() const { return weights_; }

  private:
    /// Median absolute value. It changes little from step to step: where the last one still brackets it, only
    /// what lies near is sorted.
    double medianSize(const std::vector<double>& r) {
        const double from = 0.85 * median_, to = 1.15 * median_;
        const std::size_t rank = r.size() / 2;
        std::size_t below = 0, kept = 0;
        near_.resize(r.size() + 1);
        for (const double v : r) {
            const double size = std::abs(v);
            below += size < from;
            near_[kept] = size;  // without a branch: no one can foretell it
            kept += size >= from && size <= to;
        }
        if (below > rank || below + kept <= rank) {
            for (std::size_t i = 0; i < r.size(); ++i) near_[i] = std::abs(r[i]);
            below = 0;
            kept = r.size();
        }
        const auto middle = near_.begin() + static_cast<std::ptrdiff_t>(rank - below);
        std::nth_element(near_.begin(), middle, near_.begin() + static_cast<std::ptrdiff_t>(kept));
        return *middle;
    }

    /// Code by the model, and its derivatives.
    double value(const Row& x, const Step& step, const StripPixel& p, double* j) const {
        const double t = p.s * perHalf_;
        const double tilt = at_.slope < 0 ? 0.0 : x(at_.slope);
        const Step::Value v = step.at(p.d - x(at_.offset) - tilt * p.s);
        double low = x(at_.low), high = x(at_.high);
        if (at_.lowTilt >= 0) {
            low += x(at_.lowTilt) * t;
            high += x(at_.highTilt) * t;
        }
        double light = low + (high - low) * v.s, blurGrad = (high - low) * v.bend;
        for (std::size_t k = 0; k < model_.companions.size(); ++k) {
            const int c = at_.companion + 2 * static_cast<int>(k);
            const Step::Value w = step.at(p.d - x(c) - tilt * p.s);
            const double part = w.s - (model_.companions[k] < 0 ? 1.0 : 0.0);
            light += x(c + 1) * part;
            blurGrad += x(c + 1) * w.bend;
            j[c] = -x(c + 1) * w.slope;
            j[c + 1] = part;
        }
        const Tone::Value tone = model_.tone.at(light);
        const double shift = -(high - low) * v.slope * tone.slope, below = (1.0 - v.s) * tone.slope,
                     above = v.s * tone.slope;
        for (int c = at_.companion; c < at_.size; ++c) j[c] *= tone.slope;
        j[at_.offset] = shift;
        j[at_.low] = below;
        j[at_.high] = above;
        if (at_.lowTilt >= 0) {
            j[at_.slope] = shift * p.s;
            j[at_.lowTilt] = t * below;
            j[at_.highTilt] = t * above;
        }
        if (at_.blur >= 0) j[at_.blur] = step.blur() * blurGrad * tone.slope;
        for (int c = at_.size; c < stride_; ++c) j[c] = 0.0;
        return tone.code;
    }

    /// Companions stay within about a pixel of where the profiles showed them.
    double prior(const Row& x, Normal* n, Row* g) const {
        double sum = 0.0;
        const double w = noise_ * noise_;
        for (std::size_t k = 0; k < model_.companions.size(); ++k) {
            const int c = at_.companion + 2 * static_cast<int>(k);
            const double r = model_.companions[k] - x(c);
            sum += w * r * r;
            if (!n) continue;
            (*n)(c, c) += w;
            (*g)(c) += w * r;
        }
        return sum;
    }

    const std::vector<StripPixel>& pixels_;
    const StripModel& model_;
    Layout at_;
    int stride_;
    double perHalf_, noise_ = 0.01;
    double median_ = 0.0;
    std::vector<double> weights_, near_;
    mutable std::optional<Step> step_;  // its table costs as much as the pixels: made once for each blur
};

/// Plateaus from the means of both sides; then one step for them and the companions' heights with all places
/// fixed.
Row startOf(const Problem& problem, const StripModel& model, const std::vector<StripPixel>& pixels) {
    const Layout& at = problem.layout();
    Row x = Row::Zero(at.size);
    if (at.blur >= 0) x(at.blur) = model.blur;
    for (std::size_t k = 0; k < model.companions.size(); ++k) x(at.companion + 2 * k) = model.companions[k];
    double sum[2] = {0.0, 0.0};
    int count[2] = {0, 0};
    for (const StripPixel& p : pixels) {
        if (std::abs(p.d) < model.blur) continue;
        sum[p.d > 0.0] += p.code;
        ++count[p.d > 0.0];
    }
    x(at.low) = model.tone.light(count[0] ? sum[0] / count[0] : 0.5);
    x(at.high) = model.tone.light(count[1] ? sum[1] / count[1] : 0.5);
    if (model.companions.empty()) return x;
    Normal n;
    Row g;
    Evaluated start;
    problem.evaluate(x, start);
    problem.normalEquations(x, start, n, g);
    for (int i = 0; i < at.size; ++i) {
        const bool linear = i == at.low || i == at.high ||
                            (at.lowTilt >= 0 && (i == at.lowTilt || i == at.highTilt)) ||
                            (i >= at.companion && (i - at.companion) % 2 == 1);
        if (linear) {
            n(i, i) *= 1.0 + 1e-9;
            continue;
        }
        n.row(i).setZero();
        n.col(i).setZero();
        n(i, i) = 1.0;
        g(i) = 0.0;
    }
    return x + Row(n.ldlt().solve(g));
}

bool allowed(const Problem& problem, const Row& x) {
    const double blur = problem.blurOf(x);
    return x.allFinite() && blur > 0.2 && blur < 6.0 && std::abs(x(problem.layout().offset)) < 3.0;
}

/// Levenberg–Marquardt with reweighting every step; leaves the model at x in `now`. False when it does not
/// settle.
bool settle(Problem& problem, Row& x, Evaluated& now) {
    double damping = 1e-3;
    Normal n;
    Row g;
    double last = 1.0;
    Evaluated tried;
    problem.evaluate(x, now);
    for (int k = 0; k < 30; ++k) {
        problem.reweight(now);
        problem.normalEquations(x, now, n, g);
        const double cost = problem.cost(x, now);
        bool better = false;
        double move = 0.0;
        for (int attempt = 0; attempt < 8 && !better; ++attempt) {
            Normal damped = n;
            damped.diagonal() *= 1.0 + damping;
            damped.diagonal().array() += 1e-12;
            const Row step = damped.ldlt().solve(g);
            const Row next = x + step;
            const bool possible = allowed(problem, next);
            if (possible) problem.evaluate(next, tried);
            if (possible && problem.cost(next, tried) <= cost) {
                move = std::abs(step(problem.layout().offset));
                if (problem.layout().blur >= 0) move = std::max(move, std::abs(step(problem.layout().blur)));
                x = next;
                std::swap(now, tried);
                better = true;
                damping *= 0.1;
            } else {
                damping *= 10.0;
            }
        }
        if (!better) return k > 0;
        if (move < 2e-4) return true;
        last = move;
    }
    return last < 5e-3;  // the weights still tremble: harmless below the common doubt
}

/// One linear step per sub-stretch for its own offset and plateaus: how the edge scatters along itself.
std::vector<StripBin> binsOf(const Problem& problem, const Row& x, const Evaluated& e,
                             const std::vector<StripPixel>& pixels, double length, const StripModel& model) {
    const Layout& at = problem.layout();
    const int count = std::max(1, static_cast<int>(std::lround(length / model.binLength)));
    std::vector<Mat3> n(count, Mat3::Zero());
    std::vector<Vec3> g(count, Vec3::Zero());
    for (std::size_t i = 0; i < pixels.size(); ++i) {
        const double r = e.residuals[i], w = problem.weights()[i];
        const double* j = problem.row(e, i);
        const int b = std::clamp(static_cast<int>((pixels[i].s / length + 0.5) * count), 0, count - 1);
        const Vec3 row(j[at.offset], j[at.low], j[at.high]);
        n[b] += w * row * row.transpose();
        g[b] += w * r * row;
    }
    std::vector<StripBin> out;
    for (int b = 0; b < count; ++b) {
        if (!(n[b].determinant() > 1e-12)) continue;
        const double s = (b + 0.5) / count * length - 0.5 * length;
        const double tilt = at.slope < 0 ? 0.0 : x(at.slope) * s;
        const double own = n[b].ldlt().solve(g[b]).x();
        if (std::abs(own) < 3.0) out.push_back({s, x(at.offset) + tilt + own});
    }
    return out;
}

}  // namespace

std::optional<StripFit> fitStrip(const std::vector<StripPixel>& pixels, double length,
                                 const StripModel& model) {
    Problem problem(pixels, length, model);
    const Layout& at = problem.layout();
    if (at.size > kMost || pixels.size() < static_cast<std::size_t>(2 * at.size + 6)) return std::nullopt;
    Row x = startOf(problem, model, pixels);
    Evaluated e;
    if (!allowed(problem, x) || !settle(problem, x, e)) return std::nullopt;
    StripFit out;
    out.noise = problem.reweight(e);
    Normal n;
    Row g;
    problem.normalEquations(x, e, n, g);
    const Normal inverse = n.ldlt().solve(Normal::Identity(at.size, at.size));
    if (!inverse.allFinite() || !(inverse(at.offset, at.offset) > 0.0)) return std::nullopt;
    out.offset = x(at.offset);
    out.offsetSigma = out.noise * std::sqrt(inverse(at.offset, at.offset));
    if (at.slope >= 0) out.slope = x(at.slope);
    out.blur = problem.blurOf(x);
    if (at.blur >= 0) out.blurSigma = out.noise * std::sqrt(std::max(0.0, inverse(at.blur, at.blur)));
    if (at.blur >= 0 && inverse(at.blur, at.blur) > 0.0)
        out.blurPull = inverse(at.offset, at.blur) / inverse(at.blur, at.blur);
    out.low = x(at.low);
    out.high = x(at.high);
    out.pixels = static_cast<int>(pixels.size());
    const bool brightHigh = out.high > out.low;
    int bright = 0, clipped = 0;
    for (const StripPixel& p : pixels) {
        const double side = (p.d - out.offset) * (brightHigh ? 1.0 : -1.0);
        if (side < out.blur) continue;
        ++bright;
        if (p.code >= kFullScale) ++clipped;
    }
    out.clipped = bright > 0 ? static_cast<double>(clipped) / bright : 0.0;
    out.bins = binsOf(problem, x, e, pixels, length, model);
    return out;
}

}  // namespace trammel::fit
