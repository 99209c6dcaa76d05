// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/canvas/MarkScene.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <numbers>

namespace trammel::ui {
namespace {

using survey::FeatureKind;

double length(const QPointF& p) { return std::hypot(p.x(), p.y()); }

/// A slot is convex, so its rim points lie around their middle in the order of the rim, whichever way they
/// were clicked.
std::vector<QPointF> aroundTheirMiddle(std::vector<QPointF> points) {
    QPointF middle;
    for (const auto& p : points) middle += p / static_cast<double>(points.size());
    std::ranges::sort(points, {},
                      [&](const QPointF& p) { return std::atan2(p.y() - middle.y(), p.x() - middle.x()); });
    return points;
}

QString labelOf(const survey::Feature& feature) {
    return QString::fromStdString(feature.name.empty() ? feature.id : feature.name);
}

}  // namespace

MarkScene::MarkScene(const survey::Survey& survey, const adjust::Solution* solution,
                     const survey::Id& station) {
    const bool solved = solution && solution->stations.contains(station);
    for (const auto& feature : survey.features) {
        SceneItem item;
        item.feature = feature.id;
        item.level = feature.level;
        item.kind = feature.kind;
        item.label = labelOf(feature);
        if (solved && solution->features.contains(feature.id))
            for (const Vec2& p : solution->project(survey, feature.id, station))
                item.adjusted.emplace_back(p.x(), p.y());
        bool marked = false;
        for (const auto& mark : survey.marks) {
            if (mark.station != station || mark.feature != feature.id) continue;
            SceneItem own = item;
            own.mark = mark.id;
            own.excluded = mark.excluded;
            own.fitted = mark.origin == survey::MarkOrigin::Fitted;
            for (const auto& p : mark.points) own.points.emplace_back(p.px.x(), p.px.y());
            if (solution) {
                for (const auto& o : solution->observations)
                    if (o.object == mark.id) own.w = o.w;
                own.suspect = std::ranges::any_of(solution->suspects,
                                                  [&](const auto& s) { return s.object == mark.id; });
            }
            items_.push_back(std::move(own));
            marked = true;
        }
        if (!marked && !item.adjusted.empty()) items_.push_back(std::move(item));
    }
}

const SceneItem* MarkScene::item(const survey::Id& mark) const {
    for (const auto& item : items_)
        if (!mark.empty() && item.mark == mark) return &item;
    return nullptr;
}

std::optional<Hit> MarkScene::at(const QPointF& photo, double reach) const {
    std::optional<Hit> best;
    double nearest = reach;
    for (const auto& item : items_)
        for (std::size_t i = 0; i < item.points.size(); ++i)
            if (const double d = length(item.points[i] - photo); d <= nearest) {
                nearest = d;
                best = Hit{item.mark, item.feature, static_cast<int>(i)};
            }
    if (best) return best;
    nearest = reach;
    for (const auto& item : items_) {
        const bool closed = runsRound(item.kind);
        double d = distanceTo(strokePreview(item.kind, item.points), photo, closed);
        if (item.mark.empty()) d = distanceTo(item.adjusted, photo, closed);
        if (d <= nearest) {
            nearest = d;
            best = Hit{item.mark, item.feature, -1};
        }
    }
    return best;
}

double distanceTo(const std::vector<QPointF>& line, const QPointF& point, bool closed, QPointF* nearest) {
    double best = std::numeric_limits<double>::infinity();
    const std::size_t n = line.size();
    const auto consider = [&](const QPointF& q) {
        if (const double d = length(q - point); d < best) {
            best = d;
            if (nearest) *nearest = q;
        }
    };
    if (n == 1) consider(line[0]);
    for (std::size_t i = 0; n > 1 && i < (closed ? n : n - 1); ++i) {
        const QPointF a = line[i], ab = line[(i + 1) % n] - a;
        const double size = QPointF::dotProduct(ab, ab);
        const double t = size > 0 ? std::clamp(QPointF::dotProduct(point - a, ab) / size, 0.0, 1.0) : 0.0;
        consider(a + t * ab);
    }
    return best;
}

std::vector<QPointF> strokePreview(FeatureKind kind, const std::vector<QPointF>& points) {
    switch (kind) {
        case FeatureKind::Hole:
        case FeatureKind::Arc:
            return rimPreview(points, kind == FeatureKind::Hole);
        case FeatureKind::Slot:
            return aroundTheirMiddle(points);
        case FeatureKind::Corner:
        case FeatureKind::Edge:
        case FeatureKind::Curve:
            break;
    }
    return points;
}

std::vector<QPointF> rimPreview(const std::vector<QPointF>& points, bool wholeRim) {
    if (points.size() < 3) return {};
    QPointF mean;
    for (const auto& p : points) mean += p / static_cast<double>(points.size());
    Eigen::MatrixX3d a(static_cast<Eigen::Index>(points.size()), 3);
    Eigen::VectorXd b(a.rows());
    for (Eigen::Index i = 0; i < a.rows(); ++i) {
        const QPointF p = points[static_cast<std::size_t>(i)] - mean;
        a.row(i) << 2 * p.x(), 2 * p.y(), 1.0;
        b(i) = QPointF::dotProduct(p, p);
    }
    const auto qr = a.colPivHouseholderQr();
    if (qr.rank() < 3) return {};
    const Eigen::Vector3d s = qr.solve(b);
    const double r2 = s(2) + s(0) * s(0) + s(1) * s(1);
    if (!(r2 > 0) || !(r2 < 1e12)) return {};
    const double r = std::sqrt(r2);
    const QPointF centre = mean + QPointF(s(0), s(1));
    const auto angleOf = [&](const QPointF& p) { return std::atan2(p.y() - centre.y(), p.x() - centre.x()); };
    constexpr double kTurn = 2 * std::numbers::pi;
    double from = 0, sweep = kTurn;
    if (!wholeRim) {  // from the first to the last point, passing the second
        from = angleOf(points.front());
        const auto turned = [&](const QPointF& p) { return std::fmod(angleOf(p) - from + 2 * kTurn, kTurn); };
        sweep = turned(points.back());
        if (turned(points[1]) > sweep) sweep -= kTurn;
    }
    constexpr int kSteps = 64;
    std::vector<QPointF> rim;
    for (int i = 0; i < kSteps + (wholeRim ? 0 : 1); ++i) {
        const double t = from + sweep * i / kSteps;
        rim.push_back(centre + r * QPointF(std::cos(t), std::sin(t)));
    }
    return rim;
}

}  // namespace trammel::ui
