// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/Quantity.h"

#include <cmath>
#include <numbers>

namespace trammel::adjust {
namespace {

using survey::FeatureKind;
using survey::Quantity;

struct Evaluation {
    const State& state;
    const Columns& columns;
    QuantityValue out;

    const FeatureState& feature(const QuantityTerm::Object& o) const { return state.features[at(o.index)]; }

    void add(int column, double derivative) {
        if (column >= 0) out.gradient.emplace_back(column, derivative);
    }
    /// Adds the derivative by a feature's point (z through its level unless free).
    void addPoint(const QuantityTerm::Object& o, const Vec3& d) {
        const FeatureState& f = feature(o);
        const auto& c = columns.features[at(o.index)];
        add(c[0], d.x());
        add(c[1], d.y());
        if (f.level >= 0)
            add(columns.levels[at(f.level)], d.z());
        else
            add(c[2], d.z());
    }
    double height(const QuantityTerm::Object& o) const {
        return o.kind == QuantityTerm::Object::Kind::Level ? state.levels[at(o.index)] : state.z(feature(o));
    }
    void addHeight(const QuantityTerm::Object& o, double d) {
        if (o.kind == QuantityTerm::Object::Kind::Level)
            add(columns.levels[at(o.index)], d);
        else if (feature(o).level >= 0)
            add(columns.levels[at(feature(o).level)], d);
        else
            add(columns.features[at(o.index)][2], d);
    }

    void pointPoint(const QuantityTerm& t) {
        const Vec3 d = state.point(feature(t.objects[1])) - state.point(feature(t.objects[0]));
        out.value = d.norm();
        const Vec3 u = out.value > 0 ? Vec3(d / out.value) : Vec3::UnitX();
        addPoint(t.objects[1], u);
        addPoint(t.objects[0], -u);
    }
    /// |distance| in plan of point p (derivative handed to `byPoint`) from an edge, weighted by `share`.
    void fromEdge(const QuantityTerm::Object& edge, const Vec2& p, double share, Vec2& byPoint) {
        const FeatureState& e = feature(edge);
        const Vec2 along = e.b - e.a;
        const double length = along.norm();
        const Vec2 u = along / length, n(-u.y(), u.x());
        const double signedDistance = n.dot(p - e.a), s = (signedDistance < 0 ? -1.0 : 1.0) * share;
        const double tau = u.dot(p - e.a) / length;
        out.value += s * signedDistance;
        byPoint = s * n;
        // To first order the line at τ moves by (1 − τ) δa + τ δb along n: the distance shrinks by as much.
        add(columns.features[at(edge.index)][0], -s * (1 - tau));
        add(columns.features[at(edge.index)][1], -s * tau);
    }
    void pointEdge(const QuantityTerm::Object& point, const QuantityTerm::Object& edge) {
        Vec2 by;
        fromEdge(edge, feature(point).p.head<2>(), 1.0, by);
        addPoint(point, {by.x(), by.y(), 0.0});
    }
    void halfEdgeEdge(const QuantityTerm::Object& from, const QuantityTerm::Object& to) {
        const FeatureState& f = feature(from);
        const Vec2 u = (f.b - f.a).normalized(), n(-u.y(), u.x());
        Vec2 by;
        fromEdge(to, (f.a + f.b) / 2, 0.5, by);
        add(columns.features[at(from.index)][0], by.dot(n) / 2);
        add(columns.features[at(from.index)][1], by.dot(n) / 2);
    }
    void distance(const QuantityTerm& t) {
        const bool edge0 = feature(t.objects[0]).kind == FeatureKind::Edge;
        const bool edge1 = feature(t.objects[1]).kind == FeatureKind::Edge;
        if (edge0 && edge1) {
            halfEdgeEdge(t.objects[0], t.objects[1]);
            halfEdgeEdge(t.objects[1], t.objects[0]);
        } else if (edge0) {
            pointEdge(t.objects[1], t.objects[0]);
        } else if (edge1) {
            pointEdge(t.objects[0], t.objects[1]);
        } else {
            pointPoint(t);
        }
    }
    void angle(const QuantityTerm& t) {
        const FeatureState &e = feature(t.objects[0]), &f = feature(t.objects[1]);
        const Vec2 u = e.b - e.a, v = f.b - f.a;
        double turn = std::atan2(u.x() * v.y() - u.y() * v.x(), u.dot(v));  // from u to v, −π..π
        double sign = 1.0;
        if (turn < 0) turn = -turn, sign = -1.0;
        if (turn > std::numbers::pi / 2) turn = std::numbers::pi - turn, sign = -sign;
        out.value = turn;
        for (int k = 0; k < 2; ++k) {
            const double length = k == 0 ? u.norm() : v.norm(), s = k == 0 ? -sign : sign;
            add(columns.features[at(t.objects[at(k)].index)][0], -s / length);
            add(columns.features[at(t.objects[at(k)].index)][1], s / length);
        }
    }
    void tape(const QuantityTerm& t) {
        const int i = t.objects[0].index;
        const StationState& s = state.stations[at(i)];
        const Vec3 p = state.pose(s).t;
        const double m = std::exp(s.lnScale);
        out.value = p.norm();
        const auto& cs = columns.stations[at(i)];
        const auto& cg = columns.groups[at(s.group)];
        add(cs[3], -out.value);
        add(cg[0], -p.z() * p.z() / out.value);
        for (int k = 0; k < 2; ++k) {
            add(cs[at(4 + k)], p[k] / (m * out.value));
            add(cg[at(1 + k)], -p[k] / (m * out.value));
        }
    }
};

}  // namespace

QuantityValue evaluate(const QuantityTerm& t, const State& state, const Columns& columns) {
    Evaluation e{state, columns, {}};
    switch (t.quantity) {
        case Quantity::Distance:
            e.distance(t);
            break;
        case Quantity::Diameter:
        case Quantity::Radius: {
            // A circle with r < 0 is the same circle half a turn on; an iteration may end there.
            const double r = e.feature(t.objects[0]).r;
            const double share = (t.quantity == Quantity::Diameter ? 2.0 : 1.0) * (r < 0 ? -1.0 : 1.0);
            e.out.value = share * r;
            e.add(columns.features[at(t.objects[0].index)][2], share);
            break;
        }
        case Quantity::Depth: {
            const double d = e.height(t.objects[1]) - e.height(t.objects[0]), s = d < 0 ? -1.0 : 1.0;
            e.out.value = s * d;
            e.addHeight(t.objects[1], s);
            e.addHeight(t.objects[0], -s);
            break;
        }
        case Quantity::Height:
            e.out.value = e.height(t.objects[0]);
            e.addHeight(t.objects[0], 1.0);
            break;
        case Quantity::OffsetX:
        case Quantity::OffsetY: {
            const int k = t.quantity == Quantity::OffsetX ? 0 : 1;
            e.out.value = e.feature(t.objects[1]).p[k] - e.feature(t.objects[0]).p[k];
            e.addPoint(t.objects[1], Vec3::Unit(k));
            e.addPoint(t.objects[0], -Vec3::Unit(k));
            break;
        }
        case Quantity::Angle:
            e.angle(t);
            break;
        case Quantity::Tape:
            e.tape(t);
            break;
    }
    return e.out;
}

Result<QuantityTerm> resolve(const survey::Survey& s, Quantity quantity,
                             const std::vector<survey::Id>& objects, const survey::Id& owner) {
    QuantityTerm term;
    term.quantity = quantity;
    const std::string name = describe(s, owner);
    const auto index = [](const auto& list, const survey::Id& id) {
        for (std::size_t i = 0; i < list.size(); ++i)
            if (list[i].id == id) return static_cast<int>(i);
        return -1;
    };
    using Kind = QuantityTerm::Object::Kind;
    for (const survey::Id& id : objects) {
        if (const int f = index(s.features, id); f >= 0)
            term.objects.push_back({Kind::Feature, f});
        else if (const int l = index(s.levels, id); l >= 0)
            term.objects.push_back({Kind::Level, l});
        else if (const int st = index(s.stations, id); st >= 0)
            term.objects.push_back({Kind::Station, st});
        else
            return Error{ErrorCode::NotFound, "refers to \"" + id + "\", which the survey does not hold",
                         name, "choose its objects again"};
    }
    const bool one = quantity == Quantity::Diameter || quantity == Quantity::Radius ||
                     quantity == Quantity::Height || quantity == Quantity::Tape;
    bool fits = term.objects.size() == (one ? 1U : 2U);
    for (const auto& o : term.objects) {
        const bool isFeature = o.kind == Kind::Feature;
        const FeatureKind kind = isFeature ? s.features[at(o.index)].kind : FeatureKind::Corner;
        const bool circle = isFeature && (kind == FeatureKind::Hole || kind == FeatureKind::Arc);
        const bool edge = isFeature && kind == FeatureKind::Edge;
        switch (quantity) {
            case Quantity::Distance:
                fits = fits && isFeature;
                break;
            case Quantity::Diameter:
            case Quantity::Radius:
                fits = fits && circle;
                break;
            case Quantity::Depth:
            case Quantity::Height:
                fits = fits && o.kind != Kind::Station;
                break;
            case Quantity::OffsetX:
            case Quantity::OffsetY:
                fits = fits && isFeature && !edge;
                break;
            case Quantity::Angle:
                fits = fits && edge;
                break;
            case Quantity::Tape:
                fits = fits && o.kind == Kind::Station;
                break;
        }
    }
    if (!fits)
        return Error{ErrorCode::BadValue, "has objects that do not go with its kind", name,
                     "choose its objects again"};
    return term;
}

}  // namespace trammel::adjust
