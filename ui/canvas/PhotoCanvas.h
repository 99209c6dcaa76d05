// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QTimer>
#include <QWidget>
#include <functional>

#include "ui/canvas/MarkPainter.h"
#include "ui/canvas/PhotoStore.h"

namespace trammel::ui {

/// One photograph, large: pan and zoom, the marks over it, and the pointer's doings as signals in photograph
/// coordinates. Knows nothing of tools; whoever wants to draw on it hands in `setPainter`.
class PhotoCanvas : public QWidget {
    Q_OBJECT
  public:
    explicit PhotoCanvas(PhotoStore& store, QWidget* parent = nullptr);

    /// Shows this file; the view is kept when the same file is shown again, and remembered per file.
    void showPhotograph(const QString& path, const QSize& size);
    /// Words in place of a picture (nothing open, file missing...).
    void showWords(const QString& words);
    void setScene(MarkScene scene);
    void setStyle(const MarkStyle& style);
    void setPainter(std::function<void(QPainter&, const ViewTransform&)> painter) {
        extra_ = std::move(painter);
    }

    const MarkScene& scene() const { return scene_; }
    const MarkStyle& style() const { return style_; }
    const ViewTransform& view() const { return view_; }
    const QString& path() const { return path_; }

    /// Corrected view (null: the photograph as it is). Only what is seen changes: marks and signals stay in
    /// px of the photograph.
    void setCorrection(std::shared_ptr<const camera::Correction> correction);

    void fitView();
    void zoom(double factor);
    void zoomToPixels();
    void lookAt(const QPointF& photo);
    /// As little as brings the place into sight at this scale or a larger one.
    void bringIntoSight(const QPointF& photo, double leastScale);
    /// Letters that go to the tool in hand, before any shortcut of the window.
    void setKeys(const QString& keys) { keys_ = keys; }

    QSize sizeHint() const override { return {640, 480}; }
    QSize minimumSizeHint() const override { return {240, 180}; }

  Q_SIGNALS:
    void pressed(const QPointF& photo);
    void dragged(const QPointF& photo);
    void released(const QPointF& photo);
    void hovered(const QPointF& photo);
    void left();
    void finishAsked();
    void backAsked();
    void cancelAsked();
    void deleteAsked();
    void keyAsked(QChar letter);

  protected:
    bool event(QEvent* event) override;
    void paintEvent(QPaintEvent*) override;
    void resizeEvent(QResizeEvent*) override;
    void wheelEvent(QWheelEvent*) override;
    void mousePressEvent(QMouseEvent*) override;
    void mouseMoveEvent(QMouseEvent*) override;
    void mouseReleaseEvent(QMouseEvent*) override;
    void mouseDoubleClickEvent(QMouseEvent*) override;
    void keyPressEvent(QKeyEvent*) override;
    void keyReleaseEvent(QKeyEvent*) override;
    void focusOutEvent(QFocusEvent*) override;
    void leaveEvent(QEvent*) override;

  private:
    void drawPicture(QPainter& painter);
    const QImage& correctedPart(const Picture& picture, const QRect& visible);
    void drawWords(QPainter& painter, const QString& words);
    void drawLegend(QPainter& painter);
    void moved();
    void endPan();

    PhotoStore& store_;
    QString path_, words_, keys_;
    QSize photoSize_;
    ViewTransform view_;
    QHash<QString, ViewTransform> remembered_;
    MarkScene scene_;
    MarkStyle style_;
    std::function<void(QPainter&, const ViewTransform&)> extra_;
    /// Part of the corrected picture at hand, where it begins in it, and what it was made of.
    struct Corrected {
        QImage image;
        QRect part;
        qint64 source = 0;
        std::shared_ptr<const camera::Correction> correction;
    } corrected_;
    QTimer settle_;  ///< fires when the view has stood still: then the picture is drawn smoothly
    QPointF lastPointer_;
    bool panning_ = false, spaceHeld_ = false, fitPending_ = false;
};

}  // namespace trammel::ui
