// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/drawing/Cutting.h"

#include <fmt/core.h>

#include <algorithm>
#include <map>

namespace trammel::drawing {
namespace {

using survey::OutlinePurpose;

bool isCutoutOfItsOwn(const survey::Survey& survey, const Id& feature) {
    return std::any_of(survey.outlines.begin(), survey.outlines.end(), [&](const survey::Outline& o) {
        return isDrilled(survey, o) && o.chain.front() == feature;
    });
}

/// Inside, or touching: then checkNesting() has to speak of it.
bool belongs(const DrawnHole& hole, const DrawnChain& outline) {
    const auto circle = geometry::circleChain(hole.circle);
    return contains(outline.chain, hole.circle.centre) || touch(circle, outline.chain);
}

std::string whyNot(const DrawnHole& hole, const Drawing& d, HoleChoice choice) {
    if (choice == HoleChoice::Chosen) return "it is no cutout";
    bool any = false;
    for (const DrawnChain& c : d.chains) {
        if (c.purpose != OutlinePurpose::Outline || c.level != hole.level) continue;
        if (belongs(hole, c)) return "";
        any = true;
    }
    return any ? "it lies outside the outline of its level" : "its level has no outline";
}

std::string listed(const std::vector<std::string>& names) {
    std::string s;
    for (const std::string& n : names) s += (s.empty() ? "" : ", ") + n;
    return s;
}

}  // namespace

bool isDrilled(const survey::Survey& survey, const survey::Outline& o) {
    if (o.purpose != OutlinePurpose::Cutout || o.chain.size() != 1) return false;
    const survey::Feature* f = find(survey.features, o.chain.front());
    return f && f->kind == survey::FeatureKind::Hole;
}

void decideHoles(const survey::Survey& survey, HoleChoice choice, Drawing& d) {
    for (DrawnHole& h : d.holes) {
        h.notCutBecause = isCutoutOfItsOwn(survey, h.feature) ? "" : whyNot(h, d, choice);
        h.cut = h.notCutBecause.empty();
    }
}

std::vector<std::string> cutWords(const Drawing& d) {
    std::vector<std::string> outlines, openings, holes, lines;
    std::map<std::string, std::vector<std::string>> seen;
    for (const DrawnChain& c : d.chains) {
        if (c.purpose == OutlinePurpose::Outline) outlines.push_back(c.name);
        if (c.purpose == OutlinePurpose::Cutout) openings.push_back(c.name);
        if (c.purpose == OutlinePurpose::KeepOut) seen["a keep-out is no cut"].push_back(c.name);
    }
    for (const DrawnHole& h : d.holes)
        if (h.cut)
            holes.push_back(h.name);
        else
            seen[h.notCutBecause].push_back("hole " + h.name);
    std::string cut;
    const auto add = [&](const char* one, const char* more, const std::vector<std::string>& names) {
        if (names.empty()) return;
        cut += fmt::format("{}{} {}", cut.empty() ? "" : "; ", names.size() == 1 ? one : more, listed(names));
    };
    add("outline", "outlines", outlines);
    add("opening", "openings", openings);
    add("hole", "holes", holes);
    lines.push_back(cut.empty() ? "Nothing is to be cut: make what is to be cut an outline or a cutout"
                                : "To be cut: " + cut);
    for (const auto& [why, names] : seen)
        lines.push_back(fmt::format("Only drawn, not to be cut: {} ({})", listed(names), why));
    return lines;
}

}  // namespace trammel::drawing
