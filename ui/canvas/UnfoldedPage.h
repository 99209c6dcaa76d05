// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QWidget>

#include "ui/canvas/UnfoldedCanvas.h"
#include "ui/document/Choice.h"

class QAction;
class QComboBox;
class QLabel;
class QPushButton;
class QStackedWidget;
class QToolButton;

namespace trammel::ui {

class UnfoldedLevels;

/// The unfolded part as a page: the sheet, the fan of levels, how the views are arranged and what is shown,
/// and words with a button where something is missing first.
class UnfoldedPage : public QWidget {
    Q_OBJECT
  public:
    UnfoldedPage(Document& document, Choice& choice, QWidget* parent = nullptr);

    void refresh(bool opened);
    void refreshChoice();
    /// An adjustment is running: the button waits.
    void setAdjusting(bool adjusting);
    UnfoldedCanvas& canvas() { return *canvas_; }
    const SheetSettings& settings() const { return settings_; }
    QString words() const;
    QString pointerWords() const { return canvas_->pointerWords(); }

  Q_SIGNALS:
    void adjustAsked();
    void photographsAsked();
    void markingAsked();  ///< nothing is marked yet: go to the photographs
    /// Open this photograph at this px; the mark is there or empty.
    void photographAsked(const std::string& station, const std::string& mark, const QPointF& px);
    void wordsChanged();

  protected:
    void showEvent(QShowEvent* event) override;
    void changeEvent(QEvent* event) override;
    void resizeEvent(QResizeEvent* event) override;

  private:
    QWidget* makeStrip();
    QWidget* makeEmpty();
    void makeShowMenu(QToolButton* button);
    void change(const SheetSettings& settings);
    void rebuild(bool same);
    void refreshEmpty();
    void refreshSymbols();
    void open(const survey::Id& feature, View view);

    Document& document_;
    Choice& choice_;
    SheetSettings settings_;
    UnfoldedCanvas* canvas_;
    UnfoldedLevels* levels_;
    QStackedWidget* stack_;
    QComboBox *method_ = nullptr, *views_ = nullptr;
    QLabel *state_ = nullptr, *empty_ = nullptr;
    QPushButton *act_ = nullptr, *again_ = nullptr;
    bool stale_ = true, adjusting_ = false;
    quint64 shownIdentity_ = 0;
    enum class Lack { Nothing, Photographs, Marks, Adjustment } lack_ = Lack::Nothing;
};

}  // namespace trammel::ui
