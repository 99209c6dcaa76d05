// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QPixmap>
#include <QTimer>
#include <QWidget>

#include "ui/canvas/UnfoldedPainter.h"
#include "ui/canvas/UnfoldedPictures.h"

namespace trammel::ui {

/// The sheet of the unfolded part: pictures, features, projectors of the feature under the pointer and of the
/// chosen one. Says what the user does as signals; decides nothing about the survey.
class UnfoldedCanvas : public QWidget {
    Q_OBJECT
  public:
    explicit UnfoldedCanvas(QWidget* parent = nullptr);

    /// Null: nothing to show. `same`: the look at the sheet is kept.
    void setScene(std::shared_ptr<const UnfoldedScene> scene, bool same);
    void setSettings(const SheetSettings& settings);
    /// What is chosen: a feature (empty: none), those of the ledger's row looked at, and the level.
    void setChoice(const survey::Id& feature, const survey::Id& entry, const survey::Id& level);

    const UnfoldedScene* scene() const { return scene_.get(); }
    const SheetTransform& view() const { return view_; }
    const std::optional<SheetHit>& hovered() const { return hovered_; }
    const SheetHit& chosen() const { return chosen_; }
    const UnfoldedPictures& pictures() const { return pictures_; }
    /// The depth (mm towards the viewer) at which a view's picture is in scale.
    double depthOf(View view) const;
    /// Projectors as drawn now, of the hovered feature or else the chosen one.
    std::vector<unfold::Projector> shownProjectors() const;
    double plusMinusScale() const { return look_.plusMinusScale; }
    double residualScale() const { return look_.residualScale; }
    /// Where the pointer is, or what is under it, in words; and what a click does.
    QString pointerWords() const { return pointerWords_; }
    QString words() const;

    void fitView();
    void zoom(double factor);
    void hover(const QPointF& at);
    /// Files may be there again.
    void retry();

  Q_SIGNALS:
    void featureClicked(const std::string& feature, const std::string& level);
    void openAsked(const std::string& feature, trammel::survey::View view);
    void levelStepAsked(int by);  ///< 1: up
    void pointerMoved();

  protected:
    void paintEvent(QPaintEvent* event) override;
    void resizeEvent(QResizeEvent* event) override;
    void wheelEvent(QWheelEvent* event) override;
    void mousePressEvent(QMouseEvent* event) override;
    void mouseMoveEvent(QMouseEvent* event) override;
    void mouseReleaseEvent(QMouseEvent* event) override;
    void mouseDoubleClickEvent(QMouseEvent* event) override;
    void keyPressEvent(QKeyEvent* event) override;
    void leaveEvent(QEvent* event) override;
    void showEvent(QShowEvent* event) override;
    void changeEvent(QEvent* event) override;

  private:
    void moved();
    void stale();
    void wantPictures();
    void choose(const SheetHit& hit);
    void step(const Vec2& direction);
    void refreshScales();
    void setHovered(std::optional<SheetHit> hit);
    void describe();
    QString featureWords(int feature) const;

    // UnfoldedCanvasPaint.cpp
    void paintLasting();
    void paintPaper(QPainter& painter);
    void paintPictures(QPainter& painter);
    void paintCaptions(QPainter& painter, std::vector<QRectF>& taken);
    void paintTitleBlock(QPainter& painter);
    struct Line {
        QString words;
        bool strong = false;
    };
    std::vector<Line> titleLines() const;
    QRectF titleBox() const;
    /// px between a view's frame and what stands above it on the sheet.
    double roomAbove(View view) const;

    std::shared_ptr<const UnfoldedScene> scene_;
    UnfoldedPictures pictures_;
    SheetTransform view_;
    SheetLook look_;
    SheetHit chosen_{};
    View handView_ = View::Top;  ///< in which the user clicked last
    std::optional<SheetHit> hovered_;
    QPixmap lasting_;  ///< all but projectors; null: to be painted again
    std::vector<QRectF> lastingTaken_;
    QTimer settle_;
    QPointF lastPointer_, pressedAt_;
    bool panning_ = false, fitPending_ = true;
    QString pointerWords_;
};

}  // namespace trammel::ui
