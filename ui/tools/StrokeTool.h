// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/survey/Survey.h"
#include "ui/tools/Tool.h"

namespace trammel::ui {

/// Marks a corner (one click), an edge (two or more), a hole or an arc (three or more on the rim), a slot
/// (five or more on its rim) or a free curve (four or more along it), for a new feature in the chosen level
/// or for the feature chosen in the list (the tie between photographs).
class StrokeTool : public Tool {
  public:
    StrokeTool(ToolContext& context, survey::FeatureKind kind,
               std::function<void(const survey::Id& mark)> marked);

    QString words() const override;
    void press(const QPointF& photo) override;
    void hover(const QPointF& photo) override;
    void finish() override;
    bool stepBack() override;
    bool cancel() override;
    void paint(QPainter& painter, const ViewTransform& view) const override;

  private:
    /// The chosen feature when it is of this tool's kind; empty for a new one.
    survey::Id target() const;
    void commit();

    survey::FeatureKind kind_;
    std::function<void(const survey::Id&)> marked_;
    std::vector<QPointF> points_;
    survey::Id station_;  ///< where the unfinished points lie
    std::optional<QPointF> pointer_;
};

}  // namespace trammel::ui
