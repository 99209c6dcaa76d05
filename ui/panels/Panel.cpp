// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/Panel.h"

#include <QLabel>
#include <QPushButton>

namespace trammel::ui {

QLabel* heading(const QString& text, QWidget* parent) {
    auto* label = new QLabel(text, parent);
    QFont font = label->font();
    font.setBold(true);
    label->setFont(font);
    return label;
}

void setUsable(QPushButton* button, bool usable, const QString& whatItDoes, const QString& whyNot) {
    button->setEnabled(usable);
    button->setToolTip(usable ? whatItDoes : whyNot);
}

}  // namespace trammel::ui
