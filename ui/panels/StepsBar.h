// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QWidget>
#include <optional>

#include "ui/document/Document.h"
#include "ui/panels/FirstSteps.h"

class QLabel;
class QPushButton;

namespace trammel::ui {

/// Leads through a first survey in five steps. It follows what is done, in whatever order; it can be left at
/// any time and stays away from then on, until it is asked for again.
class StepsBar : public QWidget {
    Q_OBJECT
  public:
    explicit StepsBar(const Document& document, QWidget* parent = nullptr);

    /// The drawing of the survey as it was at this revision was written.
    void handedOver(quint64 revision);
    /// Shows or hides it from now on, in later sessions too.
    void setWanted(bool wanted);
    bool isWanted() const { return wanted_; }

  Q_SIGNALS:
    /// Wants to be led to where this step is done.
    void showAsked(std::size_t step);
    void wantedChanged(bool wanted);

  private:
    void refresh();

    const Document& document_;
    QLabel *row_, *words_;
    QPushButton *show_, *leave_;
    bool wanted_;
    std::optional<quint64> handedOver_;  ///< revision of the document
    std::size_t current_ = 0;
};

}  // namespace trammel::ui
