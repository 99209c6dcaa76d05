// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/fit/SegmentTidy.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "core/fit/PieceChain.h"
#include "core/geometry/Intersect.h"

namespace trammel::fit {
namespace {

constexpr std::size_t kMean = 5;    // points whose mean must keep within the ±
constexpr double kShort_px = 40.0;  // of a line that may be a fillet
constexpr double kDispensable_px = 25.0;
constexpr double kTrim_px = 4.0;     // off a run's ends, to fit it
constexpr double kCorner_px = 0.8;   // blur's rounding of a right angle
constexpr double kLeastTurn = 0.17;  // rad, between two lines that a fillet joins
constexpr double kMargin_px = 6.0;   // to either side of a fillet that is judged with it

class Tidy {
  public:
    Tidy(const std::vector<Vec2>& points, const std::vector<double>& sigmas, std::vector<Segment> segments,
         const SegmentOptions& o)
        : points_(points), sigmas_(sigmas), segments_(std::move(segments)), o_(o) {}

    std::vector<Segment> run() {
        while (dropOne() || mergeOne()) {
        }
        for (std::size_t k = 0; k < segments_.size(); ++k) roundOff(k);
        return segments_;
    }

  private:
    std::size_t count() const { return segments_.size(); }
    std::size_t at(std::size_t i, long by) const {
        const long n = static_cast<long>(points_.size());
        return static_cast<std::size_t>(((static_cast<long>(i) + by) % n + n) % n);
    }
    std::size_t sizeOf(const Segment& s) const {
        const std::size_t n = points_.size();
        return o_.closed ? (s.last + n - s.first - 1) % n + 1 : s.last - s.first;
    }
    double lengthOf(const Segment& s) const { return static_cast<double>(sizeOf(s)) * o_.spacing_px; }
    long inPoints(double px) const { return static_cast<long>(std::lround(px / o_.spacing_px)); }
    /// Of the neighbour before or after; nothing at an open end.
    std::optional<std::size_t> beside(std::size_t k, int by) const {
        if (o_.closed)
            return count() > 2 ? std::optional((k + count() +
                                                static_cast<std::size_t>(by + static_cast<int>(count()))) %
                                               count())
                               : std::nullopt;
        if ((by < 0 && k == 0) || (by > 0 && k + 1 == count())) return std::nullopt;
        return k + static_cast<std::size_t>(by);
    }

    std::optional<ChainMember> memberOf(const Segment& s) const {
        const long size = static_cast<long>(sizeOf(s));
        const long trim = std::min(inPoints(kTrim_px), size / 4);
        ChainMember m;
        m.arc = s.arc;
        for (long i = trim; i <= size - trim; ++i) {
            m.points.push_back(points_[at(s.first, i)]);
            m.sigmas.push_back(sigmas_[at(s.first, i)]);
        }
        if (!fitMember(m)) return std::nullopt;
        return m;
    }

    /// Largest mean distance of neighbouring points, those beside the run's ends left out.
    double departure(const ChainMember& m, const Segment& s) const {
        const long size = static_cast<long>(sizeOf(s)), guard = inPoints(o_.guard_px);
        std::vector<double> d, sigma;
        for (long i = guard; i <= size - guard; ++i) {
            d.push_back(m.distance(points_[at(s.first, i)]));
            sigma.push_back(sigmas_[at(s.first, i)]);
        }
        double most = 0.0, sum = 0.0;
        for (std::size_t i = 0; i < d.size(); ++i) {
            sum += d[i];
            if (i >= kMean) sum -= d[i - kMean];
            // What chance makes of the mean does not count; neighbouring points share about half of it.
            const double chance = 1.0 * sigma[i] / std::sqrt(0.5 * static_cast<double>(kMean));
            if (i + 1 >= kMean) most = std::max(most, std::abs(sum) / static_cast<double>(kMean) - chance);
        }
        return most;
    }

    bool mergeOne() {
        if (count() < (o_.closed ? 3u : 2u)) return false;
        std::size_t best = count();
        Segment one;
        double least = o_.plusMinus_px;
        for (std::size_t k = 0; k < count(); ++k) {
            const auto l = o_.closed ? std::optional((k + 1) % count()) : beside(k, 1);
            if (!l) continue;
            for (const bool arc : {false, true}) {
                const Segment both{segments_[k].first, segments_[*l].last, arc};
                const auto m = memberOf(both);
                if (!m || (arc && m->radius > o_.largestRadius_px)) continue;
                const double d = departure(*m, both);
                // An arc where a line does would be one unknown more.
                if (d < (arc ? 0.7 : 1.0) * least) least = d, best = k, one = both;
            }
        }
        if (best == count()) return false;
        segments_[best] = one;
        segments_.erase(segments_.begin() + static_cast<long>((best + 1) % count()));
        return true;
    }

    /// A short piece whose points all lie on what its neighbours are without it.
    bool dropOne() {
        for (std::size_t k = 0; k < count(); ++k) {
            const auto b = beside(k, -1), a = beside(k, 1);
            if (!a || !b || lengthOf(segments_[k]) > kDispensable_px) continue;
            const auto before = memberOf(segments_[*b]), after = memberOf(segments_[*a]);
            if (!before || !after) continue;
            const long size = static_cast<long>(sizeOf(segments_[k]));
            // They part where the points change over from one to the other.
            long part = 0;
            double least = 1e300;
            for (long i = 0; i <= size; ++i) {
                double sum = 0.0;
                for (long j = 0; j <= size; ++j)
                    sum += std::abs((j < i ? *before : *after).distance(points_[at(segments_[k].first, j)]));
                if (sum < least) least = sum, part = i;
            }
            double most = 0.0;
            for (long j = 0; j <= size; ++j)
                if (std::abs(j - part) >= inPoints(o_.guard_px))
                    most = std::max(
                        most,
                        std::abs((j < part ? *before : *after).distance(points_[at(segments_[k].first, j)])));
            if (most > o_.plusMinus_px) continue;
            const std::size_t joint = at(segments_[k].first, part);
            segments_[*b].last = joint;
            segments_[*a].first = joint;
            segments_.erase(segments_.begin() + static_cast<long>(k));
            return true;
        }
        return false;
    }

    /// χ² of the points about piece k under a chamfer, with blur's rounding of its two corners allowed for.
    double chamferChi(const ChainMember& a, const ChainMember& m, const ChainMember& b,
                      const Segment& s) const {
        const auto first =
            geometry::intersect(geometry::Line{a.at, a.direction()}, geometry::Line{m.at, m.direction()});
        const auto second =
            geometry::intersect(geometry::Line{m.at, m.direction()}, geometry::Line{b.at, b.direction()});
        if (!first || !second) return 1e300;
        const auto rounding = [](const ChainMember& x, const ChainMember& y) {
            return kCorner_px * std::acos(std::clamp(x.direction().dot(y.direction()), -1.0, 1.0)) / 1.5708;
        };
        const double r1 = rounding(a, m), r2 = rounding(m, b);
        double chi = 0.0;
        for (long i = -inPoints(kMargin_px); i <= static_cast<long>(sizeOf(s)) + inPoints(kMargin_px); ++i) {
            const std::size_t p = at(s.first, i);
            const Vec2& q = points_[p];
            const double t1 = m.direction().dot(q - *first), t2 = m.direction().dot(q - *second);
            const double d = t1 < 0.0 ? a.distance(q) : t2 > 0.0 ? b.distance(q) : m.distance(q);
            const double n1 = (q - *first).norm() / 1.6, n2 = (q - *second).norm() / 1.6;
            const double corner = std::hypot(r1 * std::exp(-0.5 * n1 * n1), r2 * std::exp(-0.5 * n2 * n2));
            chi += d * d / (sigmas_[p] * sigmas_[p] + corner * corner);
        }
        return chi;
    }

    /// χ² of the same points under the tangent arc of this radius.
    double filletChi(const ChainMember& a, const ChainMember& b, const Vec2& meet, double radius,
                     const Segment& s) const {
        const double turn = std::acos(std::clamp(a.direction().dot(b.direction()), -1.0, 1.0));
        const double back = radius * std::tan(0.5 * turn);
        const double side =
            a.direction().x() * b.direction().y() - a.direction().y() * b.direction().x() < 0 ? -1.0 : 1.0;
        const Vec2 centre = meet - back * a.direction() + side * radius * a.normal();
        double chi = 0.0;
        for (long i = -inPoints(kMargin_px); i <= static_cast<long>(sizeOf(s)) + inPoints(kMargin_px); ++i) {
            const std::size_t p = at(s.first, i);
            const Vec2& q = points_[p];
            const double ta = a.direction().dot(q - meet) + back, tb = b.direction().dot(q - meet) - back;
            const double d = ta < 0.0   ? a.distance(q)
                             : tb > 0.0 ? b.distance(q)
                                        : (q - centre).norm() - radius;
            chi += d * d / (sigmas_[p] * sigmas_[p]);
        }
        return chi;
    }

    void roundOff(std::size_t k) {
        const Segment s = segments_[k];
        const auto before = beside(k, -1), after = beside(k, 1);
        if (s.arc || !before || !after || lengthOf(s) > kShort_px) return;
        if (segments_[*before].arc || segments_[*after].arc) return;
        if (lengthOf(segments_[*before]) < lengthOf(s) || lengthOf(segments_[*after]) < lengthOf(s)) return;
        // The neighbours by what lies clear of the fillet.
        Segment clearA = segments_[*before], clearB = segments_[*after];
        const long back =
            std::min(inPoints(kMargin_px), static_cast<long>(std::min(sizeOf(clearA), sizeOf(clearB))) / 3);
        clearA.last = at(clearA.last, -back);
        clearB.first = at(clearB.first, back);
        const auto a = memberOf(clearA), b = memberOf(clearB), m = memberOf(s);
        if (!a || !b || !m) return;
        const double turn = std::acos(std::clamp(a->direction().dot(b->direction()), -1.0, 1.0));
        const auto meet =
            geometry::intersect(geometry::Line{a->at, a->direction()}, geometry::Line{b->at, b->direction()});
        if (!meet || turn < kLeastTurn || turn > 2.8) return;
        double radius = 0.0, least = 1e300;
        for (double length = 0.5 * lengthOf(s); length < 2.5 * lengthOf(s) + 4.0; length += 0.25) {
            const double chi = filletChi(*a, *b, *meet, length / turn, s);
            if (chi < least) least = chi, radius = length / turn;
        }
        if (least >= chamferChi(*a, *m, *b, s)) return;
        const double tangent = radius * std::tan(0.5 * turn);
        const auto move = [&](std::size_t from, const Vec2& to) {
            std::size_t best = from;
            for (long i = -inPoints(kShort_px) / 2; i <= inPoints(kShort_px) / 2; ++i)
                if ((points_[at(from, i)] - to).norm() < (points_[best] - to).norm()) best = at(from, i);
            return best;
        };
        const std::size_t first = move(s.first, *meet - tangent * a->direction());
        const std::size_t last = move(s.last, *meet + tangent * b->direction());
        segments_[*before].last = segments_[k].first = first;
        segments_[*after].first = segments_[k].last = last;
        segments_[k].arc = true;
    }

    const std::vector<Vec2>& points_;
    const std::vector<double>& sigmas_;
    std::vector<Segment> segments_;
    const SegmentOptions& o_;
};

}  // namespace

std::vector<Segment> tidySegments(const std::vector<Vec2>& points, const std::vector<double>& sigmas,
                                  std::vector<Segment> segments, const SegmentOptions& options) {
    if (segments.size() < 2) return segments;
    return Tidy(points, sigmas, std::move(segments), options).run();
}

}  // namespace trammel::fit
