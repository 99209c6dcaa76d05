// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/tools/CornerFitTool.h"

#include <QCoreApplication>
#include <QPainter>

#include "ui/canvas/MarkPainter.h"
#include "ui/document/Document.h"

namespace trammel::ui {

CornerFitTool::CornerFitTool(ToolContext& context, survey::Id mark,
                             std::function<void(const survey::Id&, const std::vector<Vec2>&)> done)
    : Tool(context), mark_(std::move(mark)), done_(std::move(done)) {}

QString CornerFitTool::words() const {
    const QString mark = QString::fromStdString(survey::describe(context_.document.survey(), mark_));
    const char* text = along_.empty()
                           ? "Fitting the %1: click a point on one of its edges (Escape leaves it)."
                           : "Fitting the %1: now click a point on its other edge.";
    return QCoreApplication::translate("CornerFitTool", text).arg(mark);
}

void CornerFitTool::press(const QPointF& photo) {
    along_.push_back(photo);
    if (along_.size() < 2) return context_.refresh();
    const std::vector<Vec2> along = {{along_[0].x(), along_[0].y()}, {along_[1].x(), along_[1].y()}};
    const auto done = done_;
    const auto mark = mark_;
    done(mark, along);  // leaves this tool: nothing of it may be touched afterwards
}

bool CornerFitTool::stepBack() {
    if (along_.empty()) return false;
    along_.pop_back();
    context_.refresh();
    return true;
}

void CornerFitTool::paint(QPainter& painter, const ViewTransform& view) const {
    std::vector<QPointF> screen;
    for (const auto& p : along_) screen.push_back(view.toScreen(p));
    paintPending(painter, screen, false, true);
}

}  // namespace trammel::ui
