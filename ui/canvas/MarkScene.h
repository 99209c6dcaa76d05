// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QPointF>
#include <QString>
#include <optional>
#include <vector>

#include "core/adjust/Solution.h"
#include "core/survey/Survey.h"

namespace trammel::ui {

/// One mark (or one adjusted feature without a mark) as the photograph shows it; all in photograph px.
struct SceneItem {
    survey::Id mark, feature, level;  ///< mark is empty for a feature that is only predicted here
    survey::FeatureKind kind = survey::FeatureKind::Corner;
    QString label;
    std::vector<QPointF> points;    ///< as marked
    std::vector<QPointF> adjusted;  ///< where the adjustment puts it; empty without one
    std::optional<double> w;        ///< standardised residual
    bool excluded = false, suspect = false, fitted = false;
};

/// What a click found.
struct Hit {
    survey::Id mark, feature;
    int point = -1;  ///< which point of the mark; −1: its line or rim
};

/// Everything drawn over one photograph, as plain values: rebuilt when the survey, the adjustment or the
/// photograph changes, never while panning.
class MarkScene {
  public:
    MarkScene() = default;
    MarkScene(const survey::Survey& survey, const adjust::Solution* solution, const survey::Id& station);

    const std::vector<SceneItem>& items() const { return items_; }
    const SceneItem* item(const survey::Id& mark) const;

    /// Nearest mark (points before lines) or predicted feature within `reach` px of the photograph.
    std::optional<Hit> at(const QPointF& photo, double reach) const;

  private:
    std::vector<SceneItem> items_;
};

/// Distance from a point to a polyline (closed when asked); to the point itself when it has one vertex.
double distanceTo(const std::vector<QPointF>& line, const QPointF& point, bool closed,
                  QPointF* nearest = nullptr);

/// The line that marked points of a feature suggest while no adjustment says better: the circle of a hole or
/// arc, the ring through a slot's rim, straight pieces through an edge's or curve's points in their order.
std::vector<QPointF> strokePreview(survey::FeatureKind kind, const std::vector<QPointF>& points);

/// Whether a feature's line runs into its beginning by its kind. A closed curve repeats its first point.
constexpr bool runsRound(survey::FeatureKind kind) {
    return kind == survey::FeatureKind::Hole || kind == survey::FeatureKind::Slot;
}

/// Ellipse-free preview of a rim: the circle that fits the clicked points best (Kåsa's algebraic fit), as a
/// polyline. Empty with fewer than three points or points in a line.
std::vector<QPointF> rimPreview(const std::vector<QPointF>& points, bool wholeRim);

}  // namespace trammel::ui
