// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/math/Types.h"
#include "core/survey/Survey.h"
#include "ui/tools/Tool.h"

namespace trammel::ui {

/// Asks for a point on either edge of a marked corner, so that it can be fitted as their intersection.
class CornerFitTool : public Tool {
  public:
    CornerFitTool(ToolContext& context, survey::Id mark,
                  std::function<void(const survey::Id& mark, const std::vector<Vec2>& along)> done);
    QString words() const override;
    void press(const QPointF& photo) override;
    bool stepBack() override;
    void paint(QPainter& painter, const ViewTransform& view) const override;

  private:
    survey::Id mark_;
    std::vector<QPointF> along_;
    std::function<void(const survey::Id&, const std::vector<Vec2>&)> done_;
};

}  // namespace trammel::ui
