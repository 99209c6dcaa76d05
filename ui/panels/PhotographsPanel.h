// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QHash>
#include <QIcon>
#include <set>

#include "ui/canvas/PhotoStore.h"
#include "ui/panels/CropForm.h"
#include "ui/panels/Panel.h"
#include "ui/panels/RowsModel.h"

class QComboBox;
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
    void refreshForms(const survey::Station* station);
    void setView(int index);
    const survey::Station* station() const;
    std::vector<Row> rows();

    PanelContext context_;
    PhotoStore& store_;
    RowsModel model_;
    QHash<qint64, QIcon> plates_;  ///< of small pictures, by their key: painting one takes a millisecond
    QListView* strip_;
    QPushButton *add_, *remove_;
    QComboBox* view_;
    QCheckBox* used_;
    QPushButton* frame_;
    QWidget* viewForm_;
    CropForm* cropForm_;
    std::set<survey::Id> answered_;  ///< in this session, with "unknown"
    survey::Id frameOf_;             ///< whose frame was called up
};

}  // namespace trammel::ui
