// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QString>
#include <vector>

#include "core/fit/Rivals.h"
#include "core/survey/Survey.h"
#include "ui/canvas/ViewTransform.h"

class QPainter;

namespace trammel::ui {

/// An offered mark as the photograph shows it, in photograph px.
struct OfferSign {
    int number = 0;
    QString name;               ///< of its feature
    std::vector<QPointF> line;  ///< a point, or along the edge or rim
    bool round = false;         ///< a whole rim
    bool sure = false, current = false;
    bool asked = false;  ///< its rivals are drawn instead of its line
};

/// Draws offers over the photograph: a sure one in long dashes with a tick before its name, an unsure one in
/// dots with a question mark; the current one wider, with squares on its points. Colour says nothing alone.
void paintOffers(QPainter& painter, const ViewTransform& view, const std::vector<OfferSign>& offers);

/// Draws rivals with their letters; each has its own dashes. `bold`: they are being asked about.
void paintRivals(QPainter& painter, const ViewTransform& view, const std::vector<fit::Rival>& rivals,
                 bool bold);

/// The rival nearest to a place within `reach` px of the photograph, −1 for none.
int rivalAt(const std::vector<fit::Rival>& rivals, const QPointF& photo, double reach);

}  // namespace trammel::ui
