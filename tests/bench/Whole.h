// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "Scene.h"

namespace trammel::bench {

/// Times the whole of adjust::adjust: its parts, cold, and warm after one mark was moved.
void timeWhole(const Settings& settings, const survey::Survey& survey);

}  // namespace trammel::bench
