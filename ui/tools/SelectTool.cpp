// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/tools/SelectTool.h"

#include <QCoreApplication>
#include <QPainter>
#include <cmath>

#include "ui/canvas/MarkPainter.h"
#include "ui/document/Choice.h"
#include "ui/document/Document.h"
#include "ui/tools/MarkEdits.h"

namespace trammel::ui {
namespace {

QString tr(const char* text) { return QCoreApplication::translate("SelectTool", text); }

}  // namespace

QString SelectTool::words() const {
    const auto& mark = context_.choice.mark();
    if (mark.empty()) return tr("Click a mark to pick it; drag one of its points to move it.");
    return tr("Picked: %1. Drag moves it, Delete removes it, F fits it to the picture.")
        .arg(QString::fromStdString(survey::describe(context_.document.survey(), mark)));
}

void SelectTool::press(const QPointF& photo) {
    hit_ = context_.scene().at(photo, context_.reach());
    from_ = to_ = photo;
    dragging_ = false;
    context_.choice.setMark(hit_ ? hit_->mark : survey::Id());
    context_.choice.setFeature(hit_ ? hit_->feature : survey::Id());
    context_.refresh();
}

void SelectTool::drag(const QPointF& photo) {
    if (!hit_ || hit_->mark.empty()) return;
    to_ = photo;
    // A shaky click is not a move: the pointer must leave a third of the catching distance.
    if (std::hypot((to_ - from_).x(), (to_ - from_).y()) > context_.reach() / 3) dragging_ = true;
    if (dragging_) context_.refresh();
}

void SelectTool::release(const QPointF& photo) {
    if (!dragging_ || !hit_) return;
    dragging_ = false;
    const auto done = context_.document.perform(
        moveEdit(context_.document.survey(), hit_->mark, hit_->point, photo - from_));
    if (!done) context_.complain(done.error());
    context_.refresh();
}

bool SelectTool::cancel() {
    const bool had = dragging_ || !context_.choice.mark().empty() || !context_.choice.feature().empty();
    dragging_ = false;
    hit_.reset();
    context_.choice.setMark({});
    context_.choice.setFeature({});
    return had;
}

void SelectTool::remove() {
    const auto mark = context_.choice.mark();
    if (mark.empty()) return;
    hit_.reset();
    const auto done = context_.document.perform(removeEdit(context_.document.survey(), mark));
    if (!done) context_.complain(done.error());
}

void SelectTool::paint(QPainter& painter, const ViewTransform& view) const {
    const SceneItem* item = dragging_ && hit_ ? context_.scene().item(hit_->mark) : nullptr;
    if (!item) return;
    std::vector<QPointF> points;
    for (std::size_t i = 0; i < item->points.size(); ++i) {
        const bool moves = hit_->point < 0 || static_cast<std::size_t>(hit_->point) == i;
        points.push_back(view.toScreen(item->points[i] + (moves ? to_ - from_ : QPointF())));
    }
    paintPending(painter, points, false, true);
    paintPending(painter, strokePreview(item->kind, points), runsRound(item->kind), false);
}

}  // namespace trammel::ui
