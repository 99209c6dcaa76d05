// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>
#include <string>
#include <vector>

#include "core/base/Progress.h"
#include "core/plan/Expect.h"
#include "core/plan/Lenses.h"
#include "core/plan/Task.h"

namespace trammel::plan {

/// One way of doing it and what it comes to; without `expected` it does not serve, and `reason` says why.
struct Trial {
    std::string name;
    std::optional<Expectation> expected{};
    std::string reason;
    bool meets = false;   ///< the wanted ±
    bool chosen = false;  ///< what the plan goes on with
};

/// A lens of the task at one focal length.
struct LensTrial {
    Lens lens;
    double focal_mm = 0.0;
    std::optional<LensUse> use{};  ///< nothing: not feasible
    Trial trial;                   ///< with the photographs of `standardViews`
};

struct Plan {
    Task task;
    std::vector<LensTrial> lenses;
    std::vector<Trial> sets;              ///< of views, by the number of photographs
    std::vector<Trial> referenceLengths;  ///< where reference lengths lie, with the chosen views
    std::vector<Trial> squaring;          ///< how the camera is made square, with the chosen views
    std::vector<Trial> squaringAlone;     ///< the same with top, front and right alone: without oblique views
    std::vector<Trial> help;              ///< what would bring the ± down further, where it is not reached
    /// Below: what the plan comes to. Empty views: no lens serves.
    LensUse use;
    Lens lens;
    std::vector<std::string> views;
    Expectation expected;
    bool reachable = false;
    bool served() const { return !views.empty(); }
};

/// Photographs with which lenses are compared; a flat part too shows enough in them.
const std::vector<std::string>& standardViews();

/// Tries every lens, then sets of views, then where reference lengths lie and how the camera is squared, each
/// by the covariance of a simulated survey (core/plan/Expect.h). Chooses the lens with the smallest ± over
/// what is wanted (of nearly equal ones that with the longest stand-off: less perspective to be solved), then
/// the set with the fewest photographs, three at least, that meets the wanted ±, or that with the smallest ±
/// where none does. Refused for a task that `check` refuses, or when cancelled; a plan that no lens serves is
/// no failure.
Result<Plan> makePlan(const Task& task, const Progress* progress = nullptr);

}  // namespace trammel::plan
