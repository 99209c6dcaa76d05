// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>
#include <vector>

#include "core/drawing/Drawing.h"
#include "core/rules/ShopRules.h"

namespace trammel::rules {

enum class Rule { Hole, Web, Gap, Piece, Bed, Kerf };
const char* ruleName(Rule rule);  ///< "hole", "web", ...

/// Where a drawing is against a rule.
struct Violation {
    Rule rule = Rule::Hole;
    std::string object;  ///< "hole H3", or two: "hole H3 and outline board"
    double is_mm = 0.0, asked_mm = 0.0;
    Vec2 at = Vec2::Zero();  ///< where to look, mm of the drawing
    std::string sentence;    ///< what, how much is asked and by whom, what to do
};

struct Findings {
    std::vector<Violation> violations;    ///< holes, webs, gaps, pieces, bed, kerf; each kind worst first
    std::vector<std::string> handOver;    ///< what to give the shop: format, kerf, sheet; sentences
    std::vector<std::string> notChecked;  ///< rules that could not be tried; sentences
};

/// Tries the rules on the finished edges. `thickness_mm` of the sheet, 0: not known, and rules that need it
/// are told as not checked. `kerf_mm` is what the file would compensate, 0: nothing; only the rule on the
/// kerf looks at it. Refused (BadValue): a drawing that is compensated, a thickness that is no length of 0 to
/// 1000 mm.
/// A part fits the bed where its bounds do, lying as drawn or turned by 90° (not slanted).
Result<Findings> check(const drawing::Drawing& drawing, const ShopRules& rules, double thickness_mm,
                       double kerf_mm = 0.0);

std::string findingsText(const Findings& findings, const ShopRules& rules);
std::string findingsJson(const Findings& findings, const ShopRules& rules);

}  // namespace trammel::rules
