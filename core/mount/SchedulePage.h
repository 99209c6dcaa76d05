// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/mount/Schedule.h"
#include "core/sheet/Sheet.h"

namespace trammel::mount {

/// The schedule on lying A4 pages: heights and lengths, the table of holes, rules and remarks.
Result<std::vector<sheet::Sheet>> schedulePages(const Schedule& schedule);

}  // namespace trammel::mount
