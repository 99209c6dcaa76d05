// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "ui/tools/Tool.h"

namespace trammel::ui {

/// Picks a mark, drags one of its points (or, by its line, the whole mark), and removes it with Delete.
class SelectTool : public Tool {
  public:
    using Tool::Tool;
    QString words() const override;
    void press(const QPointF& photo) override;
    void drag(const QPointF& photo) override;
    void release(const QPointF& photo) override;
    bool cancel() override;
    void remove() override;
    void paint(QPainter& painter, const ViewTransform& view) const override;

  private:
    std::optional<Hit> hit_;
    QPointF from_, to_;
    bool dragging_ = false;
};

}  // namespace trammel::ui
