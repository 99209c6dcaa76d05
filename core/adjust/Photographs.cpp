// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/Photographs.h"

#include <fmt/core.h>

#include <algorithm>
#include <cctype>
#include <cmath>
#include <map>

#include "core/adjust/Covariance.h"
#include "core/adjust/Gross.h"
#include "core/adjust/Start.h"
#include "core/adjust/ViewDoubt.h"
#include "core/math/Rotation.h"

namespace trammel::adjust {
namespace {

/// So many suspects in one photograph, and this share of its marks, accuse it as a whole.
constexpr int kManyMarks = 4;
constexpr double kManyShare = 0.3;
/// Variance factor under which photographs count as agreeing with one another.
constexpr double kAgreeing = 3.0;

/// Variance factor over which an adjustment cannot stand with what was set aside.
constexpr double kSpoilt = 4.0;

struct Tally {
    int station = 0, marks = 0, suspects = 0;
    double worst_px = 0.0;
    bool view = false;  ///< its view was set aside, or it looks from the opposite side
    bool many() const { return suspects >= kManyMarks && suspects >= kManyShare * marks; }
};

bool looksOpposite(const survey::Station& s, const Solution& solution) {
    const auto it = solution.stations.find(s.id);
    if (it == solution.stations.end() || s.view == survey::View::Oblique || !solution.covariance)
        return false;
    const Vec3 axis =
        (it->second.pose.R * rotationExp(Vec3(0, 0, solution.covariance->state().azimuth))).row(2);
    return axis.dot(Vec3(survey::squareRotation(s.view).row(2))) < 0.0;
}

std::vector<Tally> tallies(const survey::Survey& survey, const Solution& solution) {
    std::vector<Tally> out(survey.stations.size());
    for (std::size_t i = 0; i < out.size(); ++i) {
        const survey::Station& s = survey.stations[i];
        out[i].station = static_cast<int>(i);
        out[i].view = looksOpposite(s, solution);
        for (const survey::Mark& m : survey.marks) out[i].marks += m.station == s.id && !m.excluded ? 1 : 0;
        for (const Suspect& suspect : solution.suspects) {
            const survey::Mark* m = find(survey.marks, suspect.object);
            if (suspect.object == s.id) out[i].view = true;
            if (!m || m->station != s.id) continue;
            ++out[i].suspects;
            out[i].worst_px = std::max(out[i].worst_px, std::abs(suspect.estimatedError));
        }
    }
    return out;
}

std::string capital(std::string s) {
    if (!s.empty()) s[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(s[0])));
    return s;
}

GuiltyPhotograph accuseView(const ViewDoubt& doubt, int station) {
    GuiltyPhotograph g;
    g.station = station;
    g.suspect.object = doubt.station;
    g.suspect.cause = doubt.cause;
    g.suspect.w = std::isfinite(doubt.asGiven) ? doubt.asGiven : 0.0;
    g.suspect.sentence = doubt.sentence + " The dimensions stand without it.";
    return g;
}

GuiltyPhotograph accuseWhole(const survey::Survey& survey, const Tally& t) {
    GuiltyPhotograph g;
    g.station = t.station;
    const survey::Station& s = survey.stations[static_cast<std::size_t>(t.station)];
    g.suspect.object = s.id;
    g.suspect.cause = Cause::WholePhotograph;
    g.suspect.estimatedError = t.worst_px;
    const std::string what = capital(describe(survey, s.id));
    g.suspect.sentence = t.suspects > 0 ? fmt::format(
                                              "{} disagrees as a whole ({} of its {} marks, by up to {:.2g} "
                                              "px): was the camera refocused or "
                                              "zoomed, or the part moved? The dimensions stand without it.",
                                              what, t.suspects, t.marks, t.worst_px)
                                        : fmt::format(
                                              "{} does not fit the others, which agree without it: look for "
                                              "marks tied to the wrong features. "
                                              "The dimensions stand without it.",
                                              what);
    return g;
}

}  // namespace

namespace {

/// Marks with the largest residuals at the start values, which a single one far off spoils least where it
/// lies.
std::vector<Id> standOut(const survey::Survey& survey, std::size_t most) {
    std::vector<std::pair<double, Id>> all;
    auto n = Network::compile(survey);
    if (!n || !findStart(*n)) return {};
    std::vector<estimate::Rows> rows;
    if (!n->linearise(rows, false)) return {};
    std::map<int, double> largest;
    for (std::size_t i = 0; i < n->points().size(); ++i)
        if (const int o = n->points()[i].owner; n->owners()[at(o)].active)
            largest[o] = std::max(largest[o], rows[i].squared());
    for (const auto& [owner, off] : largest) all.emplace_back(off, n->owners()[at(owner)].object);
    std::sort(all.begin(), all.end(), [](const auto& a, const auto& b) { return a.first > b.first; });
    std::vector<Id> out;
    for (std::size_t i = 0; i < std::min(most, all.size()); ++i) out.push_back(all[i].second);
    return out;
}

/// The one mark without which everything settles and agrees.
std::optional<GuiltyPhotograph> findGuiltyMark(const survey::Survey& survey, const Options& options,
                                               const Progress* progress) {
    constexpr std::size_t kTried = 10;
    for (const Id& id : standOut(survey, kTried)) {
        survey::Survey without = survey;
        for (survey::Mark& m : without.marks)
            if (m.id == id) m.excluded = true;
        auto n = Network::compile(without);
        if (!n || !findStart(*n)) continue;
        const auto round = solveRound(*n, options, progress);
        if (!round) {
            if (round.error().code == ErrorCode::Cancelled) return std::nullopt;
            continue;
        }
        const int f = freedom(*n);
        if (f > 0 && round->sum < kAgreeing * f) return GuiltyPhotograph{0, {}, {id}};
    }
    return std::nullopt;
}

}  // namespace

std::optional<GuiltyPhotograph> findGuiltyPhotograph(const survey::Survey& survey, const Attempt& attempt,
                                                     const Options& options, const Progress* progress) {
    std::vector<Tally> asked;
    // Residuals that ten suspects do not account for: any photograph may be the one.
    const bool spoilt = !attempt.solution || attempt.solution->global.varianceFactor > kSpoilt;
    if (attempt.solution) {
        asked = tallies(survey, *attempt.solution);
        std::erase_if(asked, [&](const Tally& t) {
            return survey.stations[at(t.station)].excluded || (!spoilt && !t.view && !t.many());
        });
        std::stable_sort(asked.begin(), asked.end(),
                         [](const Tally& a, const Tally& b) { return a.suspects > b.suspects; });
    } else if (attempt.carriedAway) {
        if (auto mark = findGuiltyMark(survey, options, progress)) return mark;
        for (std::size_t i = 0; i < survey.stations.size(); ++i)
            if (!survey.stations[i].excluded) asked.push_back({static_cast<int>(i), 0, 0, 0.0, false});
    }
    std::optional<GuiltyPhotograph> whole;
    double least = kAgreeing;
    for (const Tally& t : asked) {
        if (progress && progress->cancelled()) return std::nullopt;
        const auto others = adjustWithout(survey, t.station, options, progress);
        if (!others) continue;
        const auto doubt = doubtView(survey, t.station, *others);
        if (doubt && others->varianceFactor < 10 * kAgreeing) return accuseView(*doubt, t.station);
        if (!(others->varianceFactor < least) || (!spoilt && !t.many())) continue;
        least = others->varianceFactor;
        whole = accuseWhole(survey, t);
        const auto far = farOff(survey, t.station, *others);
        if (far && far->misfit < kAgreeing && !far->marks.empty() &&
            static_cast<double>(far->marks.size()) <= kManyShare * far->all)
            whole->marks = far->marks;
    }
    return whole;
}

}  // namespace trammel::adjust
