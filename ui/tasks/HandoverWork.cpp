// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/tasks/HandoverWork.h"

#include "core/adjust/Adjust.h"
#include "core/adjust/Report.h"

namespace trammel::ui {

Result<HandedOver> handOver(const HandoverWish& wish, const Progress* progress) {
    const auto fresh = adjust::adjust(wish.survey, {}, progress);
    if (!fresh && fresh.error().code == ErrorCode::Cancelled) return fresh.error();
    const adjust::Solution& solution = fresh ? *fresh : *wish.solution;
    const auto drawing = handover::drawingOf(wish.survey, solution, wish.terms);
    if (!drawing) return drawing.error();
    const auto contents = handover::deliver(*drawing, wish.terms.version, wish.file);
    if (!contents) return contents.error();
    HandedOver out{handover::contentsText(*contents), drawing->remarks, adjust::agrees(solution),
                   wish.revision};
    if (!fresh)
        out.remarks.push_back(
            "From its marks alone the survey does not settle; the file holds the adjustment of the window");
    return out;
}

}  // namespace trammel::ui
