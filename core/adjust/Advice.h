// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>
#include <variant>
#include <vector>

#include "core/adjust/Solution.h"
#include "core/base/Result.h"

/// What to do next: of all readings by hand and photographs that are still possible, the one that most
/// shrinks the worst ± among the dimensions that matter. What an observation would leave of the ± depends on
/// its σ and not on what it will read, so it is computed before it is made: exactly, for the problem
/// linearised at the adjusted state, by one update of the covariance (core/estimate/Planned.h for a reading,
/// CovarianceFactor::extended for a photograph with its six unknowns).
///
/// - Which dimensions matter: those marked important, or all where none is. If any of them states a wanted ±
///   (`survey::Dimension::target`), only those that do are judged, each by ± / target; else each by its ± in
///   mm, an angle by the ± at the end of its shorter edge. The largest is the worst.
/// - Equals are told apart by a hundredth of the root mean square of all that matter.
/// - The best reading alone is found exhaustively. It yields to another only where a set of `ahead` readings
/// that
///   begins with that one leaves the worst ± at least 1 % smaller than any set found with the best alone in
///   it (core/adjust/AdvicePlan.h): where several dimensions are nearly as bad, one reading alone shows
///   little.
/// - After a failed global test every ± is widened by one factor (core/adjust/Adjust.h). The forecast keeps
/// that
///   factor: one more observation among many hardly moves it.
/// - Not offered: what is read already (also a check reading: it stays withheld), what an instrument cannot
///   reach, features that no photograph shows, and what lies on a rule or card (objects of a reference).
///   Whether something stands in a jaw's way is not known here.
namespace trammel::adjust {

enum class Instrument { Caliper, DepthRod, Tape, Protractor };
std::string_view instrumentName(Instrument instrument);  ///< "caliper", "depth rod", "tape", "protractor"

/// Standard uncertainties (k = 1) and reach of what is at hand. The caliper and depth rod figures are common
/// practice (DIN 862 gives the instrument's own share); "from memory" where it says so.
struct AdviceOptions {
    double caliperFace_mm = 0.03;   ///< on an edge: rigid faces 0.03
    double caliperHole_mm = 0.05;   ///< in a hole: small holes 0.05
    double caliperCorner_mm = 0.1;  ///< at a corner, held by eye: upper end of "board edges 0.05–0.1"
    double acrossLevels = 2.0;  ///< factor where the ends lie at two heights: the beam lies on no face (ours)
    double caliperReach_mm = 300.0;
    double jawDepth_mm = 40.0;  ///< how deep the jaws reach past a step; of a 150 mm caliper, from memory
    double leastHole_mm = 2.5;  ///< into which inner jaws still go (ours)
    double depthRod_mm = 0.05;  ///< depth rod 0.05–0.1
    double depthReach_mm = 150.0;
    double tapeShare = 0.01;         ///< of the stand-off: tape 1 %
    double protractor_rad = 0.0087;  ///< half a degree, from memory
    double leastGain = 0.02;         ///< share of the worst ± below which nothing is advised
    std::size_t ahead = 2;           ///< readings looked ahead; 1: each for itself
    std::size_t listed = 5;          ///< most proposals
    bool readings = true, views = true;
};

/// A reading to take; objects as in survey::Reading.
struct AdvisedReading {
    survey::Quantity quantity = survey::Quantity::Distance;
    std::vector<Id> objects;
    double sigma = 0.0;  ///< mm or rad
    Instrument instrument = Instrument::Caliper;
};

/// A photograph to take with a camera group of the survey, at the stand-off of its others. It is taken to
/// show each feature that a photograph within 60° of its direction shows, but no hole or arc within 10° of
/// edge on and no edge within 10° of end on, each marked with as many points as is usual in the survey and
/// its median σ.
struct AdvisedView {
    survey::View view = survey::View::Oblique;
    double azimuth_rad = 0.0;    ///< of an oblique one: from the front, counter-clockwise seen from above
    double elevation_rad = 0.0;  ///< of an oblique one: above the plane of the datum level
    Id group;
    double standOff_mm = 0.0;
    double sigma_px = 0.0;
    int marks = 0;
};

/// One dimension's place in the judgement.
struct Judged {
    survey::Dimension dimension;
    double plusMinus = 0.0;  ///< k = 2, mm or rad
    double figure = 0.0;     ///< what it is judged by: ± / target, or mm
};

struct Proposal {
    std::variant<AdvisedReading, AdvisedView> what;
    Judged same;   ///< the dimension that is the worst now, as it would be then
    Judged worst;  ///< the worst one then, perhaps another
    std::string sentence;
};

struct Advice {
    bool goodEnough = false;  ///< every dimension that states a wanted ± has it
    /// A proposal, or all of `plan`, shrinks the worst by more than `leastGain`.
    bool helps = false;
    Judged worst;          ///< now
    std::string sentence;  ///< for people: what to do, or why nothing
    /// Best first; with the best reading and the best photograph among them.
    std::vector<Proposal> proposals;
    std::vector<AdvisedReading> plan;  ///< readings to take one after the other, the first as proposed
    Judged afterPlan;                  ///< the worst then
};

/// Refused when the solution has no covariance or the survey no dimension; BadValue when an option is no use.
Result<Advice> advise(const Solution& solution, const AdviceOptions& options = {});

}  // namespace trammel::adjust
