// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/tools/OutlineTool.h"

#include <QCoreApplication>
#include <QPainter>
#include <QStringList>

#include "core/survey/Names.h"
#include "ui/canvas/MarkPainter.h"
#include "ui/document/Choice.h"
#include "ui/document/Document.h"

namespace trammel::ui {
namespace {

QString tr(const char* text) { return QCoreApplication::translate("OutlineTool", text); }

QPointF anchorOf(const SceneItem& item) {
    const auto& points = item.points.empty() ? item.adjusted : item.points;
    QPointF sum;
    for (const auto& p : points) sum += p / static_cast<double>(points.size());
    return sum;
}

}  // namespace

Result<survey::Edit> outlineEdit(const survey::Survey& survey, const std::vector<survey::Id>& chain,
                                 survey::OutlinePurpose purpose) {
    survey::Outline outline;
    outline.id = survey::freshId(survey, 'O');
    outline.purpose = purpose;
    outline.chain = chain;
    const auto* first = chain.empty() ? nullptr : survey::find(survey.features, chain.front());
    if (!first)
        return Error{ErrorCode::Refused, "an outline is a chain of features", {}, "choose some in order"};
    outline.level = first->level;
    const bool ring = chain.size() == 1 && (first->kind == survey::FeatureKind::Hole ||
                                            first->kind == survey::FeatureKind::Slot ||
                                            first->kind == survey::FeatureKind::Curve);
    if (chain.size() < 3 && !ring)
        return Error{ErrorCode::Refused,
                     "an outline needs at least three features (or one hole, slot or closed curve)",
                     {},
                     "choose the next feature along it"};
    for (const auto& id : chain) {
        const auto* feature = survey::find(survey.features, id);
        if (!feature || feature->level != outline.level)
            return Error{ErrorCode::Refused, "lies in another level than the outline's first feature",
                         survey::describe(survey, id), "choose features of one level"};
    }
    int number = 1;
    for (const auto& other : survey.outlines) number += other.purpose == purpose;
    outline.name = std::string(survey::purposeName(purpose)) + " " + std::to_string(number);
    return survey::Edit{"Make " + outline.name, {survey::Put<survey::Outline>{outline}}};
}

QString OutlineTool::words() const {
    const auto& survey = context_.document.survey();
    if (survey.features.empty()) return tr("Mark features first; an outline is a chain of them.");
    if (chain_.empty())
        return tr("Click the first feature of the outline, in a photograph or in the list of features.");
    QStringList names;
    for (const auto& id : chain_) {
        const auto* f = survey::find(survey.features, id);
        names << QString::fromStdString(f && !f->name.empty() ? f->name : id);
    }
    if (names.size() > 8) names = QStringList{names[0], QStringLiteral("…")} + names.mid(names.size() - 6);
    return tr("Click the next feature in order; Enter or the first one again closes it. So far: %1.")
        .arg(names.join(QStringLiteral(" – ")));
}

void OutlineTool::press(const QPointF& photo) {
    if (const auto hit = context_.scene().at(photo, context_.reach())) add(hit->feature);
}

void OutlineTool::add(const survey::Id& feature) {
    if (!survey::find(context_.document.survey().features, feature)) return;
    if (!chain_.empty() && chain_.front() == feature && chain_.size() > 1) return finish();
    if (std::find(chain_.begin(), chain_.end(), feature) == chain_.end()) chain_.push_back(feature);
    context_.refresh();
}

void OutlineTool::finish() {
    if (chain_.empty()) return;
    const auto edit = outlineEdit(context_.document.survey(), chain_, purpose_);
    if (!edit) return context_.complain(edit.error());  // the chain stays as chosen
    const auto done = context_.document.perform(*edit);
    if (!done) return context_.complain(done.error());
    chain_.clear();
    context_.refresh();
}

bool OutlineTool::stepBack() {
    if (chain_.empty()) return false;
    chain_.pop_back();
    context_.refresh();
    return true;
}

bool OutlineTool::cancel() {
    const bool had = !chain_.empty();
    chain_.clear();
    context_.refresh();
    return had;
}

void OutlineTool::paint(QPainter& painter, const ViewTransform& view) const {
    std::vector<QPointF> screen;
    for (const auto& id : chain_)
        for (const auto& item : context_.scene().items())
            if (item.feature == id) {
                screen.push_back(view.toScreen(anchorOf(item)));
                break;
            }
    paintPending(painter, screen, false, false);
}

}  // namespace trammel::ui
