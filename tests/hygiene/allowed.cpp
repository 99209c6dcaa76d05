// SPDX-License-Identifier: GPL-3.0-or-later
// Camera may use math: this builds.
#include "core/math/Types.h"
