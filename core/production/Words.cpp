// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/core.h>

#include <algorithm>

#include "core/drawing/Cutting.h"
#include "core/drawing/Format.h"
#include "core/production/Production.h"

namespace trammel::production {

std::vector<std::string> notesOf(const drawing::Drawing& d, const drawing::Envelope& envelope,
                                 const std::vector<std::string>& notShown) {
    std::vector<std::string> out;
    if (!d.note.empty()) out.push_back(d.note);
    out.push_back("Places are counted from the part's datum; ± is the expanded uncertainty (k = 2).");
    out.push_back(
        "The general tolerance is the finest class of which each ± is at most a third of the limit "
        "deviation: "
        "nothing finer could be shown to be kept.");
    for (const drawing::DrawnLevel& l : d.levels)
        out.push_back(fmt::format("Level {}: z = {} mm.", l.name, drawing::fixed(l.height, 3)));
    for (const std::string& s : envelope.remarks) out.push_back(s + ".");
    const bool keepOut = std::any_of(envelope.prisms.begin(), envelope.prisms.end(), [](const auto& p) {
        return p.purpose == survey::OutlinePurpose::KeepOut;
    });
    if (keepOut) out.push_back("Long-dashed double-dotted lines: keep-outs, to be left free.");
    for (const std::string& s : notShown) out.push_back(s);
    for (const std::string& s : d.remarks) out.push_back("Remark: " + s + ".");
    return out;
}

}  // namespace trammel::production
