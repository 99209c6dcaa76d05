// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>

#include "core/drawing/Drawing.h"

namespace trammel::handover {

/// All dimensions as CSV (RFC 4180: CR LF, quotes doubled; '.' decimals; UTF-8): id, name, quantity, objects,
/// value, plus_minus (k = 2; empty where unknown), unit, text as printed, whether it is drawn, part, unit of
/// the part, revision.
std::string dimensionsCsv(const drawing::Drawing& drawing);

}  // namespace trammel::handover
