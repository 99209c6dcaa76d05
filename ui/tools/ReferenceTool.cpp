// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/tools/ReferenceTool.h"

#include <QCoreApplication>
#include <QPainter>

#include "core/survey/QuantityCheck.h"
#include "ui/canvas/MarkPainter.h"
#include "ui/document/Choice.h"
#include "ui/document/Document.h"
#include "ui/tools/MarkEdits.h"

namespace trammel::ui {
namespace {

QString tr(const char* text) { return QCoreApplication::translate("ReferenceTool", text); }

}  // namespace

QString ReferenceTool::words() const {
    if (context_.choice.station().empty()) return tr("Add a photograph first; then mark a length on it.");
    const auto* level = survey::find(context_.document.survey().levels, context_.choice.level());
    const QString where =
        level
            ? tr("at %1").arg(QString::fromStdString(survey::describe(context_.document.survey(), level->id)))
            : tr("free in space");
    if (ends_.empty()) return tr("Click one end of a known length (a mark, or a new point %1).").arg(where);
    if (!ready())
        return tr("Click its other end (a mark, or a new point %1); Backspace takes one back.").arg(where);
    return tr("Type the length above the photograph and press Enter.");
}

void ReferenceTool::press(const QPointF& photo) {
    if (context_.choice.station().empty()) return;
    if (station_ != context_.choice.station()) ends_.clear();
    station_ = context_.choice.station();
    if (ready()) ends_.clear();  // a third click begins another length
    End end{photo, {}};
    if (const auto hit = context_.scene().at(photo, context_.reach()); hit && !hit->mark.empty()) {
        const auto* item = context_.scene().item(hit->mark);
        if (item && survey::hasPoint(item->kind)) end.feature = hit->feature;
        if (item && item->kind == survey::FeatureKind::Corner) end.photo = item->points.front();
    }
    if (ends_.size() == 1 && !end.feature.empty() && ends_[0].feature == end.feature)
        return context_.complain(
            {ErrorCode::Refused, "both ends are the same feature", {}, "click another end"});
    ends_.push_back(end);
    context_.refresh();
}

bool ReferenceTool::stepBack() {
    if (ends_.empty()) return false;
    ends_.pop_back();
    context_.refresh();
    return true;
}

bool ReferenceTool::cancel() {
    const bool had = !ends_.empty();
    ends_.clear();
    context_.refresh();
    return had;
}

Result<void> ReferenceTool::set(const std::string& name, survey::Measured length) {
    if (!ready())
        return Error{
            ErrorCode::Refused, "a reference length has two ends", {}, "click both on the photograph"};
    // The edits are composed on a copy, because ids and names of the second end depend on the first.
    survey::Survey copy = context_.document.survey();
    survey::Edit whole;
    survey::Reading reading;
    for (const End& end : ends_) {
        if (!end.feature.empty()) {
            reading.objects.push_back(end.feature);
            continue;
        }
        const auto edit =
            markEdit(copy, station_, survey::FeatureKind::Corner, {}, context_.choice.level(), {end.photo});
        if (const auto applied = survey::apply(copy, edit); !applied) return applied.error();
        whole.changes.insert(whole.changes.end(), edit.changes.begin(), edit.changes.end());
        reading.objects.push_back(copy.features.back().id);
    }
    reading.id = survey::freshId(copy, 'R');
    reading.name = name;
    reading.measured = length;
    reading.reference = true;
    whole.name = "Mark reference length " + (name.empty() ? reading.id : name);
    whole.changes.push_back(survey::Put<survey::Reading>{reading});
    auto done = context_.document.perform(whole);
    if (done) ends_.clear();
    context_.refresh();
    return done;
}

void ReferenceTool::paint(QPainter& painter, const ViewTransform& view) const {
    if (station_ != context_.choice.station()) return;
    std::vector<QPointF> screen;
    for (const auto& end : ends_) screen.push_back(view.toScreen(end.photo));
    paintPending(painter, screen, false, true);
    paintPending(painter, screen, false, false);
}

}  // namespace trammel::ui
