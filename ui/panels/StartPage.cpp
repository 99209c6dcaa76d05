// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/StartPage.h"

#include <QLabel>
#include <QPushButton>
#include <QVBoxLayout>

#include "ui/panels/Icons.h"

namespace trammel::ui {

StartPage::StartPage(QWidget* parent) : QWidget(parent) {
    auto* outer = new QVBoxLayout(this);
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
}

}  // namespace trammel::ui
