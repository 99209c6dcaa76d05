// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/ReferenceBar.h"

#include <QHBoxLayout>
#include <QLabel>
#include <QLineEdit>
#include <QPushButton>

#include "ui/panels/TypedNumber.h"

namespace trammel::ui {

ReferenceBar::ReferenceBar(PanelContext context, ToolBench& bench, QWidget* parent)
    : QWidget(parent), context_(std::move(context)), bench_(bench) {
    auto* line = new QHBoxLayout(this);
    line->setContentsMargins(6, 2, 6, 2);
    const auto field = [&](const QString& label, const QString& name, int width) {
        auto* edit = new QLineEdit(this);
        edit->setObjectName(name);
        edit->setMaximumWidth(width);
        auto* text = new QLabel(label, this);
        text->setBuddy(edit);
        line->addWidget(text);
        line->addWidget(edit);
        connect(edit, &QLineEdit::returnPressed, this, &ReferenceBar::set);
        return edit;
    };
    value_ = field(tr("Length (mm)"), QStringLiteral("referenceValue"), 90);
    sigma_ = field(tr("σ (mm)"), QStringLiteral("referenceSigma"), 60);
    name_ = field(tr("Name"), QStringLiteral("referenceName"), 110);
    sigma_->setText(QStringLiteral("0.05"));
    set_ = new QPushButton(tr("Set"), this);
    set_->setObjectName(QStringLiteral("setReference"));
    line->addWidget(set_);
    line->addStretch(1);
    connect(set_, &QPushButton::clicked, this, &ReferenceBar::set);
    connect(&bench_, &ToolBench::taken, this, &ReferenceBar::refresh);
    connect(&bench_, &ToolBench::wordsChanged, this, &ReferenceBar::refresh);
    refresh();
}

void ReferenceBar::refresh() {
    auto* tool = bench_.reference();
    setVisible(tool != nullptr);
    const bool ready = tool && tool->ready();
    setUsable(set_, ready, tr("Put this reference length into the survey"),
              tr("Click both ends of the length in the photograph first."));
    if (ready && !wasReady_) value_->setFocus(Qt::OtherFocusReason);
    wasReady_ = ready;
}

void ReferenceBar::set() {
    auto* tool = bench_.reference();
    if (!tool) return;
    const auto value = typedNumber(value_->text(), tr("length"));
    if (!value) return context_.complain(value.error());
    const auto sigma = typedNumber(sigma_->text(), tr("σ"));
    if (!sigma) return context_.complain(sigma.error());
    const auto done = tool->set(name_->text().trimmed().toStdString(), {*value, *sigma});
    if (!done) return context_.complain(done.error());
    value_->clear();
    name_->clear();
}

}  // namespace trammel::ui
