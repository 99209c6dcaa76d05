// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>
#include <string_view>

#include "core/survey/Survey.h"

/// The words that files, reports and the window use for enumerators, and back.
namespace trammel::survey {

std::string_view kindName(FeatureKind kind);             ///< "corner", "edge", "hole", ...
std::string_view quantityName(Quantity quantity);        ///< "distance", "diameter", ...
std::string_view purposeName(OutlinePurpose purpose);    ///< "outline", "cutout", "keep-out"
std::string_view transitionName(Transition transition);  ///< "sharp", "inner", "outer", "round"
std::string_view originName(MarkOrigin origin);          ///< "hand", "fitted"
std::string_view modeName(ConstantMode mode);            ///< "fixed", "prior", "free"
std::string_view formName(LevelForm form);               ///< "flat", "tilted", "bowed"
std::string_view conditionName(ConditionKind kind);      ///< "parallel", "perpendicular", ...

std::optional<FeatureKind> kindFromName(std::string_view name);
std::optional<Quantity> quantityFromName(std::string_view name);
std::optional<OutlinePurpose> purposeFromName(std::string_view name);
std::optional<Transition> transitionFromName(std::string_view name);
std::optional<MarkOrigin> originFromName(std::string_view name);
std::optional<ConstantMode> modeFromName(std::string_view name);
std::optional<LevelForm> formFromName(std::string_view name);
std::optional<ConditionKind> conditionFromName(std::string_view name);

}  // namespace trammel::survey
