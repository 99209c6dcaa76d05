// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QString>

#include "core/base/Result.h"

namespace trammel::ui {

/// A number as people type it: '.' or ',' before the decimals, blanks around. `what` names the field in the
/// sentence of a refusal ("value").
Result<double> typedNumber(const QString& text, const QString& what);

}  // namespace trammel::ui
