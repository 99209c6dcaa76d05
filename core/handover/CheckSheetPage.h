// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/handover/CheckSheet.h"
#include "core/sheet/Sheet.h"

namespace trammel::handover {

/// The check sheet on paper: its rows, a picture of what is to be cut (not to scale, the mark of the face
/// ringed) and cautions. More pages where the rows need them.
std::vector<sheet::Sheet> checkPages(const CheckSheet& check, const sheet::Paper& paper = sheet::kA4);

}  // namespace trammel::handover
