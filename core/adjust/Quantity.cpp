// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/Quantity.h"

#include <Eigen/Geometry>
#include <cmath>
#include <numbers>

#include "core/adjust/EdgeDistance.h"
#include "core/survey/QuantityCheck.h"

namespace trammel::adjust {
namespace {

using survey::FeatureKind;
using survey::Quantity;
using Object = QuantityTerm::Object;

bool isEdge(const FeatureState& f) { return survey::isEdge(f.kind); }

/// Point to point, in space.
void pointPoint(GradientBuilder& b, int from, int to) {
    const Vec3 d = b.state().point(b.feature(to)) - b.state().point(b.feature(from));
    b.out.value = d.norm();
    const Vec3 u = b.out.value > 0 ? Vec3(d / b.out.value) : Vec3::UnitX();
    b.addPoint(to, u);
    b.addPoint(from, -u);
}

void middleToEdge(GradientBuilder& b, int from, int to, double share, bool inSpace) {
    const FeatureState& f = b.feature(from);
    const Vec3 by = addDistance(b, to, b.state().point(f), share, inSpace);
    if (isEdge(f))
        b.addAt(from, 0.5, by);
    else
        b.addPoint(from, by);
}

void distance(GradientBuilder& b, int i, int k) {
    const FeatureState &f = b.feature(i), &g = b.feature(k);
    const auto free = [](const FeatureState& x) { return isEdge(x) && x.level < 0; };
    const bool inSpace = free(f) || free(g);
    if (isEdge(f) && isEdge(g)) {
        middleToEdge(b, i, k, 0.5, inSpace);
        middleToEdge(b, k, i, 0.5, inSpace);
    } else if (isEdge(f)) {
        middleToEdge(b, k, i, 1.0, inSpace);
    } else if (isEdge(g)) {
        middleToEdge(b, i, k, 1.0, inSpace);
    } else {
        pointPoint(b, i, k);
    }
}

/// Adds `share` radii as jaws with flats of width w find them: the flat bridges the curve, √(r² − w²/4).
void addFlattenedRadius(GradientBuilder& b, int i, double share, double flat) {
    const double r = std::abs(b.feature(i).r);
    // A flat wider than the hole does not go in; an iteration may still pass by such a radius.
    const bool fits = r * r - flat * flat / 4 > 0.01 * r * r;
    const double seat = fits ? std::sqrt(r * r - flat * flat / 4) : 0.1 * r;
    b.out.value += share * seat;
    b.addRadius(i, share * (fits ? r / seat : 0.1));
}

/// The sides of a slot are straight: there is nothing for a flat to bridge.
double flatOn(const FeatureState& f, double flat) { return f.kind == FeatureKind::Slot ? 0.0 : flat; }

void span(GradientBuilder& b, const QuantityTerm& t, double sign) {
    distance(b, t.objects[0].index, t.objects[1].index);
    for (const Object& o : t.objects)
        if (survey::hasRadius(b.feature(o.index).kind))
            addFlattenedRadius(b, o.index, sign, flatOn(b.feature(o.index), t.jawFlat));
}

/// Over the ends of a slot.
void length(GradientBuilder& b, const QuantityTerm& t) {
    const int i = t.objects[0].index;
    const FeatureState& f = b.feature(i);
    const Vec2 u = (f.b - f.a).normalized();
    const auto& c = b.columns().features[at(i)];
    b.out.value = (f.b - f.a).norm();
    for (std::size_t k = 0; k < 2; ++k) {
        b.add(c[k], -u[static_cast<Eigen::Index>(k)]);
        b.add(c[2 + k], u[static_cast<Eigen::Index>(k)]);
    }
    addFlattenedRadius(b, i, 2.0, t.jawFlat);
}

double height(const GradientBuilder& b, const Object& o) {
    return o.kind == Object::Kind::Level ? b.state().levels[at(o.index)] : b.state().z(b.feature(o.index));
}

void addHeight(GradientBuilder& b, const Object& o, double d) {
    if (o.kind == Object::Kind::Level)
        b.addLevel(o.index, d);
    else if (isEdge(b.feature(o.index)))
        b.addAt(o.index, 0.5, d * Vec3::UnitZ());
    else
        b.addPoint(o.index, d * Vec3::UnitZ());
}

void edgeAngle(GradientBuilder& b, int i, int k) {
    const bool inSpace = b.feature(i).level < 0 || b.feature(k).level < 0;
    const EdgeDirection e(b.state(), b.feature(i), inSpace), f(b.state(), b.feature(k), inSpace);
    const Vec3 &u = e.unit, &v = f.unit;
    const double sign = u.dot(v) < 0 ? -1.0 : 1.0, cosine = sign * u.dot(v), sine = u.cross(v).norm();
    b.out.value = std::atan2(sine, cosine);
    // The angle grows as either direction turns away from the other, in their common plane.
    const Vec3 awayU = sign * u * cosine - v, awayV = v * cosine - sign * u;
    const auto unit = [](const Vec3& x) {
        return x.norm() > 1e-15 ? Vec3(x.normalized()) : Vec3(Vec3::Zero());
    };
    addDirection(b, i, e, sign * unit(awayU));
    addDirection(b, k, f, unit(awayV));
}

/// At the second of three points.
void pointAngle(GradientBuilder& b, const QuantityTerm& t) {
    const auto point = [&](std::size_t k) { return b.state().point(b.feature(t.objects[k].index)); };
    const Vec3 p = point(0) - point(1), q = point(2) - point(1);
    b.out.value = std::atan2(p.cross(q).norm(), p.dot(q));
    const auto away = [](const Vec3& from, const Vec3& other) {
        const Vec3 u = from.normalized(), across = u * u.dot(other) - other;
        return across.norm() > 1e-15 ? Vec3(across.normalized() / from.norm()) : Vec3(Vec3::Zero());
    };
    const Vec3 byP = away(p, q), byQ = away(q, p);
    b.addPoint(t.objects[0].index, byP);
    b.addPoint(t.objects[2].index, byQ);
    b.addPoint(t.objects[1].index, -byP - byQ);
}

void tape(GradientBuilder& b, int station) {
    const State& state = b.state();
    const StationState& s = state.stations[at(station)];
    const Vec3 p = state.pose(s).t;
    const double m = std::exp(s.lnScale), far = p.norm();
    const auto& cs = b.columns().stations[at(station)];
    const auto& cg = b.columns().groups[at(s.group)];
    b.out.value = far - state.groups[at(s.group)].pupil;
    b.add(cs[3], -far);
    b.add(cg[0], -p.z() * p.z() / far);
    for (int k = 0; k < 2; ++k) {
        b.add(cs[at(4 + k)], p[k] / (m * far));
        b.add(cg[at(1 + k)], -p[k] / (m * far));
    }
    b.add(cg[8], -1.0);
}

}  // namespace

QuantityValue evaluate(const QuantityTerm& t, const State& state, const Columns& columns) {
    GradientBuilder b(state, columns);
    const Object& first = t.objects.front();
    const Object& last = t.objects.back();
    switch (t.quantity) {
        case Quantity::Distance:
            distance(b, first.index, last.index);
            break;
        case Quantity::InnerSpan:
            span(b, t, -1.0);
            break;
        case Quantity::OuterSpan:
            span(b, t, 1.0);
            break;
        case Quantity::Length:
            length(b, t);
            break;
        case Quantity::Diameter:
            addFlattenedRadius(b, first.index, 2.0, flatOn(b.feature(first.index), t.jawFlat));
            break;
        case Quantity::Radius:
            addFlattenedRadius(b, first.index, 1.0, 0.0);
            break;
        case Quantity::Depth: {
            const double d = height(b, last) - height(b, first), s = d < 0 ? -1.0 : 1.0;
            b.out.value = s * d;
            addHeight(b, last, s);
            addHeight(b, first, -s);
            break;
        }
        case Quantity::Height:
            b.out.value = height(b, first);
            addHeight(b, first, 1.0);
            break;
        case Quantity::OffsetX:
        case Quantity::OffsetY: {
            const Vec3 axis = t.quantity == Quantity::OffsetX ? Vec3::UnitX() : Vec3::UnitY();
            b.out.value = axis.dot(state.point(b.feature(last.index)) - state.point(b.feature(first.index)));
            b.addPoint(last.index, axis);
            b.addPoint(first.index, -axis);
            break;
        }
        case Quantity::Angle:
            if (t.objects.size() == 3)
                pointAngle(b, t);
            else
                edgeAngle(b, first.index, last.index);
            break;
        case Quantity::Tape:
            tape(b, first.index);
            break;
    }
    return b.out;
}

Result<QuantityTerm::Object> resolveObject(const survey::Survey& s, const survey::Id& id,
                                           const std::string& owner) {
    const auto index = [&id](const auto& list) {
        for (std::size_t i = 0; i < list.size(); ++i)
            if (list[i].id == id) return static_cast<int>(i);
        return -1;
    };
    if (const int f = index(s.features); f >= 0) return Object{Object::Kind::Feature, f};
    if (const int l = index(s.levels); l >= 0) return Object{Object::Kind::Level, l};
    if (const int st = index(s.stations); st >= 0) return Object{Object::Kind::Station, st};
    return Error{ErrorCode::NotFound, "refers to \"" + id + "\", which the survey does not hold", owner,
                 "choose its objects again"};
}

Result<QuantityTerm> resolve(const survey::Survey& s, Quantity quantity,
                             const std::vector<survey::Id>& objects, const survey::Id& owner) {
    QuantityTerm term;
    term.quantity = quantity;
    const std::string name = describe(s, owner);
    bool fits = survey::takesCount(quantity, objects.size());
    for (const survey::Id& id : objects) {
        const auto object = resolveObject(s, id, name);
        if (!object) return object.error();
        term.objects.push_back(*object);
        fits = fits && survey::takesObject(s, quantity, id, objects.size());
    }
    if (!fits)
        return Error{ErrorCode::BadValue, "has objects that do not go with its kind", name,
                     "choose its objects again"};
    return term;
}

}  // namespace trammel::adjust
