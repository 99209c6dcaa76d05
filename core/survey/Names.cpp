// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/survey/Names.h"

#include <array>

namespace trammel::survey {
namespace {

template <class E, std::size_t N>
std::optional<E> lookUp(const std::array<std::string_view, N>& names, std::string_view name) {
    for (std::size_t i = 0; i < N; ++i)
        if (names[i] == name) return static_cast<E>(i);
    return std::nullopt;
}

constexpr std::array<std::string_view, 6> kKinds = {"corner", "edge", "hole", "arc", "slot", "curve"};
constexpr std::array<std::string_view, 12> kQuantities = {"distance", "diameter",   "radius",     "depth",
                                                          "height",   "offset-x",   "offset-y",   "angle",
                                                          "tape",     "inner-span", "outer-span", "length"};
constexpr std::array<std::string_view, 3> kPurposes = {"outline", "cutout", "keep-out"};
constexpr std::array<std::string_view, 4> kTransitions = {"sharp", "inner", "outer", "round"};
constexpr std::array<std::string_view, 2> kOrigins = {"hand", "fitted"};
constexpr std::array<std::string_view, 3> kModes = {"fixed", "prior", "free"};
constexpr std::array<std::string_view, 3> kForms = {"flat", "tilted", "bowed"};
constexpr std::array<std::string_view, 8> kConditions = {
    "parallel", "perpendicular", "concentric", "equal", "coplanar", "symmetrical", "pitch", "tangent"};

}  // namespace

std::string_view kindName(FeatureKind v) { return kKinds[static_cast<std::size_t>(v)]; }
std::string_view quantityName(Quantity v) { return kQuantities[static_cast<std::size_t>(v)]; }
std::string_view purposeName(OutlinePurpose v) { return kPurposes[static_cast<std::size_t>(v)]; }
std::string_view transitionName(Transition v) { return kTransitions[static_cast<std::size_t>(v)]; }
std::string_view originName(MarkOrigin v) { return kOrigins[static_cast<std::size_t>(v)]; }
std::string_view modeName(ConstantMode v) { return kModes[static_cast<std::size_t>(v)]; }
std::string_view formName(LevelForm v) { return kForms[static_cast<std::size_t>(v)]; }
std::string_view conditionName(ConditionKind v) { return kConditions[static_cast<std::size_t>(v)]; }

std::optional<FeatureKind> kindFromName(std::string_view n) { return lookUp<FeatureKind>(kKinds, n); }
std::optional<Quantity> quantityFromName(std::string_view n) { return lookUp<Quantity>(kQuantities, n); }
std::optional<OutlinePurpose> purposeFromName(std::string_view n) {
    return lookUp<OutlinePurpose>(kPurposes, n);
}
std::optional<Transition> transitionFromName(std::string_view n) {
    return lookUp<Transition>(kTransitions, n);
}
std::optional<MarkOrigin> originFromName(std::string_view n) { return lookUp<MarkOrigin>(kOrigins, n); }
std::optional<ConstantMode> modeFromName(std::string_view n) { return lookUp<ConstantMode>(kModes, n); }
std::optional<LevelForm> formFromName(std::string_view n) { return lookUp<LevelForm>(kForms, n); }
std::optional<ConditionKind> conditionFromName(std::string_view n) {
    return lookUp<ConditionKind>(kConditions, n);
}

}  // namespace trammel::survey
