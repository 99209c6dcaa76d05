// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/NoticeBar.h"

#include <QHBoxLayout>
#include <QLabel>
#include <QListWidget>
#include <QPushButton>
#include <QStyle>
#include <QToolButton>
#include <algorithm>

#include "ui/panels/Icons.h"

namespace trammel::ui {

NoticeBar::NoticeBar(QWidget* parent) : QWidget(parent), layout_(new QVBoxLayout(this)) {
    layout_->setContentsMargins(0, 0, 0, 0);
    layout_->setSpacing(1);
    setVisible(false);
}

void NoticeBar::show(Weight weight, const QString& sentence, const QString& action,
                     std::function<void()> act) {
    show(weight, sentence, act ? QList<Action>{{action, std::move(act)}} : QList<Action>{});
}

void NoticeBar::show(Weight weight, const QString& sentence, const QList<Action>& actions,
                     const QList<Action>& entries) {
    // A plain note says what was done last: the next one takes its place, so that they do not pile up.
    const bool note = weight != Weight::Wrong && actions.isEmpty();
    for (auto* old : QList<QWidget*>(rows_))
        if (old->property("sentence").toString() == sentence || (note && old->property("note").toBool()))
            drop(old);
    if (rows_.size() >= kMost) drop(rows_.front());
    auto* row = new QFrame(this);
    row->setProperty("sentence", sentence);
    row->setProperty("note", note);
    row->setFrameShape(QFrame::StyledPanel);
    row->setAutoFillBackground(true);
    row->setBackgroundRole(QPalette::AlternateBase);
    auto* column = new QVBoxLayout(row);
    column->setContentsMargins(8, 4, 4, 4);
    auto* line = new QHBoxLayout;
    column->addLayout(line);
    auto* sign = new QLabel(row);
    const bool wrong = weight == Weight::Wrong;
    sign->setPixmap(icon(wrong ? QStringLiteral("warning") : QStringLiteral("said")).pixmap(18, 18));
    sign->setAccessibleName(wrong ? tr("Warning") : tr("Note"));
    auto* words = new QLabel(sentence, row);
    words->setWordWrap(true);
    words->setTextFormat(Qt::PlainText);
    words->setTextInteractionFlags(Qt::TextSelectableByMouse);
    line->addWidget(sign, 0, Qt::AlignTop);
    line->addWidget(words, 1);
    for (const auto& action : actions) {
        auto* button = new QPushButton(action.text, row);
        connect(button, &QPushButton::clicked, this, [this, row, act = action.act] {
            drop(row);
            act();
        });
        line->addWidget(button);
    }
    if (!entries.isEmpty()) {
        auto* which = new QPushButton(tr("Which (%1)").arg(entries.size()), row);
        which->setObjectName(QStringLiteral("noticeWhich"));
        which->setCheckable(true);
        which->setToolTip(tr("List them; a click or Enter on one shows it"));
        auto* all = list(entries, row);
        column->addWidget(all);
        connect(which, &QPushButton::toggled, all, &QWidget::setVisible);
        line->addWidget(which, 0, Qt::AlignTop);
    }
    auto* close = new QToolButton(row);
    close->setAutoRaise(true);
    close->setIcon(icon(QStringLiteral("close")));
    close->setToolTip(tr("Put this notice away"));
    close->setAccessibleName(close->toolTip());
    connect(close, &QToolButton::clicked, this, [this, row] { drop(row); });
    line->addWidget(close, 0, Qt::AlignTop);
    rows_.append(row);
    layout_->addWidget(row);
    setVisible(true);
}

QWidget* NoticeBar::list(const QList<Action>& entries, QWidget* row) {
    auto* all = new QListWidget(row);
    all->setObjectName(QStringLiteral("noticeList"));
    all->setAccessibleName(tr("What the notice is about"));
    for (const auto& entry : entries) all->addItem(entry.text);
    const int shown = std::min<int>(kMostEntries, static_cast<int>(entries.size()));
    all->setFixedHeight(shown * all->sizeHintForRow(0) + 2 * all->frameWidth() + 2);
    all->setVisible(false);
    // By click or Enter, not by standing on it: arrows may pass over others, and one may be shown again.
    const auto act = [all, entries](const QListWidgetItem* item) {
        if (const int at = all->row(item); at >= 0 && at < entries.size() && entries[at].act)
            entries[at].act();
    };
    connect(all, &QListWidget::itemClicked, this, act);
    connect(all, &QListWidget::itemActivated, this, act);
    return all;
}

void NoticeBar::clear() {
    for (auto* row : QList<QWidget*>(rows_)) drop(row);
}

QStringList NoticeBar::sentences() const {
    QStringList all;
    for (auto* row : rows_) all << row->property("sentence").toString();
    return all;
}

void NoticeBar::drop(QWidget* row) {
    rows_.removeOne(row);
    row->hide();
    row->deleteLater();
    setVisible(!rows_.isEmpty());
}

}  // namespace trammel::ui
