// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QString>
#include <QStringList>

#include "core/plan/Plan.h"

namespace trammel::ui {

/// The plan in words for the window: what to do, cautions, what its numbers mean and rest on, and what each
/// alternative would come to. `assumed`: labels of the fields that nobody has filled in.
QString planHtml(const plan::Plan& plan, const QStringList& assumed);

}  // namespace trammel::ui
