// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QPointF>
#include <vector>

#include "core/survey/Edit.h"

/// Acts on marks as core edits with names for the undo list. They only compose; core checks the values.
namespace trammel::ui {

/// σ of a click by hand, px (the figure of the trade's practice for a careful click at full zoom).
inline constexpr double kHandSigma_px = 1.5;

/// A name that no feature has yet: letter of its kind and a number ("H3").
std::string freshFeatureName(const survey::Survey& survey, survey::FeatureKind kind);

/// Marks a feature in a photograph: a new one in `level` when `feature` is empty, else the existing one (its
/// old mark in this photograph, if any, is replaced and keeps its id).
survey::Edit markEdit(const survey::Survey& survey, const survey::Id& station, survey::FeatureKind kind,
                      const survey::Id& feature, const survey::Id& level, const std::vector<QPointF>& points);

/// Moves one point of a mark (or all of it with point −1) by hand.
survey::Edit moveEdit(const survey::Survey& survey, const survey::Id& mark, int point, const QPointF& by);

/// Takes marks that were offered (without ids) into the survey as one act.
survey::Edit takeOffersEdit(const survey::Survey& survey, const std::vector<survey::Mark>& marks);

/// Leaves a mark, reading or photograph out of the adjustment, or takes it in again.
survey::Edit excludeEdit(const survey::Survey& survey, const survey::Id& object, bool excluded);
bool isExcluded(const survey::Survey& survey, const survey::Id& object);

/// Removal with everything that hangs on the object, named "Remove …".
survey::Edit removeEdit(const survey::Survey& survey, const survey::Id& object);

/// The mark of a feature in a photograph, or null.
const survey::Mark* markOf(const survey::Survey& survey, const survey::Id& station,
                           const survey::Id& feature);

}  // namespace trammel::ui
