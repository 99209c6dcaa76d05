// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <set>

#include "core/survey/Names.h"
#include "core/survey/ObjectCheck.h"
#include "core/survey/QuantityCheck.h"

namespace trammel::survey {
namespace {

struct Wanted {
    std::size_t least, most;
    std::string_view words;
};

constexpr std::size_t kAny = static_cast<std::size_t>(-1);

Wanted wanted(ConditionKind k) {
    switch (k) {
        case ConditionKind::Parallel:
        case ConditionKind::Perpendicular:
            return {2, 2, "two edges"};
        case ConditionKind::Concentric:
            return {2, kAny, "two or more holes or arcs"};
        case ConditionKind::Equal:
            return {2, kAny, "two or more holes, arcs or slots"};
        case ConditionKind::Coplanar:
            return {2, kAny, "two or more levels or features"};
        case ConditionKind::Symmetrical:
            return {3, 3, "two points or two edges, and the edge or point in their middle"};
        case ConditionKind::Pitch:
            return {2, kAny, "two or more corners, holes, arcs or slots in a row"};
        case ConditionKind::Tangent:
            return {2, 2, "an edge and an arc or hole"};
    }
    return {0, 0, ""};
}

/// Kinds that are each fit but do not go together.
bool together(const Condition& c, const Survey& s) {
    const auto kind = [&](std::size_t i) { return find(s.features, c.objects[i])->kind; };
    if (c.kind == ConditionKind::Tangent) return isEdge(kind(0)) != isEdge(kind(1));
    if (c.kind == ConditionKind::Symmetrical) {
        if (isEdge(kind(0)) != isEdge(kind(1))) return false;
        return !isEdge(kind(0)) || isEdge(kind(2));  // two edges lie about a third, not about a point
    }
    return true;
}

/// The flat level that an object lies on or is; empty where there is none.
Id flatLevelOf(const Survey& s, const Id& id) {
    const Feature* f = find(s.features, id);
    const Level* l = find(s.levels, f ? f->level : id);
    return l && l->form == LevelForm::Flat ? l->id : Id();
}

/// Two objects of a coplanar condition that lie at one height whatever is measured; empty where none do.
Id saysNothing(const Condition& c, const Survey& s) {
    std::set<Id> levels;
    for (const Id& id : c.objects)
        if (const Id level = flatLevelOf(s, id); !level.empty() && !levels.insert(level).second) return level;
    return {};
}

bool sameObjects(const Condition& a, const Condition& b) {
    return std::set<Id>(a.objects.begin(), a.objects.end()) ==
           std::set<Id>(b.objects.begin(), b.objects.end());
}

bool contradict(ConditionKind a, ConditionKind b) {
    const auto pair = [&](ConditionKind x, ConditionKind y) {
        return (a == x && b == y) || (a == y && b == x);
    };
    return pair(ConditionKind::Parallel, ConditionKind::Perpendicular);
}

}  // namespace

bool takesObject(const Survey& s, ConditionKind k, const Id& id) {
    const Feature* f = find(s.features, id);
    switch (k) {
        case ConditionKind::Parallel:
        case ConditionKind::Perpendicular:
            return f && isEdge(f->kind);
        case ConditionKind::Concentric:
            return f && isRound(f->kind);
        case ConditionKind::Equal:
            return f && hasRadius(f->kind);
        case ConditionKind::Coplanar:
            return f || find(s.levels, id);
        case ConditionKind::Symmetrical:
            return f && f->kind != FeatureKind::Curve;
        case ConditionKind::Pitch:
            return f && hasPoint(f->kind);
        case ConditionKind::Tangent:
            return f && (isEdge(f->kind) || isRound(f->kind));
    }
    return false;
}

std::vector<Error> checkObject(const Survey& s, const Condition& c) {
    Findings f(s, c.id);
    const Wanted w = wanted(c.kind);
    const bool known = c.kind == ConditionKind::Pitch && c.measured.value > 0.0;
    if (f.finite("value", c.measured.value) && c.measured.value < 0.0)
        f.add(fmt::format("step is {:g}, which is below zero", c.measured.value),
              "enter it in mm, or 0 for unknown");
    f.positive("σ", c.measured.sigma, kEnterSigma);
    if (c.measured.sigma > 0.0) f.plausible("σ", c.measured.sigma, kLength_mm);
    if (c.measured.value > 0.0) f.plausible("step", c.measured.value, kLength_mm);
    const std::size_t least = c.kind == ConditionKind::Pitch && !known ? 3 : w.least;
    if (c.objects.size() < least || c.objects.size() > w.most) {
        f.add(fmt::format("takes {}{}, but {} given", w.words,
                          least > w.least ? " (three where the step is unknown)" : "",
                          c.objects.size() == 1 ? "1 is" : fmt::format("{} are", c.objects.size())),
              "choose them again");
        return f.take();
    }
    bool fit = true;
    std::set<Id> seen;
    for (const Id& id : c.objects) {
        if (!holds(s, id)) {
            f.dangling("object", id);
            fit = false;
        } else if (!takesObject(s, c.kind, id)) {
            f.add(fmt::format("takes {}, and {} is none", w.words, describe(s, id)), "choose another");
            fit = false;
        }
        if (!seen.insert(id).second)
            f.add(fmt::format("names {} twice", describe(s, id)), "choose different ones");
    }
    if (fit && c.kind == ConditionKind::Coplanar)
        if (const Id level = saysNothing(c, s); !level.empty())
            f.add("says nothing: two of its objects lie on " + describe(s, level) + " already",
                  "leave one of them out");
    if (fit && !together(c, s)) f.add(fmt::format("takes {}", w.words), "choose them again");
    return f.take();
}

std::vector<Error> checkContradictions(const Survey& s) {
    std::vector<Error> errors;
    for (std::size_t i = 0; i < s.conditions.size(); ++i)
        for (std::size_t j = 0; j < i; ++j) {
            const Condition &a = s.conditions[i], &b = s.conditions[j];
            if (a.excluded || b.excluded || !sameObjects(a, b)) continue;
            const bool steps = a.kind == ConditionKind::Pitch && b.kind == a.kind && a.objects == b.objects &&
                               a.measured.value > 0 && b.measured.value > 0 &&
                               a.measured.value != b.measured.value;
            if (steps || contradict(a.kind, b.kind))
                errors.push_back({ErrorCode::BadValue,
                                  "contradicts " + describe(s, b.id) + " on the same objects",
                                  describe(s, a.id), "remove one of them"});
        }
    return errors;
}

}  // namespace trammel::survey
