// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/survey/SamePlace.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <unordered_map>

#include "core/survey/ObjectCheck.h"

namespace trammel::survey {
namespace {

constexpr double kLeastTolerance_px = 0.5;

/// One mark with what is needed to compare it quickly.
struct Seen {
    int station = 0;
    View view = View::Top;
    const Mark* mark = nullptr;
    Vec2 low, high;      // box around the points
    double sigma = 0.0;  // largest of the points
};

struct Candidate {
    const Feature* feature = nullptr;
    std::vector<Seen> seen;  // ascending by station
};

Vec2 middle(const Mark& m) {
    Vec2 sum = Vec2::Zero();
    for (const MarkPoint& p : m.points) sum += p.px;
    return sum / static_cast<double>(m.points.size());
}

bool boxesMeet(const Seen& a, const Seen& b, double tolerance) {
    return (a.low.array() <= b.high.array() + tolerance).all() &&
           (b.low.array() <= a.high.array() + tolerance).all();
}

/// Rim a x² + b xy + c y² + d x + e y + f = 0 through points, by the least singular vector. A circle while
/// there are fewer points than a conic needs.
class Rim {
  public:
    explicit Rim(const Mark& m) : origin_(middle(m)) {
        for (const MarkPoint& p : m.points) scale_ = std::max(scale_, (p.px - origin_).norm());
        if (scale_ <= 0.0) scale_ = 1.0;
        const bool circle = m.points.size() < 6;
        MatX rows(std::max<Eigen::Index>(static_cast<Eigen::Index>(m.points.size()), 6), circle ? 4 : 6);
        rows.setZero();
        for (std::size_t i = 0; i < m.points.size(); ++i) {
            const Vec2 p = (m.points[i].px - origin_) / scale_;
            const auto r = static_cast<Eigen::Index>(i);
            if (circle)
                rows.row(r) << p.squaredNorm(), p.x(), p.y(), 1.0;
            else
                rows.row(r) << p.x() * p.x(), p.x() * p.y(), p.y() * p.y(), p.x(), p.y(), 1.0;
        }
        const Eigen::JacobiSVD<MatX> svd(rows, Eigen::ComputeFullV);
        const VecX v = svd.matrixV().rightCols(1);
        if (circle)
            k_ << v(0), 0.0, v(0), v(1), v(2), v(3);
        else
            k_ = v;
    }
    /// First-order (Sampson) distance, px.
    double distance(const Vec2& px) const {
        const Vec2 p = (px - origin_) / scale_;
        const double x = p.x(), y = p.y();
        const double value = k_(0) * x * x + k_(1) * x * y + k_(2) * y * y + k_(3) * x + k_(4) * y + k_(5);
        const Vec2 slope(2 * k_(0) * x + k_(1) * y + k_(3), k_(1) * x + 2 * k_(2) * y + k_(4));
        return std::abs(value) / std::max(slope.norm(), 1e-12) * scale_;
    }

  private:
    Vec2 origin_;
    double scale_ = 0.0;
    Eigen::Matrix<double, 6, 1> k_;
};

bool inBox(const Vec2& p, const Seen& s, double tolerance) {
    return (p.array() >= s.low.array() - tolerance).all() && (p.array() <= s.high.array() + tolerance).all();
}

bool edgeLiesOn(const Seen& a, const Seen& b, double tolerance) {
    const auto& points = b.mark->points;
    const Vec2 direction = (points.back().px - points.front().px).normalized();
    for (const MarkPoint& p : a.mark->points) {
        const Vec2 d = p.px - points.front().px;
        if (std::abs(d.x() * direction.y() - d.y() * direction.x()) > tolerance) return false;
    }
    return inBox(middle(*a.mark), b, tolerance);
}

bool rimLiesOn(const Seen& a, const Seen& b, double tolerance) {
    const Rim rim(*b.mark);
    for (const MarkPoint& p : a.mark->points)
        if (rim.distance(p.px) > tolerance) return false;
    return inBox(middle(*a.mark), b, tolerance);
}

bool atOnePlace(FeatureKind kind, const Seen& a, const Seen& b) {
    const double tolerance = std::max(kLeastTolerance_px, std::hypot(a.sigma, b.sigma));
    if (!boxesMeet(a, b, tolerance)) return false;
    switch (kind) {
        case FeatureKind::Corner:
            return (a.mark->points.front().px - b.mark->points.front().px).norm() <= tolerance;
        case FeatureKind::Edge:
            return edgeLiesOn(a, b, tolerance) && edgeLiesOn(b, a, tolerance);
        case FeatureKind::Hole:
        case FeatureKind::Arc:
        case FeatureKind::Slot:
        case FeatureKind::Curve:
            return rimLiesOn(a, b, tolerance) && rimLiesOn(b, a, tolerance);
    }
    return false;
}

bool facesLevels(View v) { return v == View::Top || v == View::Bottom || v == View::Oblique; }

/// Opposite views look along one line.
int axis(View v) {
    switch (v) {
        case View::Top:
        case View::Bottom:
            return 0;
        case View::Front:
        case View::Rear:
            return 1;
        case View::Left:
        case View::Right:
            return 2;
        case View::Oblique:
            return 3;
    }
    return 3;
}

bool samePlace(const Candidate& a, const Candidate& b) {
    const bool oneLevel = !a.feature->level.empty() && a.feature->level == b.feature->level;
    if (!oneLevel && a.feature->kind != FeatureKind::Corner) return false;
    bool faced = false, crossed = false;
    const Seen* before = nullptr;
    auto i = a.seen.begin();
    auto j = b.seen.begin();
    while (i != a.seen.end() && j != b.seen.end()) {
        if (i->station < j->station) {
            ++i;
        } else if (j->station < i->station) {
            ++j;
        } else {
            if (!atOnePlace(a.feature->kind, *i, *j)) return false;
            faced = faced || facesLevels(i->view);
            if (before && (axis(before->view) != axis(i->view) || i->view == View::Oblique)) crossed = true;
            before = &*i;
            ++i, ++j;
        }
    }
    return oneLevel ? faced : crossed;
}

std::vector<Candidate> candidates(const Survey& s) {
    std::unordered_map<Id, std::size_t> byId;
    std::vector<Candidate> list;
    for (const Feature& f : s.features) {
        byId.emplace(f.id, list.size());
        list.push_back({&f, {}});
    }
    std::unordered_map<Id, int> stations;
    for (std::size_t i = 0; i < s.stations.size(); ++i)
        if (!s.stations[i].excluded) stations.emplace(s.stations[i].id, static_cast<int>(i));
    for (const Mark& m : s.marks) {
        const auto feature = byId.find(m.feature);
        const auto station = stations.find(m.station);
        if (m.excluded || feature == byId.end() || station == stations.end()) continue;
        Candidate& c = list[feature->second];
        if (m.points.size() < leastPoints(c.feature->kind)) continue;
        Seen seen{station->second,
                  s.stations[static_cast<std::size_t>(station->second)].view,
                  &m,
                  m.points.front().px,
                  m.points.front().px,
                  0.0};
        bool sound = true;
        for (const MarkPoint& p : m.points) {
            sound = sound && p.px.allFinite() && std::isfinite(p.sigma_px);
            seen.low = seen.low.cwiseMin(p.px);
            seen.high = seen.high.cwiseMax(p.px);
            seen.sigma = std::max(seen.sigma, p.sigma_px);
        }
        if (sound) c.seen.push_back(seen);
    }
    for (Candidate& c : list)
        std::stable_sort(c.seen.begin(), c.seen.end(),
                         [](const Seen& x, const Seen& y) { return x.station < y.station; });
    return list;
}

/// The first photograph that shows both, −1 where none does.
int firstShared(const Candidate& a, const Candidate& b) {
    auto i = a.seen.begin();
    auto j = b.seen.begin();
    while (i != a.seen.end() && j != b.seen.end()) {
        if (i->station == j->station) return i->station;
        i->station < j->station ? ++i : ++j;
    }
    return -1;
}

/// Calls f(i, j) for pairs of features whose boxes in this photograph may meet: a sweep from left to right.
void forEachNear(const std::vector<Candidate>& list, int station, const auto& f) {
    struct Box {
        double low, high;  // in x, widened so that two boxes meet wherever their marks may be at one place
        std::size_t feature;
    };
    std::vector<Box> boxes;
    for (std::size_t i = 0; i < list.size(); ++i) {
        const auto& seen = list[i].seen;
        const auto at = std::lower_bound(seen.begin(), seen.end(), station,
                                         [](const Seen& s, int wanted) { return s.station < wanted; });
        if (at == seen.end() || at->station != station) continue;
        const double reach = std::max(kLeastTolerance_px, at->sigma);
        boxes.push_back({at->low.x() - reach, at->high.x() + reach, i});
    }
    std::sort(boxes.begin(), boxes.end(), [](const Box& a, const Box& b) { return a.low < b.low; });
    for (std::size_t i = 0; i < boxes.size(); ++i)
        for (std::size_t j = i + 1; j < boxes.size() && boxes[j].low <= boxes[i].high; ++j)
            f(boxes[i].feature, boxes[j].feature);
}

}  // namespace

std::vector<std::pair<Id, Id>> featuresAtOnePlace(const Survey& survey) {
    const std::vector<Candidate> list = candidates(survey);
    std::vector<std::pair<std::size_t, std::size_t>> found;
    for (int s = 0; s < static_cast<int>(survey.stations.size()); ++s)
        forEachNear(list, s, [&](std::size_t i, std::size_t j) {
            if (list[i].feature->kind == list[j].feature->kind &&
                list[i].feature->id != list[j].feature->id && firstShared(list[i], list[j]) == s &&
                samePlace(list[i], list[j]))
                found.emplace_back(std::min(i, j), std::max(i, j));
        });
    std::sort(found.begin(), found.end());
    std::vector<std::pair<Id, Id>> pairs;
    for (const auto& [i, j] : found) pairs.emplace_back(list[i].feature->id, list[j].feature->id);
    return pairs;
}

}  // namespace trammel::survey
