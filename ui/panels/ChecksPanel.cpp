// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/ChecksPanel.h"

#include <QHBoxLayout>
#include <QLabel>
#include <QPushButton>
#include <QScrollArea>

#include "ui/panels/LedgerPanel.h"
#include "ui/panels/SurveyRows.h"
#include "ui/tools/MarkEdits.h"

namespace trammel::ui {

ChecksPanel::ChecksPanel(PanelContext context, QWidget* parent)
    : QWidget(parent),
      context_(std::move(context)),
      model_(markHeadings()),
      list_(new ListView(model_, 0, tr("No marks yet. Each mark is listed here with its residual."), this)),
      words_(new QLabel(this)),
      scroll_(new QScrollArea(this)) {
    list_->setObjectName(QStringLiteral("marks"));
    scroll_->setObjectName(QStringLiteral("suspects"));
    words_->setWordWrap(true);
    scroll_->setWidgetResizable(true);
    scroll_->setFrameShape(QFrame::NoFrame);
    scroll_->setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
    model_.setEditors({}, [this](const auto& id, int, bool ticked) {
        return context_.perform(excludeEdit(context_.document.survey(), id, !ticked));
    });
    auto* column = new QVBoxLayout(this);
    column->addWidget(heading(tr("What disagrees"), this));
    column->addWidget(words_);
    column->addWidget(scroll_, 2);
    column->addWidget(heading(tr("Marks and their residuals (px)"), this));
    column->addWidget(list_, 3);
    connect(list_, &ListView::chosen, this, [this](const std::string& id) {
        if (!id.empty()) Q_EMIT showAsked(id);
    });
    connect(list_, &ListView::removeAsked, this,
            [this](const std::string& id) { context_.perform(removeEdit(context_.document.survey(), id)); });
    refresh();
}

void ChecksPanel::refresh() {
    model_.setRows(markRows(context_.document));
    refreshChoice();
    words_->setText(adjustmentSummary(context_.document));
    refreshSuspects();
}

void ChecksPanel::refreshChoice() { list_->choose(context_.choice.mark()); }

void ChecksPanel::refreshSuspects() {
    auto* page = new QWidget(scroll_);
    auto* column = new QVBoxLayout(page);
    column->setContentsMargins(0, 0, 0, 0);
    const auto& solution = context_.document.solution();
    if (solution) {
        for (const auto& suspect : solution->suspects) column->addWidget(suspectRow(suspect));
        for (const auto& note : solution->notes) {
            auto* label = new QLabel(QString::fromStdString(note), page);
            label->setWordWrap(true);
            column->addWidget(label);
        }
        if (solution->suspects.empty()) {
            auto* label = new QLabel(tr("No mark or reading stands out."), page);
            label->setWordWrap(true);
            column->insertWidget(0, label);
        }
    }
    column->addStretch(1);
    scroll_->setWidget(page);  // deletes the old page
    scroll_->setVisible(solution != nullptr);
}

QWidget* ChecksPanel::suspectRow(const adjust::Suspect& suspect) {
    auto* row = new QFrame(scroll_);
    row->setFrameShape(QFrame::StyledPanel);
    auto* column = new QVBoxLayout(row);
    column->setContentsMargins(6, 4, 6, 4);
    auto* words = new QLabel(QStringLiteral("! ") + QString::fromStdString(suspect.sentence), row);
    words->setWordWrap(true);
    column->addWidget(words);
    auto* buttons = new QHBoxLayout;
    auto* show = new QPushButton(tr("Show"), row);
    const auto& survey = context_.document.survey();
    const bool mark = survey::find(survey.marks, suspect.object);
    const bool reading = survey::find(survey.readings, suspect.object);
    setUsable(show, mark || reading, tr("Open where it is"),
              tr("This is about the camera; it has no place to show."));
    const bool condition = survey::find(survey.conditions, suspect.object);
    const bool out = isExcluded(survey, suspect.object);
    auto* toggle = new QPushButton(out ? tr("Take in again") : tr("Leave out"), row);
    setUsable(
        toggle, mark || reading || condition,
        out ? tr("Let the adjustment use it again") : tr("Keep it, but let the adjustment do without it"),
        tr("Only marks, readings and conditions can be left out here."));
    const auto object = suspect.object;
    // queued: both may rebuild this very row
    connect(
        show, &QPushButton::clicked, this, [this, object] { Q_EMIT showAsked(object); },
        Qt::QueuedConnection);
    connect(
        toggle, &QPushButton::clicked, this,
        [this, object, out] { context_.perform(excludeEdit(context_.document.survey(), object, !out)); },
        Qt::QueuedConnection);
    buttons->addWidget(show);
    buttons->addWidget(toggle);
    buttons->addStretch(1);
    column->addLayout(buttons);
    return row;
}

}  // namespace trammel::ui
