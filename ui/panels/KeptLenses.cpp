// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/KeptLenses.h"

#include <QHBoxLayout>
#include <QLabel>
#include <QListWidget>
#include <QPushButton>
#include <QVBoxLayout>

#include "core/calibrate/CalibrationText.h"
#include "ui/panels/Panel.h"

namespace trammel::ui {

calibrate::LensStore KeptLenses::store() { return calibrate::LensStore(calibrate::usersLensFolder()); }

KeptLenses::KeptLenses(QWidget* parent)
    : QWidget(parent),
      where_(new QLabel(this)),
      list_(new QListWidget(this)),
      remove_(new QPushButton(tr("Remove"), this)),
      back_(new QPushButton(tr("Put back"), this)) {
    where_->setTextFormat(Qt::PlainText);
    where_->setWordWrap(true);
    list_->setObjectName(QStringLiteral("keptLenses"));
    list_->setAccessibleName(tr("Kept lenses"));
    list_->setWordWrap(true);
    list_->setAlternatingRowColors(true);
    remove_->setObjectName(QStringLiteral("keptRemove"));
    back_->setObjectName(QStringLiteral("keptBack"));
    auto* buttons = new QHBoxLayout;
    buttons->addWidget(remove_);
    buttons->addWidget(back_);
    buttons->addStretch(1);
    auto* column = new QVBoxLayout(this);
    column->addWidget(where_);
    column->addWidget(list_, 1);
    column->addLayout(buttons);
    connect(list_, &QListWidget::currentRowChanged, this, &KeptLenses::refreshButtons);
    connect(remove_, &QPushButton::clicked, this, &KeptLenses::removeChosen);
    connect(back_, &QPushButton::clicked, this, &KeptLenses::putBack);
    refreshButtons();
}

void KeptLenses::refresh() {
    const auto contents = store().all();
    lenses_ = contents.lenses;
    list_->clear();
    for (const auto& kept : lenses_)
        list_->addItem(QString::fromStdString(calibrate::recordText(kept.record)).trimmed());
    const QString folder = QString::fromStdString(store().folder().string());
    QString words = lenses_.empty() ? tr("No lens is kept yet; they would lie in %1.").arg(folder)
                                    : tr("Kept in %1; ± with k = 2.").arg(folder);
    for (const Error& e : contents.damaged) words += QLatin1Char('\n') + QString::fromStdString(e.sentence());
    where_->setText(words);
    refreshButtons();
}

void KeptLenses::refreshButtons() {
    setUsable(remove_, list_->currentRow() >= 0,
              tr("Remove the chosen lens; it is then offered no more (it can be put back)"),
              tr("Choose a lens first."));
    setUsable(back_, removed_.has_value(), tr("Put the lens back that was removed last"),
              tr("Nothing was removed."));
}

void KeptLenses::removeChosen() {
    const int row = list_->currentRow();
    if (row < 0 || static_cast<std::size_t>(row) >= lenses_.size()) return;
    const auto kept = lenses_[static_cast<std::size_t>(row)];
    if (const auto done = store().remove(kept.file); !done)
        Q_EMIT wrong(done.error());
    else
        removed_ = kept.record;
    refresh();
}

void KeptLenses::putBack() {
    if (!removed_) return;
    const auto kept = store().keep(*removed_);
    if (!kept) return Q_EMIT wrong(kept.error());
    removed_.reset();
    refresh();
}

}  // namespace trammel::ui
