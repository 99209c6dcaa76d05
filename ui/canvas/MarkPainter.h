// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "ui/canvas/MarkScene.h"
#include "ui/canvas/ViewTransform.h"

class QPainter;

namespace trammel::ui {

/// How the scene is drawn. Residuals are far smaller than a screen pixel, so they are drawn enlarged and the
/// canvas states by how much.
struct MarkStyle {
    survey::Id pickedMark, pickedFeature, level;
    std::vector<survey::Id> shown{};  ///< what the chosen row of the ledger is about
    double residualScale = 15.0;  ///< screen px for each px of residual
    bool quiet = false;           ///< marks only: something else is being asked about
    bool showResiduals = true, showNames = true, showAdjusted = true;
};

/// Draws marks (solid, orange), adjusted features (dashed, blue), residuals and suspects (a triangle with a
/// "!"): each differs in shape or stroke too, so that colour is never the only sign. Everything has a dark
/// halo, which keeps it readable on any photograph.
void paintMarks(QPainter& painter, const MarkScene& scene, const ViewTransform& view, const MarkStyle& style);

/// Points and line of something being drawn.
void paintPending(QPainter& painter, const std::vector<QPointF>& screen, bool closed, bool dots);

}  // namespace trammel::ui
