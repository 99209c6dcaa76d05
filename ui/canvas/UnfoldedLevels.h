// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QListWidget>
#include <QWidget>

#include "ui/document/Choice.h"
#include "ui/document/Document.h"

namespace trammel::ui {

/// The levels of the part, fanned out: evenly spaced to be read and chosen, with leaders to their true
/// heights on a scale at the side. Levels beside the part (a rule, a card) are not among them.
class UnfoldedLevels : public QWidget {
    Q_OBJECT
  public:
    UnfoldedLevels(Document& document, Choice& choice, QWidget* parent = nullptr);
    void refresh();
    void refreshChoice();
    /// Chooses the next level, 1: the one above.
    void step(int by);
    /// Where the sheet needs the room; long names are cut then and told whole under the pointer.
    void setNarrow(bool narrow);

  protected:
    void paintEvent(QPaintEvent* event) override;
    bool eventFilter(QObject* watched, QEvent* event) override;

  private:
    struct Row {
        survey::Id level;
        double z = 0.0;
    };
    Document& document_;
    Choice& choice_;
    QListWidget* list_;
    std::vector<Row> rows_;  ///< highest first
    bool silent_ = false;
};

}  // namespace trammel::ui
