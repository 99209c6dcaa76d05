// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QWidget>
#include <optional>

#include "core/calibrate/LensStore.h"

class QLabel;
class QListWidget;
class QPushButton;

namespace trammel::ui {

/// The lenses that were calibrated and kept, newest first. One can be removed, and the last one that was
/// removed put back.
class KeptLenses : public QWidget {
    Q_OBJECT
  public:
    explicit KeptLenses(QWidget* parent = nullptr);
    void refresh();
    static calibrate::LensStore store();  ///< the user's own

  Q_SIGNALS:
    void said(const QString& sentence);
    void wrong(const trammel::Error& error);

  private:
    void removeChosen();
    void putBack();
    void refreshButtons();

    QLabel* where_;
    QListWidget* list_;
    QPushButton *remove_, *back_;
    std::vector<calibrate::LensStore::Kept> lenses_;
    std::optional<calibrate::LensRecord> removed_;
};

}  // namespace trammel::ui
