// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QImage>
#include <QString>

#include "core/base/Result.h"
#include "core/fit/EdgeFit.h"
#include "core/photo/Image.h"
#include "core/survey/Edit.h"

namespace trammel::ui {

/// What is to be fitted to the picture: the points of a mark, and for a corner one point on either edge
/// (none: its edges are taken from the survey or found in the picture).
struct FitWish {
    survey::Survey survey;
    survey::Mark mark;
    survey::FeatureKind kind = survey::FeatureKind::Corner;
    std::vector<Vec2> along;
};

/// Fits the mark in the whole picture; decodes the file when `whole` is null. Only the neighbourhood of the
/// mark is turned into linear light. Runs on a worker.
Result<survey::Mark> fitMark(const FitWish& wish, const QImage& whole, const QString& path);

/// The file in linear light, for core's fit of all hand marks.
Result<photo::LinearImage> linearPhotograph(const QString& path);

}  // namespace trammel::ui
