// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "ui/canvas/PhotoStore.h"
#include "ui/panels/Panel.h"
#include "ui/panels/RowsModel.h"

class QComboBox;
class QLineEdit;
class QListView;
class QCheckBox;

namespace trammel::ui {

/// The strip of photographs, and what has to be known of the chosen one: its view, whether it is used, and
/// where it lies in the camera's full frame (asked for here when the file does not say).
class PhotographsPanel : public QWidget {
    Q_OBJECT
  public:
    PhotographsPanel(PanelContext context, PhotoStore& store, QWidget* parent = nullptr);
    void refresh();
    RowsModel& model() { return model_; }

  Q_SIGNALS:
    void addAsked();

  private:
    QWidget* viewForm();
    QWidget* cropForm();
    void refreshForms(const survey::Station* station);
    void setView(int index);
    void setCrop(bool whole);
    void putStation(const survey::Station& station, const std::string& act);
    const survey::Station* station() const;
    std::vector<Row> rows() const;

    PanelContext context_;
    PhotoStore& store_;
    RowsModel model_;
    QListView* strip_;
    QPushButton *add_, *remove_;
    QComboBox* view_;
    QCheckBox* used_;
    QWidget *viewForm_, *cropForm_;
    QLineEdit *width_, *height_, *offsetX_, *offsetY_;
    survey::Id askedFor_;  ///< whose crop the fields are about: typed input stays until another is chosen
};

}  // namespace trammel::ui
