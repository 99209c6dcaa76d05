// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <array>
#include <optional>

#include "core/fit/Rivals.h"
#include "ui/tools/Tool.h"

namespace trammel::ui {

/// Of a corner one choice for either edge, else the first only.
using RivalChoice = std::array<std::optional<fit::Rival>, 2>;

/// Shows the edges between which the fit of a mark was refused and asks which is meant.
class RivalTool : public Tool {
  public:
    /// `before`: what was chosen for the other edge of a corner already.
    RivalTool(ToolContext& context, survey::Id mark, std::vector<fit::Rival> rivals, RivalChoice before,
              std::function<void(const survey::Id& mark, const RivalChoice& choice)> done);
    QString words() const override;
    QString keys() const override;
    void key(QChar letter) override;
    void press(const QPointF& photo) override;
    void paint(QPainter& painter, const ViewTransform& view) const override;

    std::size_t count() const { return rivals_.size(); }
    void choose(std::size_t index);

  private:
    survey::Id mark_;
    std::vector<fit::Rival> rivals_;
    RivalChoice choice_;
    std::function<void(const survey::Id&, const RivalChoice&)> done_;
};

}  // namespace trammel::ui
