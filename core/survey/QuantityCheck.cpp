// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/survey/QuantityCheck.h"

#include <numbers>
#include <set>

#include "core/survey/Lists.h"
#include "core/survey/Names.h"

namespace trammel::survey {
namespace {

/// What a quantity takes, in words.
std::string_view wanted(Quantity q) {
    switch (q) {
        case Quantity::Distance:
        case Quantity::InnerSpan:
        case Quantity::OuterSpan:
            return "two corners, edges, holes, arcs or slots";
        case Quantity::Diameter:
        case Quantity::Radius:
            return "one hole, arc or slot";
        case Quantity::Depth:
            return "two levels or features";
        case Quantity::Height:
            return "one level or feature";
        case Quantity::OffsetX:
        case Quantity::OffsetY:
            return "two corners, holes, arcs or slots";
        case Quantity::Angle:
            return "two edges or three points";
        case Quantity::Tape:
            return "one photograph";
        case Quantity::Length:
            return "one slot";
    }
    return "";
}

}  // namespace

bool takesCount(Quantity q, std::size_t count) {
    switch (q) {
        case Quantity::Diameter:
        case Quantity::Radius:
        case Quantity::Height:
        case Quantity::Tape:
        case Quantity::Length:
            return count == 1;
        case Quantity::Angle:
            return count == 2 || count == 3;
        default:
            return count == 2;
    }
}

bool takesObject(const Survey& s, Quantity q, const Id& id, std::size_t count) {
    const Feature* f = find(s.features, id);
    switch (q) {
        case Quantity::Distance:
        case Quantity::InnerSpan:
        case Quantity::OuterSpan:
            return f && f->kind != FeatureKind::Curve;
        case Quantity::Diameter:
        case Quantity::Radius:
            return f && hasRadius(f->kind);
        case Quantity::Depth:
        case Quantity::Height:
            return f || find(s.levels, id);
        case Quantity::OffsetX:
        case Quantity::OffsetY:
            return f && hasPoint(f->kind);
        case Quantity::Angle:
            return f && (count == 3 ? hasPoint(f->kind) : isEdge(f->kind));
        case Quantity::Tape:
            return find(s.stations, id) != nullptr;
        case Quantity::Length:
            return f && f->kind == FeatureKind::Slot;
    }
    return false;
}

bool holds(const Survey& s, const Id& id) { return countId(s, id) > 0; }

void checkObjects(Findings& f, const Survey& s, Quantity q, const std::vector<Id>& objects) {
    if (!takesCount(q, objects.size())) {
        f.add(fmt::format("a {} takes {}, but {} given", quantityName(q), wanted(q),
                          objects.size() == 1 ? "1 is" : fmt::format("{} are", objects.size())),
              "choose them again");
        return;
    }
    for (const Id& id : objects) {
        if (!holds(s, id))
            f.dangling("object", id);
        else if (!takesObject(s, q, id, objects.size()))
            f.add(fmt::format("a {} takes {}, and {} is none", quantityName(q), wanted(q), describe(s, id)),
                  "choose another");
    }
    std::set<Id> seen;
    for (const Id& id : objects)
        if (!seen.insert(id).second)
            f.add(fmt::format("names {} twice", describe(s, id)), "choose different ones");
}

void checkValue(Findings& f, Quantity q, double v, std::size_t objects) {
    switch (q) {
        case Quantity::Depth:
            f.notNegative("depth", v, "enter it without a sign");
            if (v > 0.0) f.plausible("depth", v, {0.0, kLength_mm.high});
            break;
        case Quantity::Angle: {
            const double most = objects == 3 ? std::numbers::pi : std::numbers::pi / 2;
            if (f.finite("angle", v) && (v < 0.0 || v > most + 1e-9))
                f.add(fmt::format("angle of {:g}° lies outside 0° to {:g}°", v * 180.0 / std::numbers::pi,
                                  most * 180.0 / std::numbers::pi),
                      objects == 3 ? "enter the angle at the second point"
                                   : "enter the smaller angle between the edges");
            break;
        }
        case Quantity::Height:
        case Quantity::OffsetX:
        case Quantity::OffsetY:
            if (f.finite("value", v)) f.plausible("value", v, {0.0, kLength_mm.high});
            break;
        default:
            f.positive("length", v, "enter the measured length or remove it");
            if (v > 0.0) f.plausible("length", v, kLength_mm);
            break;
    }
}

}  // namespace trammel::survey
