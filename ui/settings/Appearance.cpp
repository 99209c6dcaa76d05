// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/settings/Appearance.h"

#include <QApplication>
#include <QPalette>
#include <QStyle>

namespace trammel::ui {
namespace {

QPalette darkPalette() {
    const QColor ground(44, 46, 49), field(32, 33, 36), text(228, 228, 226), faint(140, 142, 145);
    QPalette palette(ground);
    for (const auto role :
         {QPalette::WindowText, QPalette::Text, QPalette::ButtonText, QPalette::ToolTipText})
        palette.setColor(role, text);
    palette.setColor(QPalette::Base, field);
    palette.setColor(QPalette::AlternateBase, QColor(39, 41, 44));
    palette.setColor(QPalette::ToolTipBase, QColor(60, 62, 66));
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
