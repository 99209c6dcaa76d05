// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QWidget>

#include "core/calibrate/LensRecord.h"

class QLineEdit;
class QPushButton;

namespace trammel::ui {

/// Under which names a calibrated lens is kept. What the photographs tell stands fixed, for photographs are
/// known again by it; what they do not tell is asked for.
class LensNames : public QWidget {
    Q_OBJECT
  public:
    explicit LensNames(QWidget* parent = nullptr);
    void ask(const calibrate::LensRecord& record);
    /// The record with what was typed, or the sentence what is missing.
    Result<calibrate::LensRecord> named(calibrate::LensRecord record) const;
    /// Whether it can be kept, and why not.
    void setUsable(bool usable, const QString& whyNot);

  Q_SIGNALS:
    void keepAsked();

  private:
    QLineEdit* field(const char* name, const QString& label, const QString& tip, int row, int column);

    QLineEdit *body_, *lens_, *focal_, *focus_, *date_;
    QPushButton* keep_;
};

}  // namespace trammel::ui
