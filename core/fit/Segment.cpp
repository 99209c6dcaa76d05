// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/fit/Segment.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

namespace trammel::fit {
namespace {

constexpr std::size_t kCoarse = 4;         // points between breaks of the first round
constexpr double kIndependent_px = 1.0;    // nearer points tell the same thing
constexpr double kCorner_px = 0.8;         // how far blur may draw the edge inwards at a break
constexpr double kCornerReach_px = 1.6;    // falling off along it (Gaussian)
constexpr double kHopeless = 4.0;          // prices by which a run that is no piece is given up
constexpr double kRoughShare = 1.0 / 6.0;  // of the ±, that the edge may be rough by besides its σ
constexpr int kLeastInLine = 2, kLeastInArc = 4;

/// Weighted moments about an origin near the run.
struct Sums {
    double w = 0, x = 0, y = 0, xx = 0, xy = 0, yy = 0, xz = 0, yz = 0, z = 0, zz = 0;
    int count = 0;
    void add(const Vec2& p, double weight) {
        const double q = p.squaredNorm();
        w += weight;
        x += weight * p.x();
        y += weight * p.y();
        xx += weight * p.x() * p.x();
        xy += weight * p.x() * p.y();
        yy += weight * p.y() * p.y();
        xz += weight * p.x() * q;
        yz += weight * p.y() * q;
        z += weight * q;
        zz += weight * q * q;
        ++count;
    }
    double lineChi() const {
        const double a = xx - x * x / w, b = xy - x * y / w, c = yy - y * y / w;
        return std::max(0.0, 0.5 * (a + c) - std::hypot(0.5 * (a - c), b));
    }
    /// z + B x + C y + D = 0 by least squares; the algebraic residual is 2 r times the distance.
    double arcChi(double largestRadius) const {
        const double a = xx - x * x / w, b = xy - x * y / w, c = yy - y * y / w;
        const double p = xz - x * z / w, q = yz - y * z / w, s = zz - z * z / w;
        const double det = a * c - b * b;
        if (!(det > 1e-12 * a * c)) return 1e300;
        const double B = -(p * c - q * b) / det, C = -(q * a - p * b) / det;
        const double D = -(z + B * x + C * y) / w;
        const double r2 = 0.25 * (B * B + C * C) - D;
        if (!(r2 > 0.0) || r2 > largestRadius * largestRadius) return 1e300;
        return std::max(0.0, s + B * p + C * q) / (4.0 * r2);
    }
};

class Program {
  public:
    Program(const std::vector<Vec2>& points, const std::vector<double>& weights, const SegmentOptions& o)
        : points_(points),
          weights_(weights),
          o_(o),
          guard_(static_cast<std::size_t>(std::ceil(o.guard_px / o.spacing_px))) {
        for (std::size_t k = 0; k < guard_; ++k) {
            const double t = static_cast<double>(k) * o.spacing_px / kCornerReach_px;
            cornerVariance_.push_back(std::pow(kCorner_px * std::exp(-0.5 * t * t), 2));
        }
        const double n = std::max(
            50.0, static_cast<double>(points.size()) * std::min(1.0, o.spacing_px / kIndependent_px));
        linePrice_ = 3.0 * std::log(n);  // two unknowns and where it ends
        arcPrice_ = 4.0 * std::log(n);
    }

    /// Breaks among these places, the first and the last of which are breaks.
    std::vector<Segment> solve(const std::vector<std::size_t>& places) const {
        const std::size_t m = places.size();
        std::vector<double> best(m, 1e300);
        std::vector<std::size_t> from(m, 0);
        std::vector<bool> arc(m, false);
        best[0] = 0.0;
        const auto shortest = static_cast<std::size_t>(o_.shortest_px / o_.spacing_px);
        for (std::size_t a = 0; a + 1 < m; ++a) {
            if (best[a] >= 1e300) continue;
            Sums sums;
            std::size_t next = places[a] + guard_;
            const Vec2 origin = points_[places[a]];
            for (std::size_t b = a + 1; b < m; ++b) {
                for (; next + guard_ <= places[b]; ++next) sums.add(points_[next] - origin, weights_[next]);
                if (places[b] - places[a] < shortest || sums.count < kLeastInLine) continue;
                Sums all = sums;
                addCorners(all, places[a], places[b], origin);
                const double line = all.lineChi();
                const double round = sums.count < kLeastInArc ? 1e300 : all.arcChi(o_.largestRadius_px);
                const double asLine = line + linePrice_, asArc = round + arcPrice_;
                const double cost = best[a] + std::min(asLine, asArc);
                if (cost < best[b]) best[b] = cost, from[b] = a, arc[b] = asArc < asLine;
                if (std::min(line, round) > sums.count + kHopeless * arcPrice_) break;
            }
        }
        std::vector<Segment> out;
        if (best[m - 1] >= 1e300) return out;
        for (std::size_t b = m - 1; b > 0; b = from[b]) out.push_back({places[from[b]], places[b], arc[b]});
        std::reverse(out.begin(), out.end());
        return out;
    }

    std::vector<Segment> solve() const {
        const std::size_t last = points_.size() - 1;
        std::vector<std::size_t> places;
        for (std::size_t i = 0; i + kCoarse <= last; i += kCoarse) places.push_back(i);
        if (places.empty() || places.back() != last) places.push_back(last);
        std::vector<Segment> rough = solve(places);
        if (rough.empty()) return rough;
        for (int round = 0; round < 2; ++round) {
            places = {0};
            for (const Segment& s : rough) {
                const std::size_t low = s.last > kCoarse + 1 ? s.last - kCoarse - 1 : 1;
                for (std::size_t i = low; i <= std::min(last, s.last + kCoarse + 1); ++i)
                    if (i > places.back()) places.push_back(i);
            }
            if (places.back() != last) places.push_back(last);
            std::vector<Segment> fine = solve(places);
            if (!fine.empty()) rough = std::move(fine);
        }
        return rough;
    }

    /// χ² of all points as one circle, and its price.
    double circleCost() const {
        Sums sums;
        for (std::size_t i = 0; i + 1 < points_.size(); ++i) sums.add(points_[i] - points_[0], weights_[i]);
        return sums.arcChi(o_.largestRadius_px) + arcPrice_;
    }

    double cost(const std::vector<Segment>& segments) const {
        double sum = 0.0;
        for (const Segment& s : segments) {
            const Sums all = sumsOf(s.first, s.last);
            sum += s.arc ? all.arcChi(o_.largestRadius_px) + arcPrice_ : all.lineChi() + linePrice_;
        }
        return sum;
    }

  private:
    /// Beside a break blur rounds a corner: points there count less, the nearer the less.
    void addCorners(Sums& sums, std::size_t a, std::size_t b, const Vec2& origin) const {
        for (std::size_t k = 0; k < guard_; ++k) {
            if (a + k > b) break;
            sums.add(points_[a + k] - origin, softened(a + k, k));
            if (b - k > a + guard_ - 1) sums.add(points_[b - k] - origin, softened(b - k, k));
        }
    }

    double softened(std::size_t i, std::size_t fromBreak) const {
        return 1.0 / (1.0 / weights_[i] + cornerVariance_[fromBreak]);
    }

    Sums sumsOf(std::size_t a, std::size_t b) const {
        Sums sums;
        for (std::size_t i = a + guard_; i + guard_ <= b; ++i) sums.add(points_[i] - points_[a], weights_[i]);
        addCorners(sums, a, b, points_[a]);
        return sums;
    }

    const std::vector<Vec2>& points_;
    const std::vector<double>& weights_;
    const SegmentOptions& o_;
    std::size_t guard_;
    std::vector<double> cornerVariance_{};
    double linePrice_ = 0.0, arcPrice_ = 0.0;
};

/// The row from `start` once round and back to it.
template <class T>
std::vector<T> turned(const std::vector<T>& row, std::size_t start) {
    std::vector<T> out;
    for (std::size_t i = 0; i <= row.size(); ++i) out.push_back(row[(start + i) % row.size()]);
    return out;
}

}  // namespace

std::vector<Segment> segmentPoints(const std::vector<Vec2>& points, const std::vector<double>& sigmas,
                                   const SegmentOptions& o) {
    const std::size_t n = points.size();
    if (n < 8) return {};
    std::vector<double> weights(n);
    const double share = std::min(1.0, o.spacing_px / kIndependent_px);
    for (std::size_t i = 0; i < n; ++i)
        weights[i] = share / (sigmas[i] * sigmas[i] + std::pow(kRoughShare * o.plusMinus_px, 2));
    if (!o.closed) return Program(points, weights, o).solve();
    std::size_t start = 0;
    std::vector<Segment> found;
    for (int round = 0; round < 2; ++round) {
        const std::vector<Vec2> p = turned(points, start);
        const std::vector<double> w = turned(weights, start);
        const Program program(p, w, o);
        found = program.solve();
        if (found.empty()) return found;
        // A cut is no break of a circle: it would only cost points.
        if (program.circleCost() <= program.cost(found)) return {{0, 0, true}};
        for (Segment& s : found) {
            s.first = (s.first + start) % n;
            s.last = (s.last + start) % n;
        }
        if (found.size() < 2) return found;
        if (round == 0) start = found[found.size() / 2].first;
    }
    return found;
}

}  // namespace trammel::fit
