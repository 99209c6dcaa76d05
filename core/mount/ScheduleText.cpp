// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "core/drawing/Format.h"
#include "core/mount/Schedule.h"

namespace trammel::mount {
namespace {

using drawing::fixed;
using drawing::withPlusMinus;
using Json = nlohmann::ordered_json;

Json known(double v) { return v > 0.0 ? Json(v) : Json(); }
Json known(const std::optional<double>& v) { return v ? Json(*v) : Json(); }

const char* name(Counterpart c) {
    switch (c) {
        case Counterpart::Fine:
            return "fine";
        case Counterpart::Medium:
            return "medium";
        case Counterpart::Coarse:
            return "coarse";
        case Counterpart::Tapped:
            break;
    }
    return "tapped";
}

std::string heightWords(const ClearHeight& h) {
    if (h.to.empty()) return "nothing marked";
    return fmt::format("{} mm (to {})", withPlusMinus(h.value_mm, h.plusMinus_mm), h.to);
}

std::string lengthWords(double reach, const std::optional<double>& length) {
    if (!(reach > 0.0)) return "no screw";
    return fmt::format("{} mm, next length {}", fixed(reach, 2),
                       length ? fixed(*length, 0) + " mm" : "over 100 mm");
}

std::string quoted(const std::string& s) {
    if (s.find_first_of(",\"\r\n") == std::string::npos) return s;
    std::string out = "\"";
    for (const char c : s) out += c == '"' ? std::string("\"\"") : std::string(1, c);
    return out + "\"";
}

}  // namespace

std::string chanceWords(const FitChance& fit, double p) {
    const double least = 100.0 * 3.0 / fit.draws;  // none in M draws: below 3/M with 95 % (the rule of three)
    const int decimals = least < 0.01 ? 3 : least < 0.1 ? 2 : 1;
    if (100 * p < least) return "< " + fixed(least, decimals) + " %";
    if (100 * (1 - p) < least) return "> " + fixed(100 - least, decimals) + " %";
    // So many digits that neither the chance nor what is left of it reads as nothing.
    const double rarer = 100.0 * std::min(p, 1 - p) * (1 + 1e-9);
    return fixed(100 * p, rarer >= 0.1 ? 1 : rarer >= 0.01 ? 2 : 3) + " %";
}

std::string patternWords(const FitChance& fit) {
    return fmt::format("the pattern fits as placed by the datum: {}; shifted and turned to fit best: {}",
                       chanceWords(fit, fit.all), chanceWords(fit, fit.shifted));
}

std::string headlineOf(const Schedule& s) {
    return fmt::format("{}, {}, revision {}: mount schedule, holes of level {}",
                       s.title.empty() ? "Untitled part" : s.title,
                       s.unit.empty() ? "unit not named" : s.unit, s.revision, s.level);
}

std::vector<std::string> factsOf(const Schedule& s) {
    return {
        "over the holes' level   " + heightWords(s.over),
        "under the underside     " + heightWords(s.under),
        "thickness               " + (s.thickness_mm > 0 ? fixed(s.thickness_mm, 3) + " mm" : "not known"),
        "standoff                " + fixed(s.standoff_mm, 1) + " mm",
        "screw, through and nut  " + lengthWords(s.reachNut_mm, s.lengthNut_mm),
        "screw, into a thread    " + lengthWords(s.reachThread_mm, s.lengthThread_mm)};
}

std::string scheduleText(const Schedule& s) {
    std::string out = headlineOf(s) + "\n";
    for (const std::string& fact : factsOf(s)) out += fact + "\n";
    out += "\nmm; ± with k = 2\n";
    for (const MountHole& m : s.holes) {
        const auto& h = m.hole;
        out += fmt::format("hole {} ({}): x {}, y {}, diameter {}\n", h.letter, h.name,
                           production::placeWords(h, 0), production::placeWords(h, 1),
                           withPlusMinus(h.diameter, h.diameterPlusMinus));
        if (!m.fastener) {
            out += "    no standard screw\n";
            continue;
        }
        const auto& f = *m.fastener;
        out += fmt::format("    screw {}, radial clearance {}, tapping drill {}, insert hole {}, washer {}\n",
                           f.thread, fixed(m.clearance_mm, 3), fixed(f.tap_mm, 2), fixed(f.insert_mm, 1),
                           fixed(f.washer_mm, 1));
        if (std::isfinite(m.room_mm))
            out += fmt::format("    free round its middle {} (to {})\n", fixed(m.room_mm, 2), m.roomTo);
        if (s.fit) out += fmt::format("    takes its screw: {}\n", chanceWords(*s.fit, m.chance));
    }
    if (s.fit) out += patternWords(*s.fit) + "\n";
    out += "\n";
    for (const std::string& r : s.rules) out += "rule: " + r + "\n";
    for (const std::string& r : s.remarks) out += "remark: " + r + "\n";
    return out;
}

std::string scheduleJson(const Schedule& s) {
    Json j;
    j["title"] = s.title, j["unit"] = s.unit, j["revision"] = s.revision, j["level"] = s.level;
    j["counterpart"] = name(s.counterpart);
    j["made_plus_minus"] = s.made_mm;
    j["thickness"] = known(s.thickness_mm);
    const auto height = [](const ClearHeight& h) {
        return h.to.empty()
                   ? Json()
                   : Json{{"value", h.value_mm}, {"plus_minus", known(h.plusMinus_mm)}, {"to", h.to}};
    };
    j["over"] = height(s.over), j["under"] = height(s.under);
    j["standoff"] = s.standoff_mm;
    j["screw_through_nut"] = {{"reach", known(s.reachNut_mm)}, {"length", known(s.lengthNut_mm)}};
    j["screw_into_thread"] = {{"reach", known(s.reachThread_mm)}, {"length", known(s.lengthThread_mm)}};
    j["holes"] = Json::array();
    for (const MountHole& m : s.holes) {
        const auto& h = m.hole;
        Json k{{"letter", h.letter},
               {"id", h.feature},
               {"name", h.name},
               {"x", h.centre.x()},
               {"x_plus_minus", known(h.centrePlusMinus.x())},
               {"y", h.centre.y()},
               {"y_plus_minus", known(h.centrePlusMinus.y())},
               {"diameter", h.diameter},
               {"diameter_plus_minus", known(h.diameterPlusMinus)}};
        k["screw"] = m.fastener ? Json(m.fastener->thread) : Json();
        k["radial_clearance"] = m.fastener ? Json(m.clearance_mm) : Json();
        k["tapping_drill"] = m.fastener ? Json(m.fastener->tap_mm) : Json();
        k["insert_hole"] = m.fastener ? Json(m.fastener->insert_mm) : Json();
        k["room"] = std::isfinite(m.room_mm) ? Json(m.room_mm) : Json();
        k["room_to"] = m.roomTo;
        k["fits"] = s.fit ? Json(m.chance) : Json();
        k["fits_uncertainty"] = s.fit ? Json(s.fit->sigmaOf(m.chance)) : Json();
        j["holes"].push_back(std::move(k));
    }
    j["fits_as_placed"] = s.fit ? Json(s.fit->all) : Json();
    j["fits_shifted"] = s.fit ? Json(s.fit->shifted) : Json();
    j["fits_as_placed_uncertainty"] = s.fit ? Json(s.fit->sigmaOf(s.fit->all)) : Json();
    j["fits_shifted_uncertainty"] = s.fit ? Json(s.fit->sigmaOf(s.fit->shifted)) : Json();
    j["draws"] = s.fit ? Json(s.fit->draws) : Json();
    j["rules"] = s.rules;
    j["remarks"] = s.remarks;
    return j.dump(2) + "\n";
}

std::string scheduleCsv(const Schedule& s) {
    std::string out =
        "hole,name,x,x_plus_minus_k2,y,y_plus_minus_k2,diameter,diameter_plus_minus_k2,screw,radial_"
        "clearance,"
        "tapping_drill,insert_hole,room,fits,fits_uncertainty,part,unit,revision\r\n";
    const auto number = [](double v) { return v > 0.0 ? fixed(v, 6) : std::string(); };
    for (const MountHole& m : s.holes) {
        const auto& h = m.hole;
        const std::string cells[] = {h.letter,
                                     h.name,
                                     fixed(h.centre.x(), 6),
                                     number(h.centrePlusMinus.x()),
                                     fixed(h.centre.y(), 6),
                                     number(h.centrePlusMinus.y()),
                                     fixed(h.diameter, 6),
                                     number(h.diameterPlusMinus),
                                     m.fastener ? m.fastener->thread : "",
                                     m.fastener ? fixed(m.clearance_mm, 6) : "",
                                     m.fastener ? fixed(m.fastener->tap_mm, 2) : "",
                                     m.fastener ? fixed(m.fastener->insert_mm, 1) : "",
                                     std::isfinite(m.room_mm) ? fixed(m.room_mm, 3) : "",
                                     s.fit ? fixed(m.chance, 5) : "",
                                     s.fit ? fixed(s.fit->sigmaOf(m.chance), 6) : "",
                                     s.title,
                                     s.unit,
                                     s.revision};
        std::string line;
        for (const std::string& c : cells) line += (line.empty() ? "" : ",") + quoted(c);
        out += line + "\r\n";
    }
    return out;
}

}  // namespace trammel::mount
