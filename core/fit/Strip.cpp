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

class Problem {
  public:
    Problem(const std::vector<StripPixel>& pixels, double length, const StripModel& model)
        : pixels_(pixels),
          model_(model),
          at_(model),
          half_(std::max(0.5 * length, 1.0)),
          weights_(pixels.size(), 1.0) {}

    const Layout& layout() const { return at_; }
    double blurOf(const Row& x) const { return at_.blur < 0 ? model_.blur : x(at_.blur); }

    /// Its table costs as much as the pixels: made once for each blur.
    const Step& stepAt(const Row& x) const {
        if (!step_ || step_->blur() != blurOf(x)) step_.emplace(blurOf(x), model_.normal);
        return *step_;
    }

    /// Code by the model and, if wanted, its derivatives.
    double value(const Row& x, const Step& step, const StripPixel& p, Row* j) const {
        const double t = p.s / half_;
        const double tilt = at_.slope < 0 ? 0.0 : x(at_.slope);
        const Step::Value v = step.at(p.d - x(at_.offset) - tilt * p.s);
        double low = x(at_.low), high = x(at_.high);
        if (at_.lowTilt >= 0) {
            low += x(at_.lowTilt) * t;
            high += x(at_.highTilt) * t;
        }
        double light = low + (high - low) * v.s, blurGrad = (high - low) * v.bend,
               shift = -(high - low) * v.slope;
        for (std::size_t k = 0; k < model_.companions.size(); ++k) {
            const int c = at_.companion + 2 * static_cast<int>(k);
            const Step::Value w = step.at(p.d - x(c) - tilt * p.s);
            const double part = w.s - (model_.companions[k] < 0 ? 1.0 : 0.0);
            light += x(c + 1) * part;
            blurGrad += x(c + 1) * w.bend;
            if (j) {
                (*j)(c) = -x(c + 1) * w.slope;
                (*j)(c + 1) = part;
            }
        }
        const Tone::Value tone = model_.tone.at(light);
        if (!j) return tone.code;
        (*j)(at_.offset) = shift;
        (*j)(at_.low) = 1.0 - v.s;
        (*j)(at_.high) = v.s;
        if (at_.lowTilt >= 0) {
            (*j)(at_.slope) = shift * p.s;
            (*j)(at_.lowTilt) = t * (1.0 - v.s);
            (*j)(at_.highTilt) = t * v.s;
        }
        if (at_.blur >= 0) (*j)(at_.blur) = step.blur() * blurGrad;
        *j *= tone.slope;
        return tone.code;
    }

    double cost(const Row& x) const {
        const Step& step = stepAt(x);
        double sum = prior(x, nullptr, nullptr);
        for (std::size_t i = 0; i < pixels_.size(); ++i) {
            const double r = pixels_[i].code - value(x, step, pixels_[i], nullptr);
            sum += weights_[i] * r * r;
        }
        return sum;
    }

    double normalEquations(const Row& x, Normal& n, Row& g) const {
        const Step& step = stepAt(x);
        n = Normal::Zero(at_.size, at_.size);
        g = Row::Zero(at_.size);
        Row j = Row::Zero(at_.size);
        double sum = prior(x, &n, &g);
        for (std::size_t i = 0; i < pixels_.size(); ++i) {
            const double r = pixels_[i].code - value(x, step, pixels_[i], &j), w = weights_[i];
            sum += w * r * r;
            g.noalias() += (w * r) * j;
            n.selfadjointView<Eigen::Lower>().rankUpdate(j, w);
        }
        n.triangularView<Eigen::StrictlyUpper>() = n.transpose();
        return sum;
    }

    /// Cauchy weights from the residuals' median absolute value; returns the noise so found.
    double reweight(const Row& x) {
        const Step& step = stepAt(x);
        std::vector<double> r(pixels_.size()), sorted;
        for (std::size_t i = 0; i < r.size(); ++i)
            r[i] = pixels_[i].code - value(x, step, pixels_[i], nullptr);
        sorted = r;
        for (double& v : sorted) v = std::abs(v);
        std::nth_element(sorted.begin(), sorted.begin() + sorted.size() / 2, sorted.end());
        const double sigma = std::max(1.4826 * sorted[sorted.size() / 2], kLeastNoise);
        noise_ = sigma;
        double sum = 0.0, total = 0.0;
        for (std::size_t i = 0; i < r.size(); ++i) {
            weights_[i] = 1.0 / (1.0 + std::pow(r[i] / (3.0 * sigma), 2));
            sum += weights_[i] * r[i] * r[i];
            total += weights_[i];
        }
        const double dof = std::max(1.0, total - at_.size);
        return std::max(std::sqrt(sum / dof), kLeastNoise);
    }

    const std::vector<double>& weights() const { return weights_; }

  private:
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
    double half_, noise_ = 0.01;
    std::vector<double> weights_;
    mutable std::optional<Step> step_;
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
    problem.normalEquations(x, n, g);
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

/// Levenberg–Marquardt with reweighting every step; false when it does not settle.
bool settle(Problem& problem, Row& x) {
    double damping = 1e-3;
    Normal n;
    Row g;
    double last = 1.0;
    for (int k = 0; k < 30; ++k) {
        problem.reweight(x);
        const double now = problem.normalEquations(x, n, g);
        bool better = false;
        double move = 0.0;
        for (int attempt = 0; attempt < 8 && !better; ++attempt) {
            Normal damped = n;
            damped.diagonal() *= 1.0 + damping;
            damped.diagonal().array() += 1e-12;
            const Row step = damped.ldlt().solve(g);
            const Row next = x + step;
            if (allowed(problem, next) && problem.cost(next) <= now) {
                move = std::abs(step(problem.layout().offset));
                if (problem.layout().blur >= 0) move = std::max(move, std::abs(step(problem.layout().blur)));
                x = next;
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
std::vector<StripBin> binsOf(const Problem& problem, const Row& x, const std::vector<StripPixel>& pixels,
                             double length, const StripModel& model) {
    const Layout& at = problem.layout();
    const int count = std::max(1, static_cast<int>(std::lround(length / model.binLength)));
    std::vector<Mat3> n(count, Mat3::Zero());
    std::vector<Vec3> g(count, Vec3::Zero());
    const Step& step = problem.stepAt(x);
    Row j = Row::Zero(at.size);
    for (std::size_t i = 0; i < pixels.size(); ++i) {
        const double r = pixels[i].code - problem.value(x, step, pixels[i], &j), w = problem.weights()[i];
        const int b = std::clamp(static_cast<int>((pixels[i].s / length + 0.5) * count), 0, count - 1);
        const Vec3 row(j(at.offset), j(at.low), j(at.high));
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

std::vector<StripPixel> gatherStrip(const photo::LinearImage& image, const Guide& guide, double s0, double s1,
                                    double low, double high, Channel channel) {
    std::vector<StripPixel> out;
    const double middle = 0.5 * (s0 + s1);
    const int pieces = std::max(1, static_cast<int>(std::ceil((s1 - s0) / 16.0)));
    for (int k = 0; k < pieces; ++k) {
        const double a = s0 + (s1 - s0) * k / pieces, b = s0 + (s1 - s0) * (k + 1) / pieces;
        Vec2 least = Vec2::Constant(1e300), most = Vec2::Constant(-1e300);
        for (double s : {a, 0.5 * (a + b), b})
            for (double d : {low, high}) {
                least = least.cwiseMin(guide.point(s, d));
                most = most.cwiseMax(guide.point(s, d));
            }
        const int x0 = std::max(0, static_cast<int>(std::floor(least.x() - 1)));
        const int x1 = std::min(image.width - 1, static_cast<int>(std::ceil(most.x() + 1)));
        const int y0 = std::max(0, static_cast<int>(std::floor(least.y() - 1)));
        const int y1 = std::min(image.height - 1, static_cast<int>(std::ceil(most.y() + 1)));
        for (int y = y0; y <= y1; ++y)
            for (int x = x0; x <= x1; ++x) {
                Local at = guide.locate(Vec2(x, y));
                if (at.d < low || at.d > high) continue;
                if (guide.closed() && at.s > b + 0.5 * guide.length()) at.s -= guide.length();
                if (guide.closed() && at.s < a - 0.5 * guide.length()) at.s += guide.length();
                if (at.s < a || at.s >= b) continue;
                const std::size_t index = static_cast<std::size_t>(y) * image.width + x;
                out.push_back({at.s - middle, at.d, codeAt(image, index, channel)});
            }
    }
    return out;
}

std::optional<StripFit> fitStrip(const std::vector<StripPixel>& pixels, double length,
                                 const StripModel& model) {
    Problem problem(pixels, length, model);
    const Layout& at = problem.layout();
    if (at.size > kMost || pixels.size() < static_cast<std::size_t>(2 * at.size + 6)) return std::nullopt;
    Row x = startOf(problem, model, pixels);
    if (!allowed(problem, x) || !settle(problem, x)) return std::nullopt;
    StripFit out;
    out.noise = problem.reweight(x);
    Normal n;
    Row g;
    problem.normalEquations(x, n, g);
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
    out.bins = binsOf(problem, x, pixels, length, model);
    return out;
}

}  // namespace trammel::fit
