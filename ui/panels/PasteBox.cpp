// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/PasteBox.h"

#include <QHBoxLayout>
#include <QLabel>
#include <QPlainTextEdit>
#include <QPushButton>
#include <QScrollArea>
#include <QVBoxLayout>

#include "core/base/Angle.h"
#include "ui/panels/PastedReadings.h"

namespace trammel::ui {
namespace {

constexpr double kSigma_mm = 0.05;  // as the form beside has it: usual for calipers on edges
const double kSigma_rad = Angle::degrees(0.1).rad();

}  // namespace

PasteBox::PasteBox(PanelContext context, QWidget* parent)
    : QWidget(parent),
      context_(std::move(context)),
      text_(new QPlainTextEdit(this)),
      words_(new QLabel(this)),
      take_(new QPushButton(tr("Take in the sound lines"), this)),
      close_(new QPushButton(tr("Put away"), this)) {
    text_->setObjectName(QStringLiteral("pasteText"));
    text_->setAccessibleName(tr("Lines of cells"));
    text_->setLineWrapMode(QPlainTextEdit::NoWrap);
    text_->setTabChangesFocus(true);
    setFocusProxy(text_);
    text_->setPlaceholderText(
        tr("kind ; from ; to ; value ; unit ; σ ; name\n"
           "distance ; H1 ; H2 ; 40,02 ; mm\n"
           "diameter ; H1 ; ; 3,2 ; mm ; 0,03"));
    words_->setObjectName(QStringLiteral("pasteWords"));
    words_->setWordWrap(true);
    words_->setTextFormat(Qt::PlainText);
    words_->setAlignment(Qt::AlignTop | Qt::AlignLeft);
    take_->setObjectName(QStringLiteral("pasteTake"));
    close_->setObjectName(QStringLiteral("pasteClose"));
    close_->setToolTip(tr("Back to the form; what stands here stays until then"));
    auto* scroll = new QScrollArea(this);
    scroll->setWidget(words_);
    scroll->setWidgetResizable(true);
    scroll->setFrameShape(QFrame::NoFrame);
    auto* buttons = new QHBoxLayout;
    buttons->addWidget(take_);
    buttons->addStretch(1);
    buttons->addWidget(close_);
    auto* column = new QVBoxLayout(this);
    column->setContentsMargins(0, 4, 0, 0);
    column->addWidget(text_, 3);
    column->addWidget(scroll, 2);
    column->addLayout(buttons);
    connect(text_, &QPlainTextEdit::textChanged, this, &PasteBox::refresh);
    connect(take_, &QPushButton::clicked, this, &PasteBox::takeIn);
    connect(close_, &QPushButton::clicked, this, &PasteBox::done);
    refresh();
}

void PasteBox::put(const QString& text) {
    const QString before = text_->toPlainText();
    text_->setPlainText(before.trimmed().isEmpty() ? text : before + QLatin1Char('\n') + text);
}

void PasteBox::refresh() {
    const auto lines = readPasted(context_.document.survey(), text_->toPlainText(), kSigma_mm, kSigma_rad);
    int sound = 0;
    QStringList wrong;
    for (const auto& line : lines) {
        if (line.problem.isEmpty())
            ++sound;
        else
            wrong << tr("Line %1: %2.").arg(line.number).arg(line.problem);
    }
    QString words = lines.empty() ? tr("Paste lines of cells here: kind, from, to, value, unit.")
                                  : tr("%1 of %2 lines are sound.").arg(sound).arg(lines.size());
    if (!wrong.empty()) words += QLatin1Char('\n') + wrong.join(QLatin1Char('\n'));
    words_->setText(words);
    setUsable(take_, context_.document.isOpen() && sound > 0, tr("Add them to the survey as one act"),
              tr("No line is sound yet."));
}

void PasteBox::takeIn() {
    const auto& survey = context_.document.survey();
    const auto lines = readPasted(survey, text_->toPlainText(), kSigma_mm, kSigma_rad);
    QStringList left;
    for (const auto& line : lines)
        if (!line.problem.isEmpty()) left << line.text;
    if (!context_.perform(pasteEdit(survey, lines))) return;
    text_->setPlainText(left.join(QLatin1Char('\n')));
    if (left.empty()) Q_EMIT done();
}

}  // namespace trammel::ui
