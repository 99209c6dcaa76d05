// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/StartPage.h"

#include <QDir>
#include <QFileInfo>
#include <QLabel>
#include <QListWidget>
#include <QPushButton>
#include <QVBoxLayout>
#include <algorithm>

#include "ui/panels/Icons.h"
#include "ui/panels/Panel.h"
#include "ui/settings/RecentSurveys.h"

namespace trammel::ui {
namespace {

constexpr int kShownLately = 4;  // rows; further ones are scrolled to

}  // namespace

StartPage::StartPage(QWidget* parent) : QScrollArea(parent) {
    setFrameShape(NoFrame);
    setWidgetResizable(true);
    auto* page = new QWidget(this);
    auto* outer = new QVBoxLayout(page);
    auto* column = new QVBoxLayout;
    column->setSpacing(10);
    auto* title = new QLabel(tr("Take the shape of a part from photographs"), this);
    QFont font = title->font();
    font.setPointSizeF(font.pointSizeF() * 1.5);
    title->setFont(font);
    title->setWordWrap(true);
    title->setAlignment(Qt::AlignHCenter);
    column->addWidget(title);
    const auto way = [&](const QString& name, const QString& iconName, const QString& words, auto signal) {
        auto* button = new QPushButton(icon(iconName), name, this);
        button->setObjectName(iconName + QStringLiteral("Way"));
        button->setIconSize({24, 24});
        button->setMinimumHeight(40);
        auto* label = new QLabel(words, this);
        label->setWordWrap(true);
        label->setAlignment(Qt::AlignHCenter);
        connect(button, &QPushButton::clicked, this, signal);
        column->addWidget(button);
        column->addWidget(label);
    };
    way(tr("Open the sample"), QStringLiteral("sample"),
        tr("An invented stepped board in eight photographs, to look around and try everything."),
        &StartPage::sampleAsked);
    way(tr("Start from photographs…"), QStringLiteral("photographs"),
        tr("Of one unit: top, sides, best two oblique ones too, with a known length in sight."),
        &StartPage::photographsAsked);
    way(tr("Open a survey…"), QStringLiteral("open"), tr("Go on with a survey that was saved before."),
        &StartPage::surveyAsked);
    way(tr("Plan the photographs…"), QStringLiteral("plan"),
        tr("Before the first one: where to stand, which lens and views, and the ± that will come of it."),
        &StartPage::planAsked);
    column->addWidget(makeLately());
    auto* steps =
        new QLabel(tr("How it goes: 1 say which side each photograph shows · 2 mark corners, edges and "
                      "holes, the same one in several photographs · 3 type caliper readings · 4 adjust and "
                      "mend what disagrees · 5 hand over the drawing with a ± on each dimension."),
                   this);
    steps->setWordWrap(true);
    steps->setAlignment(Qt::AlignHCenter);
    column->addSpacing(12);
    column->addWidget(steps);
    auto* box = new QWidget(this);
    box->setLayout(column);
    box->setFixedWidth(520);
    auto* middle = new QHBoxLayout;  // an alignment would keep the wrapped words from getting their height
    middle->addStretch(1);
    middle->addWidget(box);
    middle->addStretch(1);
    outer->addStretch(1);
    outer->addLayout(middle);
    outer->addStretch(2);
    setWidget(page);
    refresh();
}

QWidget* StartPage::makeLately() {
    lately_ = new QWidget(this);
    files_ = new QListWidget(lately_);
    files_->setObjectName(QStringLiteral("lately"));
    files_->setAccessibleName(tr("Surveys opened lately"));
    files_->setTextElideMode(Qt::ElideMiddle);
    files_->setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
    auto* forget = new QPushButton(tr("Forget these"), lately_);
    forget->setObjectName(QStringLiteral("forgetLately"));
    forget->setToolTip(tr("Empty this list; the files stay where they are"));
    auto* top = new QHBoxLayout;
    top->addWidget(heading(tr("Opened lately"), lately_));
    top->addStretch(1);
    top->addWidget(forget);
    auto* column = new QVBoxLayout(lately_);
    column->setContentsMargins(0, 6, 0, 0);
    column->addLayout(top);
    column->addWidget(files_);
    connect(forget, &QPushButton::clicked, this, [this] {
        forgetSurveys();
        refresh();
    });
    // a double click or Enter, as everywhere in lists
    connect(files_, &QListWidget::itemActivated, this, [this](const QListWidgetItem* item) {
        if (item->flags() & Qt::ItemIsEnabled) Q_EMIT fileAsked(item->data(Qt::UserRole).toString());
    });
    return lately_;
}

void StartPage::refresh() {
    files_->clear();
    for (const QString& file : recentSurveys()) {
        const QFileInfo info(file);
        const QString name =
            QStringLiteral("%1 – %2").arg(info.completeBaseName(), QDir::toNativeSeparators(info.path()));
        auto* item = new QListWidgetItem(info.exists() ? name : tr("%1 (missing)").arg(name), files_);
        item->setData(Qt::UserRole, file);
        item->setToolTip(info.exists() ? tr("Double-click opens %1").arg(file)
                                       : tr("%1 is not there any more, or its disk is not.").arg(file));
        if (!info.exists()) item->setFlags(Qt::NoItemFlags);
    }
    lately_->setVisible(files_->count() > 0);
    const int shown = std::min(files_->count(), kShownLately);
    files_->setFixedHeight(shown * files_->sizeHintForRow(0) + 2 * files_->frameWidth() + 2);
}

void StartPage::showEvent(QShowEvent*) { refresh(); }

}  // namespace trammel::ui
