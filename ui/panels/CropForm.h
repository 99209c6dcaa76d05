// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QFrame>

#include "core/storage/FrameEdit.h"
#include "ui/panels/Panel.h"

class QCheckBox;
class QLabel;
class QLineEdit;
class QPushButton;

namespace trammel::ui {

/// Asks where a photograph lies in the camera's full frame: whole, cropped with a known offset, or with an
/// unknown one. What is typed stays until another photograph is asked about or an answer taken.
class CropForm : public QFrame {
    Q_OBJECT
  public:
    explicit CropForm(PanelContext context, QWidget* parent = nullptr);
    /// Shows what is known of this photograph.
    void ask(const survey::Station& station);

  Q_SIGNALS:
    void leftUnknown(const std::string& station);  ///< the answer is that nobody knows the offset

  protected:
    void resizeEvent(QResizeEvent* event) override;

  private:
    void giveWordsRoom();
    QLineEdit* field(const char* name, const QString& label, const QString& tip, int row, int column);
    void answerWhole();
    void answerCrop();
    void answer(const survey::Station& station, const storage::FrameAnswer& answer);
    const survey::Station* station() const;

    PanelContext context_;
    QLabel* words_;
    QLineEdit *width_, *height_, *left_, *top_;
    QCheckBox* others_;
    survey::Id askedFor_;
    survey::FrameCrop askedAbout_;
};

}  // namespace trammel::ui
