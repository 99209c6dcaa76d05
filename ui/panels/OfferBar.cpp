// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/OfferBar.h"

#include <QHBoxLayout>
#include <QLabel>
#include <QPushButton>
#include <QVBoxLayout>

namespace trammel::ui {

OfferBar::OfferBar(ToolBench& bench, QWidget* parent)
    : QWidget(parent), bench_(bench), state_(new QLabel(this)), letters_(new QWidget(this)) {
    // Two lines: all in one would be wider than the photograph's share of a small screen, and push the
    // panels on the right over its edge.
    auto* lines = new QVBoxLayout(this);
    lines->setContentsMargins(6, 2, 6, 2);
    auto* words = new QHBoxLayout;
    state_->setObjectName(QStringLiteral("offerState"));
    words->addWidget(state_);
    auto* row = new QHBoxLayout(letters_);
    row->setContentsMargins(0, 0, 0, 0);
    words->addWidget(letters_);
    words->addStretch(1);
    lines->addLayout(words);
    auto* line = new QHBoxLayout;
    lines->addLayout(line);
    const auto button = [&](const QString& text, const QString& name, const QString& tip,
                            std::function<void(OfferTool&)> does) {
        auto* b = new QPushButton(text, this);
        b->setObjectName(name);
        b->setToolTip(tip);
        b->setFocusPolicy(Qt::TabFocus);  // a click leaves the keys with the photograph
        line->addWidget(b);
        connect(b, &QPushButton::clicked, this, [this, does = std::move(does)] {
            if (auto* offers = bench_.offers()) does(*offers);
        });
        return b;
    };
    take_ = button(tr("Take"), QStringLiteral("takeOffer"), tr("Take this mark into the survey (Enter)"),
                   [](OfferTool& t) { t.take(); });
    reject_ = button(tr("Reject"), QStringLiteral("rejectOffer"), tr("Do without this mark (Delete)"),
                     [](OfferTool& t) { t.reject(); });
    back_ = button(tr("Back"), QStringLiteral("offerBefore"), tr("The offered mark before (Backspace)"),
                   [](OfferTool& t) { t.step(-1); });
    next_ = button(tr("Next"), QStringLiteral("offerNext"), tr("The next offered mark (N)"),
                   [](OfferTool& t) { t.step(1); });
    all_ = button(tr("Take all sure"), QStringLiteral("takeSureOffers"),
                  tr("Take every offered mark that is sure, as one act (Shift+Enter)"),
                  [](OfferTool& t) { t.takeSure(); });
    line->addStretch(1);
    connect(&bench_, &ToolBench::taken, this, &OfferBar::refresh);
    connect(&bench_, &ToolBench::wordsChanged, this, &OfferBar::refresh);
    refresh();
}

void OfferBar::showLetters(std::size_t count) {
    while (letterButtons_.size() < count) {
        const std::size_t index = letterButtons_.size();
        auto* b = new QPushButton(QString::fromStdString(fit::letterOf(index)), letters_);
        b->setObjectName(QStringLiteral("rival") + b->text());
        b->setToolTip(tr("The edge drawn with this letter is meant"));
        b->setFocusPolicy(Qt::TabFocus);
        b->setMaximumWidth(36);
        letters_->layout()->addWidget(b);
        letterButtons_.push_back(b);
        connect(b, &QPushButton::clicked, this, [this, index] {
            if (auto* rivals = bench_.rivals()) return rivals->choose(index);
            if (auto* offers = bench_.offers()) offers->chooseRival(index);
        });
    }
    for (std::size_t i = 0; i < letterButtons_.size(); ++i) letterButtons_[i]->setVisible(i < count);
    letters_->setVisible(count > 0);
}

void OfferBar::refresh() {
    auto* offers = bench_.offers();
    auto* rivals = bench_.rivals();
    setVisible(offers || rivals);
    for (auto* b : {take_, reject_, back_, next_, all_}) b->setVisible(offers);
    if (rivals) {
        state_->setText(tr("Which edge?"));
        showLetters(rivals->count());
    }
    if (!offers) return;
    const auto* current = offers->current();
    const int left = offers->left(), sure = offers->sureLeft();
    const bool between = current && !current->rivals.empty();
    state_->setText(between ? tr("%1 on offer. Which edge?").arg(left)
                            : tr("%1 on offer, %2 sure").arg(left).arg(sure));
    showLetters(between ? current->rivals.size() : 0);
    const QString none = tr("No offered mark is chosen in this photograph.");
    setUsable(take_, current && !between, tr("Take this mark into the survey (Enter)"),
              between ? tr("Choose one of its edges by its letter first.") : none);
    setUsable(reject_, current, tr("Do without this mark (Delete)"), none);
    setUsable(all_, sure > 0, tr("Take every offered mark that is sure, as one act (Shift+Enter)"),
              tr("No sure mark is left."));
    for (auto* b : {back_, next_}) b->setEnabled(left > 1 && offers->isShown());
}

}  // namespace trammel::ui
