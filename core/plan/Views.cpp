// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/plan/Views.h"

#include <numbers>

namespace trammel::plan {

using survey::View;

const std::vector<PlannedView>& plannedViews() {
    constexpr double kQuarter = std::numbers::pi / 2;
    static const std::vector<PlannedView> views = {
        {"top", View::Top},
        {"front", View::Front},
        {"right", View::Right},
        {"rear", View::Rear},
        {"left", View::Left},
        {"oblique front", View::Oblique, -kQuarter, 0.0},
        {"oblique right", View::Oblique, 0.0, -kQuarter},
        {"oblique rear", View::Oblique, kQuarter, 2 * kQuarter},
        {"oblique left", View::Oblique, 2 * kQuarter, kQuarter},
    };
    return views;
}

const std::vector<std::vector<std::string>>& viewSets() {
    static const std::vector<std::vector<std::string>> sets = {
        {"top"},
        {"top", "front"},
        {"top", "oblique front"},
        {"top", "front", "right"},
        {"top", "oblique front", "oblique right"},
        {"top", "front", "right", "oblique front", "oblique right"},
        {"top", "oblique front", "oblique right", "oblique rear", "oblique left"},
        {"top", "front", "right", "rear", "left", "oblique front", "oblique right"},
        {"top", "front", "right", "rear", "left", "oblique front", "oblique right", "oblique rear",
         "oblique left"},
    };
    return sets;
}

std::string joined(const std::vector<std::string>& names) {
    std::string text;
    for (const std::string& name : names) text += (text.empty() ? "" : ", ") + name;
    return text;
}

}  // namespace trammel::plan
