// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/fit/Split.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/fit/PieceChain.h"
#include "core/fit/PieceStrips.h"
#include "core/fit/SegmentTidy.h"

namespace trammel::fit {
namespace {

constexpr double kTurn = 2.0 * std::numbers::pi;
constexpr double kTrim_px = 3.5;   // off both ends of a piece, where a corner's blur reaches
constexpr double kGroup_px = 6.0;  // trail points that make one where the pixels were not asked again
constexpr std::size_t kLeastPoints = 8;

Mat2 slopeOf(const Undistort& undistort, const Vec2& px) {
    Mat2 out;
    for (int k = 0; k < 2; ++k) {
        Vec2 step = Vec2::Zero();
        step(k) = 0.5;
        out.col(k) = undistort(px + step) - undistort(px - step);
    }
    return out;
}

/// Where in the photograph an undistorted place lies (Newton from a place nearby).
Vec2 distorted(const Undistort& undistort, const Vec2& place, Vec2 px) {
    if (!undistort) return place;
    for (int k = 0; k < 8; ++k) {
        const Vec2 step = slopeOf(undistort, px).inverse() * (place - undistort(px));
        if (!step.allFinite()) break;
        px += step;
        if (step.norm() < 1e-7) break;
    }
    return px;
}

/// The trail's points of one run, trimmed at its ends, in order.
struct Run {
    std::vector<std::size_t> points;  ///< indices into the trail
    bool arc = false, whole = false;
    std::size_t first = 0, last = 0;
};

class Splitter {
  public:
    Splitter(const photo::LinearImage& image, const Trail& trail, const SplitOptions& o,
             const Undistort& undistort)
        : image_(image), trail_(trail), o_(o), undistort_(undistort) {
        for (const TrailPoint& p : trail.points) {
            places_.push_back(undistort ? undistort(p.px) : p.px);
            const Vec2 across(-p.along.y(), p.along.x());
            const double stretch = undistort ? (undistort(p.px + across) - places_.back()).norm() : 1.0;
            sigmas_.push_back(p.sigma_px * stretch);
        }
    }

    bool finite() const {
        return std::all_of(places_.begin(), places_.end(), [](const Vec2& p) { return p.allFinite(); });
    }

    std::vector<Run> runs() const {
        SegmentOptions so;
        so.closed = trail_.closed;
        so.spacing_px = std::max(0.5, trail_.length_px / static_cast<double>(places_.size()));
        so.plusMinus_px = o_.plusMinus_px;
        so.shortest_px = o_.shortest_px;
        so.largestRadius_px = o_.largestRadius_px;
        std::vector<Run> out;
        const auto segments = tidySegments(places_, sigmas_, segmentPoints(places_, sigmas_, so), so);
        for (const Segment& s : segments) {
            Run run;
            run.arc = s.arc;
            run.first = s.first;
            run.last = s.last;
            const std::size_t n = places_.size();
            run.whole = trail_.closed && s.first == s.last;
            const std::size_t count = run.whole ? n : (s.last + n - s.first) % n;
            const bool openEnds = !trail_.closed;
            const std::size_t trim = run.whole ? 0 : static_cast<std::size_t>(kTrim_px / so.spacing_px);
            const std::size_t from = openEnds && s.first == 0 ? 0 : trim;
            const std::size_t to = openEnds && s.last + 1 == n ? count : count - std::min(count, trim);
            for (std::size_t i = from; i <= to && i < count + (run.whole ? 0 : 1); ++i)
                run.points.push_back((s.first + i) % n);
            out.push_back(std::move(run));
        }
        return out;
    }

    /// The member's points: from the pixels again where that works, else the trail's own in groups.
    ChainMember memberOf(const Run& run, std::vector<FitPoint>& marks) const {
        ChainMember m;
        m.arc = run.arc;
        m.first = places_[run.first];
        m.last = places_[run.last];
        std::vector<Vec2> course;
        for (const std::size_t i : run.points) course.push_back(trail_.points[i].px);
        if (o_.refine)
            if (const auto fit = stripsAlong(image_, course, run.arc, run.whole)) marks = fit->points;
        if (marks.empty()) marks = grouped(run);
        // Either sense of the guide may have been taken: marks go on in the trail's.
        if (marks.size() > 1 && !run.whole &&
            (marks.front().px - course.front()).squaredNorm() >
                (marks.back().px - course.front()).squaredNorm())
            std::reverse(marks.begin(), marks.end());
        for (const FitPoint& p : marks) {
            m.points.push_back(undistort_ ? undistort_(p.px) : p.px);
            m.sigmas.push_back(p.sigma_px);
        }
        return m;
    }

    const std::vector<Vec2>& places() const { return places_; }

  private:
    std::vector<FitPoint> grouped(const Run& run) const {
        ChainMember whole;
        whole.arc = run.arc;
        for (const std::size_t i : run.points) {
            whole.points.push_back(places_[i]);
            whole.sigmas.push_back(sigmas_[i]);
        }
        std::vector<FitPoint> out;
        if (!fitMember(whole)) return out;
        const std::size_t least = run.arc ? 3 : 2;
        const std::size_t groups =
            std::max(least, static_cast<std::size_t>(static_cast<double>(run.points.size()) / kGroup_px));
        for (std::size_t g = 0; g < groups; ++g) {
            const std::size_t a = run.points.size() * g / groups, b = run.points.size() * (g + 1) / groups;
            if (a >= b) continue;
            std::vector<double> d;
            double sigma = 0.0;
            for (std::size_t i = a; i < b; ++i) {
                d.push_back(whole.distance(places_[run.points[i]]));
                sigma += sigmas_[run.points[i]] / static_cast<double>(b - a);
            }
            std::nth_element(d.begin(), d.begin() + static_cast<long>(d.size() / 2), d.end());
            const std::size_t middle = run.points[(a + b) / 2];
            const Vec2 own = places_[middle], on = whole.nearest(own);
            const double change = d[d.size() / 2] - whole.distance(own);
            const Vec2 out2 = (whole.arc ? Vec2((on - whole.at).normalized()) : whole.normal());
            // A median of n scatters 1.25 times as much as their mean.
            out.push_back({trail_.points[middle].px + change * out2,
                           1.25 * sigma * std::sqrt(2.0 / static_cast<double>(b - a))});
        }
        return out;
    }

    const photo::LinearImage& image_;
    const Trail& trail_;
    const SplitOptions& o_;
    const Undistort& undistort_;
    std::vector<Vec2> places_;
    std::vector<double> sigmas_;
};

/// Angle travelled on the arc from a to b.
double sweepOf(const ChainMember& m, const Vec2& a, const Vec2& b) {
    const Vec2 p = a - m.at, q = b - m.at;
    double angle = m.turn * std::atan2(p.x() * q.y() - p.y() * q.x(), p.dot(q));
    if (angle < 0.0) angle += kTurn;
    return m.turn * angle;
}

/// Across the piece only: an open trail ends where the user stopped.
Mat2 acrossOnly(const ChainMember& m, const Vec2& place, double sigma) {
    const Vec2 t = m.travel(place), n(-t.y(), t.x());
    return sigma * sigma * n * n.transpose();
}

Piece pieceOf(const PieceChain& chain, std::size_t k, bool closed) {
    const ChainMember& m = chain.members()[k];
    const std::size_t count = chain.members().size();
    Piece p;
    p.kind = m.arc ? Piece::Kind::Arc : Piece::Kind::Line;
    const bool hasBefore = count > 1 && (closed || k > 0), hasAfter = count > 1 && (closed || k + 1 < count);
    p.from = m.nearest(m.first);
    p.to = m.nearest(m.last);
    p.fromCovariance = acrossOnly(m, p.from, chain.sigmaAt(k, p.from));
    p.toCovariance = acrossOnly(m, p.to, chain.sigmaAt(k, p.to));
    if (hasBefore) {
        const ChainJoint& j = chain.joints()[k > 0 ? k - 1 : count - 1];
        p.from = j.at;
        p.fromCovariance = j.covariance;
    }
    if (hasAfter) {
        p.to = chain.joints()[k].at;
        p.toCovariance = chain.joints()[k].covariance;
        p.tangentToNext = chain.joints()[k].tangent;
    }
    if (m.arc) {
        p.centre = m.at;
        p.radius = m.radius;
        p.radiusSigma_px = chain.radiusSigma(k);
        p.sweep = count == 1 && closed ? m.turn * kTurn : sweepOf(m, p.from, p.to);
    }
    p.sigma_px = chain.sigmaAt(k, m.nearest(m.points[m.points.size() / 2]));
    return p;
}

}  // namespace

Result<std::vector<Piece>> splitTrail(const photo::LinearImage& image, const Trail& trail,
                                      const SplitOptions& o, const Undistort& undistort) {
    if (trail.points.size() < kLeastPoints)
        return Error{ErrorCode::Refused, "the trail has too few points to be split", "",
                     "follow more of the edge"};
    const Splitter splitter(image, trail, o, undistort);
    if (!splitter.finite())
        return Error{ErrorCode::Refused, "the lens's distortion cannot be undone along the whole trail", "",
                     "stay nearer to the middle of the photograph"};
    std::vector<ChainMember> members;
    std::vector<std::vector<FitPoint>> marks;
    for (const Run& run : splitter.runs()) {
        std::vector<FitPoint> points;
        ChainMember m = splitter.memberOf(run, points);
        if (!fitMember(m)) continue;
        members.push_back(std::move(m));
        marks.push_back(std::move(points));
    }
    if (members.empty())
        return Error{ErrorCode::Refused, "no lines and arcs make up this trail", "", "follow a clearer edge"};
    PieceChain chain(std::move(members), trail.closed, o.plusMinus_px);
    chain.fit();
    std::vector<Piece> out;
    for (std::size_t k = 0; k < chain.members().size(); ++k) {
        Piece p = pieceOf(chain, k, trail.closed);
        p.points = std::move(marks[k]);
        for (FitPoint& f : p.points) f.sigma_px *= chain.scale();
        p.samples = static_cast<int>(p.points.size());
        p.fromPx = distorted(undistort, p.from, p.points.front().px);
        p.toPx = distorted(undistort, p.to, p.points.back().px);
        out.push_back(std::move(p));
    }
    return out;
}

}  // namespace trammel::fit
