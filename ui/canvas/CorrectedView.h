// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QString>
#include <memory>

#include "core/adjust/Solution.h"
#include "core/camera/Correction.h"

namespace trammel::ui {

/// The correction of a photograph by its adjusted lens constants, else by those of its camera group. Null
/// where the constants are not known, bend nothing by half a pixel, or make no picture; `why` then says so.
std::shared_ptr<const camera::Correction> correctedView(const survey::Survey& survey,
                                                        const adjust::Solution* solution,
                                                        const survey::Id& station, QString* why = nullptr);

}  // namespace trammel::ui
