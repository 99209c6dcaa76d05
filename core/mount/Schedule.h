// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>
#include <string>
#include <vector>

#include "core/adjust/Solution.h"
#include "core/base/Result.h"
#include "core/drawing/Envelope.h"
#include "core/mount/PatternFit.h"
#include "core/production/HoleTable.h"
#include "core/standard/Fasteners.h"

namespace trammel::mount {

/// What takes the screws.
enum class Counterpart {
    Tapped,  ///< threads or inserts: the screw stands fixed
    Fine,    ///< holes of ISO 273 in which the screw floats as well
    Medium,
    Coarse
};

struct Terms {
    std::vector<std::string> holes;  ///< letters, names or ids; none: all of one level, the one with most
    std::string thread;              ///< "M3"; empty: by each hole's size
    Counterpart counterpart = Counterpart::Tapped;
    double made_mm = 0.0;               ///< ± (k = 2) of the counterpart's own places
    std::optional<double> standoff_mm;  ///< nothing: the next whole mm that leaves kOver_mm of air
    double thickness_mm = 0.0;          ///< as stated, 0: by the survey; goes before what the survey tells
};

/// Air between the lowest part and what the part is mounted on, at least (common practice, no source).
inline constexpr double kOver_mm = 1.0;

/// A height with its ± (k = 2, 0 unknown), and what it goes to.
struct ClearHeight {
    double value_mm = 0.0, plusMinus_mm = 0.0;
    std::string to;  ///< name of the level; empty: nothing stands out on this side
};

struct MountHole {
    production::HoleRow hole;
    const standard::Fastener* fastener = nullptr;  ///< null: no screw of the table passes
    double clearance_mm = 0.0;                     ///< radial, of the hole as surveyed and the counterpart
    double room_mm = 0.0;  ///< radius about the centre that is free in plan, hole's own rim left out
    std::string roomTo;    ///< what ends it
    double chance = 0.0;   ///< PatternFit.h, each
};

struct Schedule {
    std::string title, unit, revision, level;
    std::vector<MountHole> holes;
    double thickness_mm = 0.0;  ///< of the outline the holes are in; 0: not known
    ClearHeight over, under;    ///< from the level of the holes up, and from its underside down
    double standoff_mm = 0.0;
    /// Least lengths of screw and the next standard ones, by the largest screw: through standoff and nut, and
    /// into a thread (Schedule.cpp states the rules).
    double reachNut_mm = 0.0, reachThread_mm = 0.0;
    std::optional<double> lengthNut_mm, lengthThread_mm;
    std::optional<FitChance> fit;  ///< nothing where the adjustment kept no covariance, or no screw passes
    Counterpart counterpart = Counterpart::Tapped;
    double made_mm = 0.0;
    std::vector<std::string> rules;    ///< by what the figures were made, a sentence each
    std::vector<std::string> remarks;  ///< what to mind, a sentence each
};

/// The schedule of a drawing of the top face. Refused: a hole that is none (named), holes on more than one
/// level, a thread the table does not have, no cut hole, lengths that are none.
Result<Schedule> scheduleOf(const survey::Survey& survey, const adjust::Solution& solution,
                            const drawing::Drawing& drawing, const Terms& terms);

/// Joint covariance (k = 1) of x, y and diameter of these holes, in the part's frame, as FitTerms has it;
/// nothing without one.
std::optional<MatX> jointCovariance(const adjust::Solution& solution, const std::vector<survey::Id>& holes);

/// What stands above the holes, as text and on paper alike: the title, and a line for each fact of them all.
std::string headlineOf(const Schedule& schedule);
std::vector<std::string> factsOf(const Schedule& schedule);
std::string patternWords(const FitChance& fit);  ///< both chances of the whole pattern

std::string scheduleText(const Schedule& schedule);
std::string scheduleJson(const Schedule& schedule);
std::string scheduleCsv(const Schedule& schedule);  ///< RFC 4180

/// "99.7 %", "99.96 %": never 100 % or 0 %; where draws cannot tell, "> 99.9 %".
std::string chanceWords(const FitChance& fit, double p);

}  // namespace trammel::mount
