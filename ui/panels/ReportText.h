// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QPalette>
#include <QString>

#include "ui/document/Document.h"

namespace trammel::ui {

/// The report of the last adjustment as a page of plain HTML tables, in the palette's colours: the verdict,
/// what disagrees, checks, what to do next, dimensions with what carries them, levels, and what the
/// photographs cannot tell. Links are "show:ID" of an
/// observation, and "adjust:" where it is out of date.
QString reportHtml(const Document& document, const QPalette& palette);

}  // namespace trammel::ui
