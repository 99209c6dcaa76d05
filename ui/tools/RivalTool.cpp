// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/tools/RivalTool.h"

#include <QCoreApplication>
#include <QPainter>
#include <QStringList>

#include "ui/canvas/OfferPainter.h"
#include "ui/document/Choice.h"
#include "ui/document/Document.h"

namespace trammel::ui {
namespace {

QString tr(const char* text) { return QCoreApplication::translate("RivalTool", text); }

}  // namespace

RivalTool::RivalTool(ToolContext& context, survey::Id mark, std::vector<fit::Rival> rivals,
                     RivalChoice before, std::function<void(const survey::Id&, const RivalChoice&)> done)
    : Tool(context),
      mark_(std::move(mark)),
      rivals_(std::move(rivals)),
      choice_(std::move(before)),
      done_(std::move(done)) {}

QString RivalTool::keys() const {
    QString keys;
    for (std::size_t i = 0; i < rivals_.size() && i < 26; ++i) keys += QChar('A' + static_cast<int>(i));
    return keys;
}

QString RivalTool::words() const {
    QStringList letters;
    for (const QChar letter : keys()) letters << QString(letter);
    return tr("Which edge is meant by the %1? Press %2 or click one; Escape keeps the mark by hand.")
        .arg(QString::fromStdString(survey::describe(context_.document.survey(), mark_)),
             letters.join(tr(" or ")));
}

void RivalTool::key(QChar letter) { choose(static_cast<std::size_t>(letter.toUpper().unicode() - u'A')); }

void RivalTool::press(const QPointF& photo) {
    if (const int at = rivalAt(rivals_, photo, context_.reach()); at >= 0)
        choose(static_cast<std::size_t>(at));
}

void RivalTool::choose(std::size_t index) {
    if (index >= rivals_.size()) return;
    choice_[static_cast<std::size_t>(rivals_[index].leg)] = rivals_[index];
    const auto done = done_;
    const auto mark = mark_;
    const auto choice = choice_;
    done(mark, choice);  // leaves this tool: nothing of it may be touched afterwards
}

void RivalTool::paint(QPainter& painter, const ViewTransform& view) const {
    const auto* mark = survey::find(context_.document.survey().marks, mark_);
    if (mark && mark->station == context_.choice.station()) paintRivals(painter, view, rivals_, true);
}

}  // namespace trammel::ui
