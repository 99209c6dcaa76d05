// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QColor>
#include <QPointF>
#include <QRectF>
#include <QString>
#include <optional>
#include <vector>

#include "ui/canvas/UnfoldedScene.h"

class QPainter;

namespace trammel::ui {

/// Where the sheet (mm, y up) lies on the screen (y down).
struct SheetTransform {
    double scale = 1.0;  ///< screen px to the mm
    QPointF offset;      ///< of the sheet's origin
    QPointF toScreen(const Vec2& p) const { return offset + QPointF(p.x(), -p.y()) * scale; }
    Vec2 toSheet(const QPointF& s) const { return Vec2(s.x() - offset.x(), offset.y() - s.y()) / scale; }
    QRectF toScreen(const unfold::Frame& f) const {
        return QRectF(toScreen(Vec2(f.low.x(), f.high.y())), toScreen(Vec2(f.high.x(), f.low.y())));
    }
};

/// Colours of the sheet, light and dark. What they tell is told by stroke or sign too.
struct SheetColours {
    QColor bench, paper, ink, faint, halo, level, chosen, hovered, residual;
    static SheetColours of(bool dark, bool overPictures);
};

/// What is chosen and how it is to be drawn.
struct SheetLook {
    SheetSettings settings;
    survey::Id level;             ///< strong; others fade
    std::vector<int> chosen;      ///< features
    View chosenView = View::Top;  ///< where their projectors start
    survey::Id dimension;
    bool dark = false;
    double plusMinusScale = 1.0;  ///< by which ± are drawn enlarged
    double residualScale = 1.0;
};

/// Everything that stays while the pointer moves: features, outlines, marks, ellipses, carriers. Pictures and
/// paper lie beneath.
void paintSheet(QPainter& painter, const UnfoldedScene& scene, const SheetTransform& view,
                const SheetLook& look);

/// A feature with its projectors, their ± bands and values. `hovered`: in the colour and stroke of that.
void paintProjectors(QPainter& painter, const UnfoldedScene& scene, const SheetTransform& view,
                     const SheetLook& look, const SheetHit& of, bool hovered, std::vector<QRectF>& taken);

/// The carriers of the chosen dimension, drawn by their share.
void paintCarriers(QPainter& painter, const UnfoldedScene& scene, const SheetTransform& view,
                   const SheetLook& look, std::vector<QRectF>& taken);

/// The method's symbol, `height` px high about its middle.
void paintSymbol(QPainter& painter, unfold::Method method, const QPointF& middle, double height,
                 const QColor& ink);

/// From the smallest ± (dark blue) to the largest (yellow): grows in lightness too.
QColor heatColour(double share);
/// Where a ± stands between the two, 0..1, by its logarithm.
double heatShare(double plusMinus, std::pair<double, double> range);

/// "x", or "x′" where the views are turned against the datum.
QString axisName(int axis, bool turned);

/// A few words on paper; false (nothing drawn) where it would cover others and need not be seen.
bool paintWords(QPainter& painter, const QPointF& at, const QString& text, const SheetColours& colours,
                const QColor& ink, bool must, std::vector<QRectF>& taken);

}  // namespace trammel::ui
