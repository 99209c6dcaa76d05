// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "Campaign.h"
#include "Mistakes.h"
#include "core/adjust/Adjust.h"

namespace trammel::campaign {
namespace {

using adjust::Cause;

struct Tally {
    int total = 0, failed = 0;
    int first = 0;    ///< all that are guilty stand first, each alone
    int either = 0;   ///< they stand first, one or more of them as one of an undecided pair
    int rightly = 0;  ///< of these, the data really cannot be expected to tell
    int among = 0;    ///< each is named somewhere
    int cause = 0;    ///< with the cause
    /// Of those that show and can be told from every other single explanation: how many, first (the pair
    /// included), with the cause.
    int told = 0, toldFirst = 0, toldCause = 0;
    double power = 0.0;  ///< what a test of the guilty alone would find
    double share(int n) const { return 100.0 * n / std::max(total, 1); }
};

/// Place of the suspect that names the object, −1 where none does; `alone` when it is the one accused.
int placeOf(const adjust::Solution& solution, const survey::Id& id, bool& alone, Cause& cause) {
    for (std::size_t i = 0; i < solution.suspects.size(); ++i) {
        const adjust::Suspect& s = solution.suspects[i];
        const bool other =
            std::find(s.alternatives.begin(), s.alternatives.end(), id) != s.alternatives.end();
        if (s.object != id && !other) continue;
        alone = s.alternatives.empty();
        cause = s.cause;
        return static_cast<int>(i);
    }
    return -1;
}

void judge(const Spoilt& spoilt, bool verbose, Tally& tally) {
    ++tally.total;
    tally.power += spoilt.power;
    const auto solution = adjust::adjust(spoilt.survey);
    if (!solution) {
        ++tally.failed;
        if (verbose)
            fmt::print("      {}: {}\n", describe(spoilt.survey, spoilt.guilty.front()),
                       solution.error().sentence());
        return;
    }
    bool first = true, among = true, alone = true, cause = true;
    for (const survey::Id& id : spoilt.guilty) {
        bool single = false;
        Cause why = Cause::Unknown;
        const int place = placeOf(*solution, id, single, why);
        among = among && place >= 0;
        first = first && place >= 0 && place < static_cast<int>(spoilt.guilty.size());
        alone = alone && single;
        cause = cause && why == spoilt.cause;
    }
    tally.among += among ? 1 : 0;
    tally.first += first && alone ? 1 : 0;
    tally.either += first && !alone ? 1 : 0;
    tally.rightly += first && !alone && spoilt.undecidable ? 1 : 0;
    tally.cause += among && cause ? 1 : 0;
    if (!spoilt.undecidable && spoilt.power > 0.0) {
        ++tally.told;
        tally.toldFirst += first ? 1 : 0;
        tally.toldCause += among && cause ? 1 : 0;
    }
    if (verbose && !(first && alone && cause)) {
        fmt::print("      guilty {}{}\n", describe(spoilt.survey, spoilt.guilty.front()),
                   spoilt.undecidable   ? " (undecidable)"
                   : spoilt.power > 0.0 ? ""
                                        : " (does not show)");
        for (std::size_t i = 0; i < solution->suspects.size() && i < 2; ++i)
            fmt::print("        {}\n", solution->suspects[i].sentence);
    }
}

/// Of those that a test of the guilty one alone would find, this part must be named (first; the pair included
/// where it is one). No method finds what its own test does not.
double demanded(Mistake m) {
    return m == Mistake::TwoAtOnce ? 85.0 : m == Mistake::Large || m == Mistake::FiveSigma ? 95.0 : 0.0;
}

bool report(Mistake mistake, const Tally& t, int draws) {
    const int named = mistake == Mistake::TwoAtOnce ? t.among : t.first + t.either;
    const double least = demanded(mistake) - (draws >= 200 ? 0.0 : 10.0);
    const bool good = t.total == 0 || named >= least / 100.0 * t.power;
    fmt::print(
        "  {:<30} {:>4} alone {:5.1f} %, as one of a pair {:4.1f} % (rightly {:4.1f} %), named at all "
        "{:5.1f} %, cause "
        "{:5.1f} %, no solution {:4.1f} %; its own test finds {:5.1f} %; of {} that can be told named first "
        "{:5.1f} %, cause {:5.1f} %{}\n",
        mistakeName(mistake), t.total, t.share(t.first), t.share(t.either), t.share(t.rightly),
        t.share(t.among), t.share(t.cause), t.share(t.failed), 100.0 * t.power / std::max(t.total, 1), t.told,
        100.0 * t.toldFirst / std::max(t.told, 1), 100.0 * t.toldCause / std::max(t.told, 1),
        good ? "" : "  <- below the bound");
    return good;
}

/// The six shapes, and the sample as it is marked by hand and fitted.
Drawn survey(const std::vector<Shape>& all, const Sample& sample, int which, std::uint64_t seed) {
    if (which < static_cast<int>(all.size())) return draw(all[static_cast<std::size_t>(which)], seed);
    return {sample.observer.draw(marks(which > static_cast<int>(all.size()), seed)), sample.truth};
}

bool clean(const std::vector<Shape>& all, const Sample& sample, int draws) {
    int surveys = 0, accusing = 0, accused = 0, observations = 0, failed = 0;
    for (int i = 0; i < draws; ++i) {
        const int which = i % (static_cast<int>(all.size()) + 2);
        const auto r =
            adjust::adjust(survey(all, sample, which, static_cast<std::uint64_t>(50000 + i)).survey);
        if (!r) {
            ++failed;
            continue;
        }
        ++surveys;
        accusing += r->suspects.empty() ? 0 : 1;
        for (const auto& s : r->suspects) accused += 1 + static_cast<int>(s.alternatives.size());
        observations += static_cast<int>(r->observations.size());
    }
    const double share = 100.0 * accused / std::max(observations, 1);
    fmt::print(
        "  without mistakes: {:.3f} % of {} observations accused (each is tested at 0.1 %), in {:.1f} % of "
        "{} surveys one "
        "or more{}; {} without solution\n",
        share, observations, 100.0 * accusing / std::max(surveys, 1), surveys,
        share <= 1.0 ? "" : "  <- above 1 %", failed);
    return share <= 1.0;
}

}  // namespace

int blunders(const Settings& settings) {
    const Sample sample(settings.scene);
    const std::vector<Shape> all = shapes();
    const int surveys = static_cast<int>(all.size()) + 2;
    bool good = true;
    for (int m = 0; m < kMistakes; ++m) {
        const auto mistake = static_cast<Mistake>(m);
        if (!settings.only.empty() &&
            std::string(mistakeName(mistake)).find(settings.only) == std::string::npos)
            continue;
        Tally tally;
        for (int i = 0; i < settings.draws; ++i) {
            const auto seed = static_cast<std::uint64_t>(1000 * (m + 1) + i);
            const auto sound = Sound::make(survey(all, sample, i % surveys, seed));
            if (!sound) continue;
            render::Random random(seed + 77);
            if (const auto spoilt = sound->spoil(mistake, random))
                judge(*spoilt, !settings.only.empty(), tally);
        }
        good = report(mistake, tally, settings.draws) && good;
    }
    if (settings.only.empty()) good = clean(all, sample, settings.draws) && good;
    return good ? 0 : 1;
}

}  // namespace trammel::campaign
