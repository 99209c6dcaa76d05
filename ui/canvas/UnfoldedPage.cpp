// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/canvas/UnfoldedPage.h"

#include <QComboBox>
#include <QEvent>
#include <QHBoxLayout>
#include <QLabel>
#include <QMenu>
#include <QPainter>
#include <QPixmap>
#include <QPushButton>
#include <QResizeEvent>
#include <QStackedWidget>
#include <QToolButton>

#include "ui/canvas/UnfoldedLevels.h"

namespace trammel::ui {
namespace {

constexpr int kNarrowPage = 560;  // px: below, the sheet needs the levels' room

QIcon symbolIcon(unfold::Method method, const QColor& ink) {
    QPixmap pixmap(96, 40);
    pixmap.fill(Qt::transparent);
    QPainter painter(&pixmap);
    paintSymbol(painter, method, QPointF(48, 20), 34, ink);
    return QIcon(pixmap);
}

}  // namespace

UnfoldedPage::UnfoldedPage(Document& document, Choice& choice, QWidget* parent)
    : QWidget(parent),
      document_(document),
      choice_(choice),
      settings_(loadSheetSettings()),
      canvas_(new UnfoldedCanvas(this)),
      levels_(new UnfoldedLevels(document, choice, this)),
      stack_(new QStackedWidget(this)) {
    setObjectName(QStringLiteral("unfoldedPage"));
    auto* sheet = new QWidget(stack_);
    auto* line = new QHBoxLayout;
    line->setContentsMargins(0, 0, 0, 0);
    line->setSpacing(0);
    line->addWidget(levels_);
    line->addWidget(canvas_, 1);
    auto* column = new QVBoxLayout(sheet);
    column->setContentsMargins(0, 0, 0, 0);
    column->setSpacing(0);
    column->addWidget(makeStrip());
    column->addLayout(line, 1);
    stack_->addWidget(sheet);
    stack_->addWidget(makeEmpty());
    auto* all = new QVBoxLayout(this);
    all->setContentsMargins(0, 0, 0, 0);
    all->addWidget(stack_);
    canvas_->setSettings(settings_);
    setFocusProxy(canvas_);
    connect(canvas_, &UnfoldedCanvas::pointerMoved, this, &UnfoldedPage::wordsChanged);
    connect(canvas_, &UnfoldedCanvas::levelStepAsked, levels_, &UnfoldedLevels::step);
    connect(canvas_, &UnfoldedCanvas::openAsked, this, &UnfoldedPage::open);
    connect(canvas_, &UnfoldedCanvas::featureClicked, this,
            [this](const std::string& id, const std::string& level) {
                if (!id.empty() && !level.empty()) choice_.setLevel(level);
                if (id.empty()) choice_.setEntry({});
                choice_.setFeature(id);
            });
}

QWidget* UnfoldedPage::makeStrip() {
    auto* strip = new QWidget(this);
    auto* line = new QHBoxLayout(strip);
    line->setContentsMargins(6, 4, 6, 4);
    method_ = new QComboBox(strip);
    method_->setObjectName(QStringLiteral("method"));
    method_->setIconSize({48, 20});
    method_->setAccessibleName(tr("How the views are arranged"));
    method_->setToolTip(
        tr("How the views are arranged (ISO 5456-2): first-angle has the top view below the front "
           "view, third-angle above it"));
    method_->addItem(tr("first-angle"));
    method_->addItem(tr("third-angle"));
    method_->setCurrentIndex(settings_.method == unfold::Method::ThirdAngle ? 1 : 0);
    views_ = new QComboBox(strip);
    views_->setObjectName(QStringLiteral("sheetViews"));
    views_->setAccessibleName(tr("Which views are laid out"));
    views_->setToolTip(tr("Which views are laid out"));
    views_->addItem(tr("three views"));
    views_->addItem(tr("all six views"));
    views_->setCurrentIndex(settings_.allViews ? 1 : 0);
    auto* show = new QToolButton(strip);
    show->setObjectName(QStringLiteral("sheetShow"));
    show->setText(tr("Show"));
    show->setToolTip(tr("What is drawn over the sheet"));
    show->setPopupMode(QToolButton::InstantPopup);
    show->setToolButtonStyle(Qt::ToolButtonTextOnly);
    makeShowMenu(show);
    state_ = new QLabel(strip);
    state_->setObjectName(QStringLiteral("sheetState"));
    again_ = new QPushButton(tr("Adjust again"), strip);
    again_->setToolTip(tr("The survey has changed since the sheet was drawn (F5)"));
    line->addWidget(method_);
    line->addWidget(views_);
    line->addWidget(show);
    line->addStretch(1);
    line->addWidget(state_);
    line->addWidget(again_);
    connect(again_, &QPushButton::clicked, this, &UnfoldedPage::adjustAsked);
    connect(method_, &QComboBox::activated, this, [this](int index) {
        SheetSettings changed = settings_;
        changed.method = index == 1 ? unfold::Method::ThirdAngle : unfold::Method::FirstAngle;
        change(changed);
    });
    connect(views_, &QComboBox::activated, this, [this](int index) {
        SheetSettings changed = settings_;
        changed.allViews = index == 1;
        change(changed);
    });
    return strip;
}

void UnfoldedPage::makeShowMenu(QToolButton* button) {
    auto* menu = new QMenu(button);
    menu->setToolTipsVisible(true);
    const auto flag = [&](const QString& text, const QString& tip, bool SheetSettings::*field) {
        auto* action = menu->addAction(text);
        action->setCheckable(true);
        action->setChecked(settings_.*field);
        action->setToolTip(tip);
        connect(action, &QAction::toggled, this, [this, field](bool on) {
            SheetSettings changed = settings_;
            changed.*field = on;
            change(changed);
        });
    };
    flag(tr("Pictures"), tr("The photographs, brought to scale for the chosen level"),
         &SheetSettings::pictures);
    flag(tr("Names"), tr("Names of holes, and of the rest when near"), &SheetSettings::names);
    menu->addSeparator();
    flag(tr("Residuals"), tr("From each adjusted feature to where it was marked, enlarged"),
         &SheetSettings::residuals);
    flag(tr("± ellipses"),
         tr("How well each place is known in the plane of the view, enlarged; of an edge only "
            "across it"),
         &SheetSettings::ellipses);
    flag(tr("± as colour"), tr("All features coloured by how well they are known"), &SheetSettings::heat);
    flag(tr("Carriers"), tr("Which marks and readings carry the ± of the dimension chosen in the ledger"),
         &SheetSettings::carriers);
    button->setMenu(menu);
}

QWidget* UnfoldedPage::makeEmpty() {
    auto* page = new QWidget(stack_);
    empty_ = new QLabel(page);
    empty_->setObjectName(QStringLiteral("unfoldedEmpty"));
    empty_->setWordWrap(true);
    empty_->setAlignment(Qt::AlignHCenter);
    empty_->setFixedWidth(420);
    act_ = new QPushButton(page);
    act_->setObjectName(QStringLiteral("unfoldedAct"));
    act_->setMinimumHeight(34);
    auto* column = new QVBoxLayout(page);
    column->addStretch(2);
    column->addWidget(empty_, 0, Qt::AlignHCenter);
    column->addSpacing(10);
    column->addWidget(act_, 0, Qt::AlignHCenter);
    column->addStretch(3);
    connect(act_, &QPushButton::clicked, this, [this] {
        if (lack_ == Lack::Adjustment) Q_EMIT adjustAsked();
        if (lack_ == Lack::Photographs) Q_EMIT photographsAsked();
        if (lack_ == Lack::Marks) Q_EMIT markingAsked();
    });
    return page;
}

void UnfoldedPage::refreshEmpty() {
    const auto& survey = document_.survey();
    lack_ = survey.stations.empty()   ? Lack::Photographs
            : document_.solution()    ? Lack::Nothing
            : survey.marks.size() < 4 ? Lack::Marks
                                      : Lack::Adjustment;
    stack_->setCurrentIndex(lack_ == Lack::Nothing ? 0 : 1);
    const bool old = document_.solutionIsOld();
    state_->setText(old ? tr("The survey has changed since.") : QString());
    again_->setVisible(old);
    again_->setEnabled(!adjusting_);
    act_->setEnabled(!(lack_ == Lack::Adjustment && adjusting_));
    switch (lack_) {
        case Lack::Nothing:
            return;
        case Lack::Photographs:
            empty_->setText(
                tr("Here the views of the part will lie on one sheet, in one scale. First add "
                   "photographs of it: from the top, the front and a side."));
            return act_->setText(tr("Add photographs…"));
        case Lack::Marks:
            empty_->setText(
                tr("Here the views of the part will lie on one sheet, in one scale. First mark its "
                   "corners, edges and holes, the same ones in several photographs."));
            return act_->setText(tr("Go to the photographs"));
        case Lack::Adjustment:
            empty_->setText(
                tr("Here the views of the part lie on one sheet, in one scale. Adjust first: where each "
                   "camera stood and how high each level lies is not known yet."));
            return act_->setText(adjusting_ ? tr("Adjusting…") : tr("Adjust"));
    }
}

void UnfoldedPage::setAdjusting(bool adjusting) {
    if (adjusting == adjusting_) return;
    adjusting_ = adjusting;
    refreshEmpty();
}

void UnfoldedPage::refresh(bool opened) {
    if (opened) shownIdentity_ = 0;
    stale_ = true;
    refreshEmpty();
    if (isVisible()) rebuild(shownIdentity_ == document_.identity());
}

void UnfoldedPage::rebuild(bool same) {
    stale_ = false;
    shownIdentity_ = document_.identity();
    refreshEmpty();
    canvas_->setScene(lack_ == Lack::Nothing
                          ? std::make_shared<const UnfoldedScene>(document_, settings_, choice_.station())
                          : nullptr,
                      same);
    levels_->refresh();
    refreshChoice();
}

void UnfoldedPage::refreshChoice() {
    if (!isVisible() || stale_) return;
    levels_->refreshChoice();
    canvas_->setChoice(choice_.feature(), choice_.entry(), choice_.level());
    Q_EMIT wordsChanged();
}

void UnfoldedPage::change(const SheetSettings& settings) {
    if (settings == settings_) return;
    const bool laid = settings.method != settings_.method || settings.allViews != settings_.allViews;
    settings_ = settings;
    saveSheetSettings(settings_);
    canvas_->setSettings(settings_);
    if (laid) rebuild(false);
}

void UnfoldedPage::refreshSymbols() {
    const QColor ink = palette().color(QPalette::WindowText);
    method_->setItemIcon(0, symbolIcon(unfold::Method::FirstAngle, ink));
    method_->setItemIcon(1, symbolIcon(unfold::Method::ThirdAngle, ink));
}

void UnfoldedPage::resizeEvent(QResizeEvent* event) {
    levels_->setNarrow(event->size().width() < kNarrowPage);
    QWidget::resizeEvent(event);
}

void UnfoldedPage::changeEvent(QEvent* event) {
    if (method_ && event->type() == QEvent::PaletteChange) refreshSymbols();
    QWidget::changeEvent(event);
}

void UnfoldedPage::showEvent(QShowEvent*) {
    refreshSymbols();
    if (stale_)
        rebuild(shownIdentity_ == document_.identity());
    else
        refreshChoice();
}

QString UnfoldedPage::words() const {
    return lack_ == Lack::Nothing ? canvas_->words() : tr("F4 goes back to the photograph.");
}

void UnfoldedPage::open(const survey::Id& feature, View view) {
    const auto* scene = canvas_->scene();
    const auto* side = scene ? scene->side(view) : nullptr;
    if (!side) return;
    survey::Id station = side->station, mark;
    const auto* f = scene->feature(scene->indexOf(feature));
    for (const auto& m : document_.survey().marks) {
        if (!f || m.feature != feature || m.points.empty()) continue;
        const bool here = m.station == station;
        if (here || mark.empty()) mark = m.id;  // any photograph that shows it, this one first
        if (here) break;
    }
    QPointF px(-1, -1);
    if (const auto* m = survey::find(document_.survey().marks, mark)) {
        if (station.empty() || m->station == station) {
            station = m->station;
            px = QPointF(m->points.front().px.x(), m->points.front().px.y());
        } else {
            mark.clear();
        }
    }
    if (mark.empty() && f && !side->station.empty())
        if (const auto at = unfold::intoPhotograph(side->camera, f->point)) px = QPointF(at->x(), at->y());
    if (!station.empty()) Q_EMIT photographAsked(station, mark, px);
}

}  // namespace trammel::ui
