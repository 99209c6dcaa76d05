// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QString>
#include <memory>

#include "core/adjust/Solution.h"
#include "core/base/Progress.h"
#include "core/base/Result.h"
#include "core/survey/Edit.h"
#include "ui/tools/TrailTool.h"

namespace trammel::ui {

/// Reads a photograph for following edges. Runs on a worker.
Result<std::shared_ptr<const TrailGround>> readGround(const QString& path);

/// The features of a trail with their fitted marks as one act. Where the adjustment knows the lens, edges
/// that it bends are taken for straight. Runs on a worker; cancelled work is an Error.
Result<survey::Edit> makeTrail(const survey::Survey& survey, const TrailWish& wish,
                               const photo::LinearImage& image, const adjust::Solution* solution,
                               const Progress& progress);

}  // namespace trammel::ui
