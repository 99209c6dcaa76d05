// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <random>

#include "Campaign.h"
#include "core/adjust/Adjust.h"

namespace trammel::campaign {
namespace {

enum class Kind { MisClick, Reading, Reference };

/// Marks whose mistake can be told from the others': a feature seen twice has two marks that accuse each
/// other.
std::vector<std::size_t> seenThrice(const survey::Survey& s) {
    std::map<survey::Id, int> views;
    for (const survey::Mark& m : s.marks) ++views[m.feature];
    std::vector<std::size_t> out;
    for (std::size_t i = 0; i < s.marks.size(); ++i)
        if (views[s.marks[i].feature] >= 3) out.push_back(i);
    return out;
}

/// Readings whose mistake stands out of the noise of the marks: named in 95 % of draws needs 1.2 times the
/// smallest detectable error, which is defined for a power of 80 % (Baarda 1968; 3.29 + 1.645 over 4.13).
std::vector<survey::Id> controlled(const survey::Survey& s, double error) {
    std::vector<survey::Id> out;
    if (const auto r = adjust::adjust(s))
        for (const auto& o : r->observations)
            if (find(s.readings, o.object) && 1.2 * o.smallestDetectable < error) out.push_back(o.object);
    return out;
}

double wrongBy(Kind kind, const survey::Reading& r) {
    return kind == Kind::Reading ? 1.0 : 0.02 * r.measured.value;
}

/// Spoils one observation and returns its id; empty when none of the kind is controlled well enough.
survey::Id spoil(survey::Survey& s, Kind kind, bool onlyControlled, std::mt19937_64& random) {
    const auto pick = [&](std::size_t n) { return static_cast<std::size_t>(random() % n); };
    if (kind == Kind::MisClick) {
        const std::vector<std::size_t> fair = seenThrice(s);
        survey::Mark& m = s.marks[onlyControlled ? fair[pick(fair.size())] : pick(s.marks.size())];
        const double angle = 2 * M_PI * static_cast<double>(random() % 100000) / 100000.0;
        Vec2 shift(std::cos(angle), std::sin(angle));
        // Along an edge a click may lie anywhere: a mis-click there is one that misses the edge.
        if (m.points.size() > 1) {
            const Vec2 along = (m.points.back().px - m.points.front().px).normalized();
            const survey::Feature* f = find(s.features, m.feature);
            if (f && f->kind == survey::FeatureKind::Edge) shift = Vec2(-along.y(), along.x());
        }
        if (find(s.features, m.feature)->kind == survey::FeatureKind::Edge ||
            find(s.features, m.feature)->kind == survey::FeatureKind::Corner) {
            for (survey::MarkPoint& p : m.points) p.px += 12.0 * shift;
        } else {  // a rim: one click of it, away from the middle
            Vec2 middle = Vec2::Zero();
            for (const auto& p : m.points) middle += p.px / static_cast<double>(m.points.size());
            survey::MarkPoint& p = m.points[pick(m.points.size())];
            p.px += 12.0 * (p.px - middle).normalized();
        }
        return m.id;
    }
    std::vector<survey::Reading*> usable;
    for (survey::Reading& r : s.readings)
        if (!r.check && r.reference == (kind == Kind::Reference) && r.quantity != survey::Quantity::Tape) {
            const auto fair =
                onlyControlled ? controlled(s, wrongBy(kind, r)) : std::vector<survey::Id>{r.id};
            if (std::find(fair.begin(), fair.end(), r.id) != fair.end()) usable.push_back(&r);
        }
    if (usable.empty()) return {};
    survey::Reading& r = *usable[pick(usable.size())];
    r.measured.value += (random() % 2 ? 1.0 : -1.0) * wrongBy(kind, r);
    return r.id;
}

struct Tally {
    int first = 0, among = 0, total = 0;
};

void judge(const survey::Survey& s, const survey::Id& guilty, Tally& tally) {
    const auto r = adjust::adjust(s);
    ++tally.total;
    if (!r) return;
    if (!r->suspects.empty() && r->suspects.front().object == guilty) ++tally.first;
    for (const auto& suspect : r->suspects)
        if (suspect.object == guilty) {
            ++tally.among;
            return;
        }
}

constexpr const char* kNames[] = {"mark 12 px off", "reading 1 mm off", "reference 2 % off"};

/// Share (%) of draws in which the spoilt observation is the first suspect.
double trial(const Sample& sample, bool fitted, int draws, Kind kind, bool onlyControlled) {
    std::mt19937_64 random(7);
    Tally tally;
    for (int seed = 1; seed <= draws; ++seed) {
        survey::Survey s = sample.observer.draw(marks(fitted, static_cast<std::uint64_t>(seed)));
        const survey::Id guilty = spoil(s, kind, onlyControlled, random);
        if (!guilty.empty()) judge(s, guilty, tally);
    }
    const double share = 100.0 * tally.first / std::max(tally.total, 1);
    fmt::print("  {:<18} {:<28} named first {:5.1f} %, among the suspects {:5.1f} % of {}\n",
               kNames[static_cast<int>(kind)],
               onlyControlled ? "(well-controlled)" : "(any, for information)", share,
               100.0 * tally.among / std::max(tally.total, 1), tally.total);
    return share;
}

bool run(const Sample& sample, bool fitted, int draws) {
    bool good = true;
    const double least = draws >= 200 ? 95.0 : 85.0;
    for (const Kind kind : {Kind::MisClick, Kind::Reading, Kind::Reference}) {
        good = trial(sample, fitted, draws, kind, true) >= least && good;
        if (draws >= 200) trial(sample, fitted, draws, kind, false);
    }
    int accused = 0, observations = 0;
    for (int seed = 1; seed <= draws; ++seed) {
        const auto r =
            adjust::adjust(sample.observer.draw(marks(fitted, static_cast<std::uint64_t>(1000 + seed))));
        if (!r) continue;
        accused += static_cast<int>(r->suspects.size());
        observations += static_cast<int>(r->observations.size());
    }
    const double share = 100.0 * accused / std::max(observations, 1);
    fmt::print("  without mistakes   {:.2f} % of {} observations accused{}\n", share, observations,
               share <= 1.0 ? "" : "  <- above 1 %");
    return good && share <= 1.0;
}

}  // namespace

int blunders(const Settings& settings) {
    const Sample sample(settings.scene);
    bool good = true;
    for (const bool fitted : {false, true}) {
        fmt::print("{} marks, {} draws a kind of mistake\n", fitted ? "fitted" : "hand", settings.draws);
        good = run(sample, fitted, settings.draws) && good;
    }
    return good ? 0 : 1;
}

}  // namespace trammel::campaign
