// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/handover/Layers.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <set>

namespace trammel::handover {
namespace {

using survey::OutlinePurpose;

std::string wordFor(double height) {
    const long hundredths = std::lround(std::abs(height) * 100);
    if (hundredths == 0) return "LEVEL_0";
    return fmt::format("{}_{}_{:02}", height > 0 ? "UP" : "DOWN", hundredths / 100, hundredths % 100);
}

}  // namespace

LayerNames::LayerNames(const drawing::Drawing& d) {
    std::set<std::string> taken;
    for (const auto& l : d.levels) {
        std::string word = wordFor(l.height);
        for (char letter = 'B'; taken.count(word) && letter <= 'Z'; ++letter)
            word = fmt::format("{}_{}", wordFor(l.height), letter);
        taken.insert(word);
        words_[l.id] = word;
    }
    std::set<std::string> listed;
    const auto add = [&](const std::string& name, int colour) {
        if (listed.insert(name).second) layers_.push_back({name, colour});
    };
    for (const auto& c : d.chains)
        add(of(c), c.purpose == OutlinePurpose::Outline ? 7 : c.purpose == OutlinePurpose::Cutout ? 5 : 1);
    for (const auto& h : d.holes) add(of(h), 4);
    if (!d.centreMarks.empty()) add(kCentreLayer, 8);
    if (!d.figures.empty()) add(kDimensionLayer, 3);
    if (!d.text.empty()) add(kNoteLayer, 8);
}

std::string LayerNames::heightWord(const survey::Id& level) const {
    const auto it = words_.find(level);
    return it == words_.end() ? "LEVEL_0" : it->second;
}

std::string LayerNames::of(const drawing::DrawnChain& c) const {
    const char* purpose = c.purpose == OutlinePurpose::Outline  ? "CUT_OUTLINE_"
                          : c.purpose == OutlinePurpose::Cutout ? "CUT_OPENING_"
                                                                : "KEEP_OUT_";
    return purpose + heightWord(c.level);
}

std::string LayerNames::of(const drawing::DrawnHole& h) const {
    return (h.cut ? "CUT_HOLE_" : "SEEN_RIM_") + heightWord(h.level);
}

}  // namespace trammel::handover
