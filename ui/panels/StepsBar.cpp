// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/StepsBar.h"

#include <QHBoxLayout>
#include <QLabel>
#include <QPushButton>
#include <QVBoxLayout>

#include "ui/settings/WindowSettings.h"

#include "core/adjust/Report.h"

namespace trammel::ui {
namespace {

const QString kKey = QStringLiteral("firstSteps/left");

}  // namespace

StepsBar::StepsBar(const Document& document, QWidget* parent)
    : QWidget(parent),
      document_(document),
      row_(new QLabel(this)),
      words_(new QLabel(this)),
      show_(new QPushButton(tr("Lead me there"), this)),
      leave_(new QPushButton(tr("Leave the steps"), this)),
      wanted_(!WindowSettings().value(kKey, false).toBool()) {
    setObjectName(QStringLiteral("firstSteps"));
    row_->setObjectName(QStringLiteral("firstStepsRow"));
    words_->setObjectName(QStringLiteral("firstStepsWords"));
    show_->setObjectName(QStringLiteral("firstStepsShow"));
    leave_->setObjectName(QStringLiteral("firstStepsLeave"));
    row_->setTextFormat(Qt::RichText);
    for (auto* label : {row_, words_}) {
        label->setWordWrap(true);
        label->setMinimumWidth(100);
    }
    show_->setToolTip(tr("Shows the list or takes the tool with which this step is done"));
    leave_->setToolTip(tr("Hides the steps; the Help menu brings them back"));
    for (auto* button : {show_, leave_}) button->setFocusPolicy(Qt::TabFocus);
    auto* column = new QVBoxLayout(this);
    column->setContentsMargins(8, 4, 8, 4);
    column->setSpacing(2);
    column->addWidget(row_);
    auto* now = new QHBoxLayout;
    now->addWidget(words_, 1);
    now->addWidget(show_);
    now->addWidget(leave_);
    column->addLayout(now);
    connect(&document_, &Document::changed, this, &StepsBar::refresh);
    connect(leave_, &QPushButton::clicked, this, [this] { setWanted(false); });
    connect(show_, &QPushButton::clicked, this, [this] { Q_EMIT showAsked(current_); });
    refresh();
}

void StepsBar::setWanted(bool wanted) {
    if (wanted == wanted_) return;
    wanted_ = wanted;
    WindowSettings().setValue(kKey, !wanted);
    refresh();
    Q_EMIT wantedChanged(wanted);
}

void StepsBar::handedOver(quint64 revision) {
    handedOver_ = revision;
    refresh();
}

void StepsBar::refresh() {
    setVisible(wanted_ && document_.isOpen());
    const auto& solution = document_.solution();
    const bool agreed = solution && !document_.solutionIsOld() && adjust::agrees(*solution);
    const auto steps = firstSteps(document_.survey(), agreed, handedOver_ == document_.revision());
    current_ = currentStep(steps);
    QString row;
    for (std::size_t i = 0; i < steps.size(); ++i) {
        const QString title = QStringLiteral("%1&nbsp;%2").arg(i + 1).arg(steps[i].title);
        // A sign and a weight, not a colour, tell how far it is.
        row += steps[i].done   ? QStringLiteral("✓&nbsp;") + title
               : i == current_ ? QStringLiteral("<b>") + title + QStringLiteral("</b>")
                               : title;
        if (i + 1 < steps.size()) row += QStringLiteral("&nbsp;· ");
    }
    row_->setText(row);
    words_->setText(current_ < kSteps ? steps[current_].words
                                      : tr("All five steps are done: card or paper first, metal after."));
    show_->setVisible(current_ < kSteps);
}

}  // namespace trammel::ui
