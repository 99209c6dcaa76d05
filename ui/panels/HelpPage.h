// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QTextBrowser>

namespace trammel::ui {

/// The help: how the job goes, the keys, the words, the cautions.
class HelpPage : public QTextBrowser {
    Q_OBJECT
  public:
    explicit HelpPage(QWidget* parent = nullptr);
};

/// The cautions in one line, shown where a drawing is handed over.
QString cautionLine();

}  // namespace trammel::ui
