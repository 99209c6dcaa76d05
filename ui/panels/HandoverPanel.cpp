// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/HandoverPanel.h"

#include <QComboBox>
#include <QFontDatabase>
#include <QGridLayout>
#include <QLabel>
#include <QLineEdit>
#include <QPlainTextEdit>
#include <QPushButton>

#include "core/adjust/Report.h"
#include "ui/panels/HelpPage.h"

namespace trammel::ui {

HandoverPanel::HandoverPanel(PanelContext context, QWidget* parent)
    : QWidget(parent),
      context_(std::move(context)),
      face_(new QComboBox(this)),
      version_(new QComboBox(this)),
      revision_(new QLineEdit(QStringLiteral("A"), this)),
      write_(new QPushButton(tr("Write the DXF…"), this)),
      words_(new QLabel(this)),
      contents_(new QPlainTextEdit(this)) {
    write_->setObjectName(QStringLiteral("writeDxf"));
    contents_->setObjectName(QStringLiteral("contents"));
    face_->addItem(tr("seen from the top"), static_cast<int>(drawing::Face::Top));
    face_->addItem(tr("seen from the bottom"), static_cast<int>(drawing::Face::Bottom));
    version_->addItem(tr("DXF R2000"), static_cast<int>(handover::DxfVersion::R2000));
    version_->addItem(tr("DXF R12 (old machines)"), static_cast<int>(handover::DxfVersion::R12));
    revision_->setMaximumWidth(60);
    words_->setWordWrap(true);
    contents_->setReadOnly(true);
    contents_->setLineWrapMode(QPlainTextEdit::WidgetWidth);
    contents_->setAccessibleName(tr("What the written file contains"));
    contents_->setPlaceholderText(
        tr("After writing, this shows what the file really contains: units, size, "
           "closed outlines, holes by diameter, dimensions. It is found by reading the "
           "written file again."));
    auto* grid = new QGridLayout;
    const auto row = [&](int at, const QString& text, QWidget* widget) {
        auto* label = new QLabel(text, this);
        label->setBuddy(widget);
        grid->addWidget(label, at, 0);
        grid->addWidget(widget, at, 1);
    };
    row(0, tr("Face"), face_);
    row(1, tr("Format"), version_);
    row(2, tr("Revision"), revision_);
    grid->addWidget(write_, 2, 2);
    grid->setColumnStretch(1, 1);
    auto* caution = new QLabel(cautionLine(), this);
    caution->setWordWrap(true);
    auto* column = new QVBoxLayout(this);
    column->addWidget(heading(tr("Hand-over"), this));
    column->addLayout(grid);
    column->addWidget(words_);
    column->addWidget(contents_, 1);
    column->addWidget(caution);
    connect(write_, &QPushButton::clicked, this, &HandoverPanel::ask);
    refresh();
}

void HandoverPanel::refresh() {
    if (shown_ != context_.document.identity()) contents_->clear();  // of another survey
    shown_ = context_.document.identity();
    const auto& solution = context_.document.solution();
    QString words;
    if (!solution)
        words = tr("Adjust first: a drawing is made of adjusted features.");
    else if (context_.document.solutionIsOld())
        words = tr("The survey has changed since the adjustment; adjust again.");
    else if (context_.document.survey().outlines.empty())
        words = tr(
            "There is no outline yet: only holes and their dimensions would be drawn. Make one in Features.");
    else if (!adjust::agrees(*solution))
        words = tr("Something disagrees (see Checks): the drawing would say DO NOT CUT.");
    words_->setText(words);
    words_->setVisible(!words.isEmpty());
    const bool fresh = solution && !context_.document.solutionIsOld();
    setUsable(write_, fresh, tr("Write the drawing, read it again and show what it contains"),
              solution ? tr("The survey has changed; adjust again first.") : tr("Adjust first."));
}

void HandoverPanel::ask() {
    Q_EMIT writeAsked({static_cast<drawing::Face>(face_->currentData().toInt()),
                       revision_->text().trimmed().toStdString(),
                       static_cast<handover::DxfVersion>(version_->currentData().toInt())});
}

void HandoverPanel::showOutcome(const QString& file, const HandedOver& outcome) {
    QString text = tr("Written: %1\n").arg(file);
    text += tr("Read again: the file holds the same as the drawing.\n\n");
    for (const auto& remark : outcome.remarks) text += tr("! %1.\n").arg(QString::fromStdString(remark));
    contents_->setPlainText(text + QString::fromStdString(outcome.contents));
}

}  // namespace trammel::ui
