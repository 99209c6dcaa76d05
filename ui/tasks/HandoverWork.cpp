// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/tasks/HandoverWork.h"

#include "core/handover/Compare.h"
#include "core/handover/Inspect.h"
#include "core/storage/Disk.h"

namespace trammel::ui {

Result<HandedOver> handOver(const HandoverWish& wish) {
    const auto drawing = drawing::build(wish.survey, *wish.solution, wish.options);
    if (!drawing) return drawing.error();
    const auto text = handover::dxfText(*drawing, wish.version);
    if (!text) return text.error();
    if (const auto written = storage::writeWhole(wish.file, *text); !written) return written.error();
    const auto read = handover::readDxf(wish.file);
    if (!read) return read.error();
    const auto contents = handover::inspect(*read, wish.file.filename().string());
    return HandedOver{handover::contentsText(contents), handover::differences(*drawing, *read),
                      contents.warnings};
}

}  // namespace trammel::ui
