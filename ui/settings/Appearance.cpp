// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/settings/Appearance.h"

#include <QApplication>
#include <QPalette>
#include <QStyle>

namespace trammel::ui {
namespace {

QPalette darkPalette() {
    // Fields are lighter than the ground, so that boxes to tick and to type in stand out.
    const QColor ground(40, 42, 45), field(60, 63, 67), text(230, 230, 228), faint(150, 152, 155);
    QPalette palette(ground);
    for (const auto role :
         {QPalette::WindowText, QPalette::Text, QPalette::ButtonText, QPalette::ToolTipText})
        palette.setColor(role, text);
    palette.setColor(QPalette::Base, field);
    palette.setColor(QPalette::AlternateBase, QColor(53, 56, 60));
    palette.setColor(QPalette::ToolTipBase, QColor(70, 73, 78));
    palette.setColor(QPalette::Highlight, QColor(0, 114, 178));
    palette.setColor(QPalette::HighlightedText, Qt::white);
    palette.setColor(QPalette::Link, QColor(86, 180, 233));
    palette.setColor(QPalette::PlaceholderText, faint);
    for (const auto role : {QPalette::WindowText, QPalette::Text, QPalette::ButtonText})
        palette.setColor(QPalette::Disabled, role, faint);
    return palette;
}

}  // namespace

bool isDark() {
    const QPalette palette = QApplication::palette();
    return palette.color(QPalette::WindowText).lightness() > palette.color(QPalette::Window).lightness();
}

void setDark(bool dark) {
    if (dark == isDark()) return;
    QApplication::setPalette(dark ? darkPalette() : QApplication::style()->standardPalette());
}

}  // namespace trammel::ui
