// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/tools/StrokeTool.h"

#include <QCoreApplication>
#include <QPainter>

#include "core/survey/Names.h"
#include "core/survey/ObjectCheck.h"
#include "ui/canvas/MarkPainter.h"
#include "ui/document/Choice.h"
#include "ui/document/Document.h"
#include "ui/tools/MarkEdits.h"

namespace trammel::ui {
namespace {

using survey::FeatureKind;

QString tr(const char* text) { return QCoreApplication::translate("StrokeTool", text); }

QString named(const survey::Survey& survey, const survey::Id& id) {
    return QString::fromStdString(survey::describe(survey, id));
}

}  // namespace

StrokeTool::StrokeTool(ToolContext& context, FeatureKind kind,
                       std::function<void(const survey::Id& mark)> marked)
    : Tool(context), kind_(kind), marked_(std::move(marked)) {}

survey::Id StrokeTool::target() const {
    const auto* feature = survey::find(context_.document.survey().features, context_.choice.feature());
    return feature && feature->kind == kind_ ? feature->id : survey::Id();
}

QString StrokeTool::words() const {
    const auto& survey = context_.document.survey();
    const auto& station = context_.choice.station();
    if (station.empty()) return tr("Add a photograph first; then mark on it.");
    const survey::Id feature = target();
    if (feature.empty() && context_.choice.level().empty() && kind_ != FeatureKind::Corner)
        return tr("Add a level first (left): a new edge, hole, arc, slot or curve lies in one.");
    const QString kind = QString::fromLatin1(survey::kindName(kind_).data());
    const auto* level = survey::find(survey.levels, context_.choice.level());
    const QString what = !feature.empty() ? named(survey, feature)
                         : level          ? tr("a new %1 at %2").arg(kind, named(survey, level->id))
                                          : tr("a new %1 free in space").arg(kind);
    const bool again = !feature.empty() && markOf(survey, station, feature);
    const int left = static_cast<int>(survey::leastPoints(kind_)) - static_cast<int>(points_.size());
    if (kind_ == FeatureKind::Corner)
        return again ? tr("Click: marks %1 again, in place of its old mark here.").arg(what)
                     : tr("Click: marks %1 in %2.").arg(what, named(survey, station));
    const QString where = kind_ == FeatureKind::Edge || kind_ == FeatureKind::Curve
                              ? tr("along %1").arg(what)
                              : tr("on the rim of %1").arg(what);
    if (points_.empty() && again)
        return tr("Click a first point %1: replaces its old mark here (%2 or more clicks).")
            .arg(where)
            .arg(left);
    if (points_.empty()) return tr("Click a first point %1 (%2 or more clicks).").arg(where).arg(left);
    if (left > 0)
        return tr("Click the next point %1: %2 more; Backspace takes one back.").arg(where).arg(left);
    return tr("Enter, double-click or right click: marks %1 with %2 points. Click: one more point.")
        .arg(what)
        .arg(points_.size());
}

void StrokeTool::press(const QPointF& photo) {
    if (context_.choice.station().empty()) return;
    if (target().empty() && context_.choice.level().empty() && kind_ != FeatureKind::Corner)
        return context_.complain({ErrorCode::Refused,
                                  "a new feature of this kind lies in a level, and none is chosen",
                                  {},
                                  "add a level in the panel on the left"});
    if (station_ != context_.choice.station()) points_.clear();  // another photograph: begin anew
    station_ = context_.choice.station();
    points_.push_back(photo);
    if (kind_ == FeatureKind::Corner) commit();
    context_.refresh();
}

void StrokeTool::hover(const QPointF& photo) {
    pointer_ = photo;
    if (!points_.empty()) context_.refresh();
}

void StrokeTool::finish() {
    if (kind_ == FeatureKind::Corner || points_.empty()) return;
    const int missing = static_cast<int>(survey::leastPoints(kind_)) - static_cast<int>(points_.size());
    if (missing > 0)
        context_.complain({ErrorCode::Refused,
                           "too few points for this mark",
                           {},
                           "click " + std::to_string(missing) + " more"});
    else
        commit();
    context_.refresh();
}

void StrokeTool::commit() {
    const bool tie = !target().empty();
    const auto edit =
        markEdit(context_.document.survey(), station_, kind_, target(), context_.choice.level(), points_);
    const auto done = context_.document.perform(edit);
    if (!done) {
        if (kind_ == FeatureKind::Corner) points_.clear();
        return context_.complain(done.error());  // the points stay, so that nothing clicked is lost
    }
    points_.clear();
    const auto& marks = context_.document.survey().marks;
    for (const auto& change : edit.changes)
        if (const auto* put = std::get_if<survey::Put<survey::Mark>>(&change)) {
            context_.choice.setMark(put->object.id);
            if (tie) context_.choice.setFeature(put->object.feature);
            if (marked_ && survey::find(marks, put->object.id)) marked_(put->object.id);
        }
}

bool StrokeTool::stepBack() {
    if (points_.empty()) return false;
    points_.pop_back();
    context_.refresh();
    return true;
}

bool StrokeTool::cancel() {
    if (points_.empty()) return false;
    points_.clear();
    context_.refresh();
    return true;
}

void StrokeTool::paint(QPainter& painter, const ViewTransform& view) const {
    if (points_.empty() || station_ != context_.choice.station()) return;
    std::vector<QPointF> screen;
    for (const auto& p : points_) screen.push_back(view.toScreen(p));
    paintPending(painter, screen, false, true);
    if (pointer_) screen.push_back(view.toScreen(*pointer_));
    paintPending(painter, strokePreview(kind_, screen), runsRound(kind_), false);
}

}  // namespace trammel::ui
