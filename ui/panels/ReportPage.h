// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QTextBrowser>

#include "ui/document/Document.h"

namespace trammel::ui {

/// The report of the last adjustment as a page to read from top to bottom. Follows the document; a survey
/// that changed since is said in its first line.
class ReportPage : public QTextBrowser {
    Q_OBJECT
  public:
    explicit ReportPage(const Document& document, QWidget* parent = nullptr);
    void refresh();

  Q_SIGNALS:
    void showAsked(const std::string& object);  ///< the user followed an observation to its photograph

    void adjustAsked();  ///< of a report that is out of date

  protected:
    void changeEvent(QEvent* event) override;
    void showEvent(QShowEvent* event) override;

  private:
    const Document& document_;
    bool due_ = true;  ///< changed while it was not seen
};

}  // namespace trammel::ui
