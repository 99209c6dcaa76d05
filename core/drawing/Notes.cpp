// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/core.h>

#include <sstream>

#include "core/drawing/Build.h"
#include "core/drawing/Cutting.h"
#include "core/drawing/Format.h"
#include "core/drawing/Kerf.h"
#include "core/survey/Names.h"

namespace trammel::drawing {
namespace {

constexpr std::size_t kLineLength = 90;  // letters; a line must stay readable beside a small part

void addWrapped(std::vector<std::string>& lines, const std::string& text) {
    std::istringstream words(text);
    std::string word, line;
    while (words >> word) {
        for (; word.size() > kLineLength; word.erase(0, kLineLength))
            lines.push_back(word.substr(0, kLineLength));
        if (!line.empty() && line.size() + 1 + word.size() > kLineLength) {
            lines.push_back(line);
            line = "  ";
        }
        line += (line.empty() || line == "  " ? "" : " ") + word;
    }
    if (!line.empty()) lines.push_back(line);
}

}  // namespace

std::vector<std::string> noteLines(const Drawing& d) {
    std::vector<std::string> lines;
    addWrapped(lines, fmt::format("{}; unit: {}; revision {}", d.title.empty() ? "Untitled part" : d.title,
                                  d.unit.empty() ? "not named" : d.unit, d.revision));
    if (!d.note.empty()) addWrapped(lines, d.note);
    addWrapped(lines, "Units: millimetres. Scale 1:1. ± is the expanded uncertainty (k = 2).");
    addWrapped(lines, kerfWords(d.kerf) + ".");
    addWrapped(lines, d.face == Face::Top ? "Face shown: top."
                                          : "Face shown: bottom, mirrored in x against the top view.");
    for (const std::string& words : cutWords(d)) addWrapped(lines, words + ".");
    for (const DrawnLevel& l : d.levels)
        addWrapped(lines, fmt::format("Level {}: z = {} mm", l.name, fixed(l.height, 3)));
    for (const DimensionRow& r : d.rows)
        if (!r.drawn)
            addWrapped(lines, fmt::format("{} ({} of {}): {} {}", r.name, quantityName(r.quantity), r.objects,
                                          r.text, r.unit));
    for (const std::string& remark : d.remarks) addWrapped(lines, "Remark: " + remark + ".");
    return lines;
}

}  // namespace trammel::drawing
