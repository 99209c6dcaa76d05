// SPDX-License-Identifier: GPL-3.0-or-later
// Surveys from which one thing was taken away.
#include <algorithm>

#include "RandomShapes.h"

namespace trammel::campaign {
namespace {

using survey::FeatureKind;
using survey::Survey;
using survey::View;

constexpr ErrorCode kNotConnected = ErrorCode::NotConnected, kRankDefect = ErrorCode::RankDefect;

/// Features of one photograph become others that no photograph else shows.
void disconnect(Survey& s, const survey::Id& station, int keep) {
    int kept = 0;
    for (survey::Mark& m : s.marks) {
        if (m.station != station) continue;
        survey::Feature copy = *find(s.features, m.feature);
        if (copy.kind == FeatureKind::Corner && kept < keep) {
            ++kept;
            continue;
        }
        copy.id += "0000";
        copy.name = "lonely " + copy.name;
        m.feature = copy.id;
        s.features.push_back(copy);
    }
}

/// Leaves `keep` corners marked in a photograph.
void leaveFew(Survey& s, const survey::Id& station, int keep) {
    int kept = 0;
    std::erase_if(s.marks, [&](const survey::Mark& m) {
        return m.station == station &&
               (find(s.features, m.feature)->kind != FeatureKind::Corner || ++kept > keep);
    });
}

const survey::Station* lastOf(const Survey& s, bool oblique) {
    const survey::Station* found = nullptr;
    for (const survey::Station& st : s.stations)
        if ((st.view == View::Oblique) == oblique && st.view != View::Top) found = &st;
    return found;
}

/// One level seen from the top only, with no reading on it or on its features.
std::string onlyFromTop(Survey& s) {
    const survey::Level level = s.levels.back();
    const survey::Id top = s.stations.front().id;
    const auto onIt = [&](const survey::Id& id) {
        const survey::Feature* f = find(s.features, id);
        return id == level.id || (f && f->level == level.id);
    };
    std::erase_if(s.marks, [&](const auto& m) { return m.station != top && onIt(m.feature); });
    std::erase_if(s.readings,
                  [&](const auto& r) { return std::any_of(r.objects.begin(), r.objects.end(), onIt); });
    return level.name;
}

/// A corner free in space that one photograph shows.
std::string freeCorner(Survey& s) {
    survey::Feature* corner = nullptr;
    for (survey::Feature& f : s.features)
        if (f.kind == FeatureKind::Corner &&
            std::any_of(s.marks.begin(), s.marks.end(), [&](const auto& m) { return m.feature == f.id; }))
            corner = &f;
    if (!corner) return {};
    bool first = true;
    std::erase_if(s.marks, [&](const survey::Mark& m) {
        return m.feature == corner->id && !std::exchange(first, false);
    });
    std::erase_if(s.readings, [&](const auto& r) {
        return std::find(r.objects.begin(), r.objects.end(), corner->id) != r.objects.end();
    });
    corner->level.clear();
    corner->name = "the loose corner";
    return corner->name;
}

/// Empty `named` when this survey has nothing of the kind to lose.
Unsound spoil(int kind, Drawn drawn) {
    Unsound u{std::move(drawn), "", {kNotConnected, kRankDefect}, ""};
    Survey& s = u.drawn.survey;
    const survey::Station *principal = lastOf(s, false), *oblique = lastOf(s, true);
    switch (kind) {
        case 0:
            u.missing = "a photograph that shares nothing";
            u.codes = {kNotConnected};
            if (oblique) disconnect(s, oblique->id, 0), u.named = oblique->name;
            break;
        case 1:
            u.missing = "no length at all";
            u.codes = {kRankDefect};
            u.named = "scale";
            s.readings.clear();
            break;
        case 2:
            u.missing = "a level that only the top shows";
            u.codes = {kRankDefect};
            if (s.levels.size() > 1) u.named = onlyFromTop(s);
            break;
        case 3:
            u.missing = "an oblique photograph with two marks";
            if (oblique) leaveFew(s, oblique->id, 2), u.named = oblique->name;
            break;
        case 4:
            u.missing = "a square photograph with one mark";
            if (principal) leaveFew(s, principal->id, 1), u.named = principal->name;
            break;
        case 5:
            u.missing = "a free corner that one photograph shows";
            u.codes = {kRankDefect};
            u.named = freeCorner(s);
            break;
        case 6:
            u.missing = "a photograph that shares one corner";
            if (oblique) disconnect(s, oblique->id, 1), u.named = oblique->name;
            break;
    }
    return u;
}

}  // namespace

Unsound randomUnsound(int kind, std::uint64_t seed) {
    for (std::uint64_t attempt = 0;; ++attempt) {
        Unsound u = spoil(kind, randomSound(Hard::Plain, 100000 + seed * 100 + attempt));
        if (!u.named.empty()) return u;
    }
}

}  // namespace trammel::campaign
