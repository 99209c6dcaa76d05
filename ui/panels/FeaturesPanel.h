// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "ui/panels/ListView.h"
#include "ui/panels/Panel.h"

class QComboBox;
class QLineEdit;

namespace trammel::ui {

/// Features (choose one to mark it in another photograph, or none for a new one) and outlines.
class FeaturesPanel : public QWidget {
    Q_OBJECT
  public:
    explicit FeaturesPanel(PanelContext context, QWidget* parent = nullptr);
    void refresh();
    survey::OutlinePurpose purpose() const;

  Q_SIGNALS:
    void markAsked(const std::string& feature);  ///< "mark it in this photograph"
    void featureClicked(const std::string& feature);
    void selected(const std::vector<std::string>& features);
    void outlineAsked();

  private:
    void makeDatum(bool origin);
    void remove(const survey::Id& id);
    bool rename(const survey::Id& id, const QString& name);
    bool renameOutline(const survey::Id& id, const QString& name);
    void setTransition();
    QLayout* transitionLine();
    QLayout* featureButtons();
    QLayout* outlineButtons();

    PanelContext context_;
    RowsModel features_, outlines_;
    ListView *list_, *outlineList_;
    QPushButton *mark_, *fresh_, *point_, *edge_, *remove_, *makeOutline_, *removeOutline_;
    QComboBox *purpose_, *transition_;
    QLineEdit* width_;
};

}  // namespace trammel::ui
