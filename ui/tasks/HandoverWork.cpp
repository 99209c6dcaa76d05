// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/tasks/HandoverWork.h"

#include "core/adjust/Report.h"

namespace trammel::ui {

Result<HandedOver> handOver(const HandoverWish& wish) {
    const auto drawing = handover::drawingOf(wish.survey, *wish.solution, wish.terms);
    if (!drawing) return drawing.error();
    const auto contents = handover::deliver(*drawing, wish.terms.version, wish.file);
    if (!contents) return contents.error();
    return HandedOver{handover::contentsText(*contents), drawing->remarks, adjust::agrees(*wish.solution)};
}

}  // namespace trammel::ui
