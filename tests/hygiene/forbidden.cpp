// SPDX-License-Identifier: GPL-3.0-or-later
// Camera stands below the adjustment: this must not build.
#include "core/adjust/Adjust.h"
