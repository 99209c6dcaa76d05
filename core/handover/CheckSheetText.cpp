// SPDX-License-Identifier: GPL-3.0-or-later
// The check sheet in words and as JSON.
#include <fmt/core.h>

#include <nlohmann/json.hpp>

#include "core/handover/CheckSheet.h"

namespace trammel::handover {
namespace {

using nlohmann::json;

std::string orUnstated(const std::string& s) { return s.empty() ? "not stated in the file" : s; }

std::string holesWords(const CheckSheet& s) {
    std::string words;
    for (const CutHoles& h : s.holes)
        words += fmt::format("{}{} x ⌀{:.3f}", words.empty() ? "" : ", ", h.count, h.diameter_mm);
    return words.empty() ? "none" : words;
}

}  // namespace

std::string checkText(const CheckSheet& s) {
    std::string out = fmt::format("CHECK SHEET of {}\n", s.contents.file);
    const auto row = [&](const char* name, const std::string& value) {
        out += fmt::format("{:<16} {}\n", name, value);
    };
    row("part", orUnstated(s.what));
    row("revision", orUnstated(s.revision));
    row("units", s.contents.unit);
    row("face",
        s.face.empty() ? "not stated in the file" : s.face.substr(std::min<std::size_t>(12, s.face.size())));
    row("kerf", s.kerf.empty() ? "not stated in the file: agree on who compensates"
                               : s.kerf.substr(std::min<std::size_t>(6, s.kerf.size())));
    if (s.cut) {
        const Vec2 size = s.cut->high - s.cut->low;
        row("overall, cut", fmt::format("{:.3f} x {:.3f} mm", size.x(), size.y()));
    } else {
        row("overall, cut", "nothing to be cut");
    }
    row("material", fmt::format("{:.3f} mm²", s.area_mm2));
    row("contours, cut",
        fmt::format("{} of material, {} openings and holes, {} not closed", s.outer, s.inner, s.open));
    row("holes, cut", holesWords(s));
    if (!s.mark.empty()) row("mark of the face", s.mark);
    for (const std::string& d : s.dimensions) row("check dimension", d);
    row("SHA-256", s.sha256.empty() ? "not known" : s.sha256);
    if (s.compared && s.differences.empty()) row("survey", "the file holds what the survey says");
    for (const std::string& d : s.differences) row("DIFFERS", d);
    for (const std::string& w : s.contents.warnings) row("WARNING", w);
    return out;
}

std::string checkJson(const CheckSheet& s) {
    json j = json::parse(contentsJson(s.contents));
    json c{{"sha256", s.sha256}, {"part", s.what},     {"revision", s.revision},    {"face", s.face},
           {"kerf", s.kerf},     {"area", s.area_mm2}, {"outer", s.outer},          {"inner", s.inner},
           {"open", s.open},     {"mark", s.mark},     {"dimensions", s.dimensions}};
    c["size"] = s.cut ? json{s.cut->high.x() - s.cut->low.x(), s.cut->high.y() - s.cut->low.y()} : json();
    c["holes"] = json::array();
    for (const CutHoles& h : s.holes) c["holes"].push_back({{"diameter", h.diameter_mm}, {"count", h.count}});
    c["differences"] = s.compared ? json(s.differences) : json();
    j["check"] = c;
    return j.dump(2, ' ', false, json::error_handler_t::replace);
}

}  // namespace trammel::handover
