// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QWidget>
#include <functional>

#include "ui/document/Choice.h"
#include "ui/document/Document.h"

class QLabel;
class QPushButton;

namespace trammel::ui {

/// What every panel works with.
struct PanelContext {
    Document& document;
    Choice& choice;
    std::function<void(const Error&)> complain;

    /// Performs the act; on refusal the sentence becomes a notice. True when done.
    bool perform(const survey::Edit& edit) const {
        const auto done = document.perform(edit);
        if (!done) complain(done.error());
        return static_cast<bool>(done);
    }
};

/// A small heading above a part of a panel.
QLabel* heading(const QString& text, QWidget* parent);

/// Enables a button, or disables it with the reason as its tooltip.
void setUsable(QPushButton* button, bool usable, const QString& whatItDoes, const QString& whyNot);

}  // namespace trammel::ui
