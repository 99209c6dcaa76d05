// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/plan/Plan.h"
#include "core/sheet/Sheet.h"

namespace trammel::plan {

/// One upright page to take to the bench: side elevation and plan of camera, part, field of view and sharp
/// zone to a scale of ISO 5455, the part in the sharp zone, where reference lengths lie, what to do and the
/// cautions. Written by core/sheet/WriteSheet.h. A plan that no lens serves gives a page that says so.
sheet::Sheet planSheet(const Plan& plan, const sheet::Paper& paper = sheet::kA4);

}  // namespace trammel::plan
