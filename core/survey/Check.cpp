// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/survey/Check.h"

#include <fmt/core.h>

#include <algorithm>
#include <iterator>
#include <map>
#include <type_traits>
#include <unordered_map>
#include <utility>

#include "core/survey/Lists.h"
#include "core/survey/ObjectCheck.h"
#include "core/survey/SamePlace.h"

namespace trammel::survey {
namespace {

void append(std::vector<Error>& errors, std::vector<Error> more) {
    errors.insert(errors.end(), std::make_move_iterator(more.begin()), std::make_move_iterator(more.end()));
}

/// For the many marks: no search for each. Of objects that share an id the first counts, as find() has it.
template <class T>
std::unordered_map<Id, const T*> byId(const std::vector<T>& list) {
    std::unordered_map<Id, const T*> map;
    for (const T& item : list) map.emplace(item.id, &item);
    return map;
}

template <class T>
const T* lookUp(const std::unordered_map<Id, const T*>& map, const Id& id) {
    const auto it = map.find(id);
    return it == map.end() ? nullptr : it->second;
}

void checkIds(std::vector<Error>& errors, const Survey& s) {
    std::unordered_map<Id, int> uses;
    std::map<Id, int> wrong;  // in the order of the ids
    forEachId(s, [&](const Id& id) {
        if (const int n = ++uses[id]; n > 1 || id.empty()) wrong[id] = n;
    });
    for (const auto& [id, n] : wrong) {
        if (id.empty())
            errors.push_back({ErrorCode::BadValue,
                              fmt::format("{} object{} of the survey {} no id", n, n == 1 ? "" : "s",
                                          n == 1 ? "has" : "have"),
                              "", "give each an id of its own"});
        else if (n > 1)
            errors.push_back({ErrorCode::BadValue, fmt::format("{} objects share the id {}", n, id),
                              describe(s, id), "give each an id of its own"});
    }
}

/// Whether some point of b lies beside the course of a and not beyond its ends: two marks of an edge or arc
/// may show two parts of it, but not the same part.
bool shareStretch(const Mark& a, const Mark& b) {
    if (a.points.size() < 2) return true;
    for (const MarkPoint& p : b.points) {
        double nearest = 1e300;
        bool beside = false;
        for (std::size_t i = 1; i < a.points.size(); ++i) {
            const Vec2 from = a.points[i - 1].px, way = a.points[i].px - from;
            const double t = way.dot(p.px - from) / way.squaredNorm();
            const double apart = (p.px - from - std::clamp(t, 0.0, 1.0) * way).norm();
            if (apart >= nearest) continue;
            nearest = apart;
            beside = (t > 1e-6 || i > 1) && (t < 1.0 - 1e-6 || i + 1 < a.points.size());
        }
        if (beside) return true;
    }
    return false;
}

/// A feature counts once in a photograph: marked twice, it would weigh double and hide its own scatter.
void checkTwice(std::vector<Error>& errors, const Survey& s) {
    std::map<std::pair<Id, Id>, std::vector<const Mark*>> seen;
    const auto features = byId(s.features);
    for (const Mark& m : s.marks) {
        if (m.excluded) continue;
        std::vector<const Mark*>& before = seen[{m.station, m.feature}];
        const FeatureKind kind = lookUp(features, m.feature)->kind;
        const bool parts =
            kind == FeatureKind::Edge || kind == FeatureKind::Arc || kind == FeatureKind::Curve;
        const bool twice = std::any_of(before.begin(), before.end(), [&](const Mark* other) {
            return !parts || shareStretch(*other, m) || shareStretch(m, *other);
        });
        before.push_back(&m);
        if (twice)
            errors.push_back(
                {ErrorCode::BadValue,
                 fmt::format("is marked twice in {}, and would count twice", describe(s, m.station)),
                 describe(s, m.feature), "remove or exclude one of the two marks"});
    }
}

void checkPlaces(std::vector<Error>& errors, const Survey& s) {
    for (const auto& [a, b] : featuresAtOnePlace(s))
        errors.push_back(
            {ErrorCode::BadValue,
             fmt::format("lies at the place of {} in every photograph that shows both", describe(s, b)),
             describe(s, a), "remove one of them, or mark it where it belongs"});
}

}  // namespace

std::vector<Error> check(const Survey& s) {
    std::vector<Error> errors;
    checkIds(errors, s);
    const auto stations = byId(s.stations);
    const auto features = byId(s.features);
    forEachList(s, [&](const auto& list) {
        for (const auto& item : list) {
            if constexpr (std::is_same_v<std::decay_t<decltype(item)>, Mark>)
                append(errors,
                       checkMark(s, item, lookUp(stations, item.station), lookUp(features, item.feature)));
            else
                append(errors, checkObject(s, item));
        }
    });
    for (const Mark& m : s.marks) append(errors, checkPoints(s, m, lookUp(features, m.feature)));
    append(errors, checkContradictions(s));
    append(errors, checkObject(s, s.datum));
    if (errors.empty()) checkTwice(errors, s);
    if (errors.empty()) checkPlaces(errors, s);  // a comparison of unsound marks would say the same twice
    return errors;
}

}  // namespace trammel::survey
