// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/ConditionTerm.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>

#include "core/adjust/EdgeDistance.h"
#include "core/adjust/Index.h"

namespace trammel::adjust {
namespace {

using survey::ConditionKind;
using survey::FeatureKind;
using Object = QuantityTerm::Object;

struct Evaluation {
    const ConditionTerm& term;
    const State& state;
    const Columns& columns;
    std::vector<QuantityValue> out{};

    GradientBuilder builder() const { return {state, columns}; }
    int index(std::size_t i) const { return term.objects[i].index; }
    const FeatureState& feature(std::size_t i) const { return state.features[at(index(i))]; }
    Vec3 point(std::size_t i) const { return state.point(feature(i)); }
    static bool isEdge(const FeatureState& f) { return f.kind == FeatureKind::Edge; }

    /// Σ share_i · (direction · point_i), all along one fixed direction.
    void along(const Vec3& direction, const std::vector<std::pair<std::size_t, double>>& shares) {
        GradientBuilder b = builder();
        for (const auto& [i, share] : shares) {
            b.out.value += share * direction.dot(point(i));
            b.addPoint(index(i), share * direction);
        }
        out.push_back(std::move(b.out));
    }
    void inPlan(const std::vector<std::pair<std::size_t, double>>& shares) {
        along(Vec3::UnitX(), shares);
        along(Vec3::UnitY(), shares);
    }

    /// Direction u of the first edge against a direction fixed to the second.
    void directions() {
        const bool inSpace = feature(0).level < 0 || feature(1).level < 0;
        const EdgeDirection e(state, feature(0), inSpace), f(state, feature(1), inSpace);
        const double length = std::min(e.length, f.length);
        const auto product = [&](const Vec3& n, const Vec3& byF) {
            GradientBuilder b = builder();
            b.out.value = length * e.unit.dot(n);
            addDirection(b, index(0), e, length * n);
            addDirection(b, index(1), f, length * byF);
            out.push_back(std::move(b.out));
        };
        if (term.kind == ConditionKind::Perpendicular) {
            product(f.unit, e.unit);
            return;
        }
        // n1 is square to f and stays square to the z axis (to x where f runs along z); n2 completes them. As
        // f turns by δf they follow by −f (n·δf) and a spin about f that keeps n1 where it is told to stay.
        Vec3 n1(-f.unit.y(), f.unit.x(), 0.0);
        Eigen::Index still = 2;
        if (inSpace && n1.norm() < 0.1) n1 = f.unit.cross(Vec3::UnitX()), still = 0;
        n1.normalize();
        const Vec3 n2 = f.unit.cross(n1);
        const double spin = inSpace ? f.unit[still] / n2[still] : 0.0;  // per n1·δf
        product(n1, (e.unit.dot(n2) * spin - e.unit.dot(f.unit)) * n1);
        if (inSpace) product(n2, -e.unit.dot(f.unit) * n2 - e.unit.dot(n1) * spin * n1);
    }

    void radii() {
        for (std::size_t i = 1; i < term.objects.size(); ++i) {
            GradientBuilder b = builder();
            b.out.value = std::abs(feature(i).r) - std::abs(feature(0).r);
            b.addRadius(index(i), 1.0);
            b.addRadius(index(0), -1.0);
            out.push_back(std::move(b.out));
        }
    }

    void heights() {
        for (std::size_t i = 1; i < term.objects.size(); ++i) {
            // Not the depth, which has no sign: a corner of |x| at zero would have no slope.
            const QuantityTerm from{survey::Quantity::Height, {term.objects[0]}},
                to{survey::Quantity::Height, {term.objects[i]}};
            QuantityValue d = evaluate(to, state, columns);
            const QuantityValue lower = evaluate(from, state, columns);
            d.value -= lower.value;
            for (const auto& [column, by] : lower.gradient) d.gradient.emplace_back(column, -by);
            out.push_back(std::move(d));
        }
    }

    void symmetrical() {
        if (!isEdge(feature(2))) {
            inPlan({{0, 0.5}, {1, 0.5}, {2, -1.0}});
            return;
        }
        const EdgeDirection axis(state, feature(2), false);
        if (isEdge(feature(0))) {
            for (const double tau : {0.0, 1.0}) {
                GradientBuilder b = builder();
                const Vec3 P = curveAt(state, feature(2), tau).X;
                for (std::size_t i = 0; i < 2; ++i) {
                    const EdgeDirection e(state, feature(i), false);
                    const double share = e.unit.dot(axis.unit) < 0 ? -1.0 : 1.0;
                    b.addAt(index(2), tau, addPlanDistance(b, index(i), P, share));
                }
                out.push_back(std::move(b.out));
            }
            return;
        }
        GradientBuilder middle = builder();
        const Vec3 by = addPlanDistance(middle, index(2), (point(0) + point(1)) / 2, 1.0);
        middle.addPoint(index(0), by / 2);
        middle.addPoint(index(1), by / 2);
        out.push_back(std::move(middle.out));
        GradientBuilder square = builder();
        Vec3 d = point(1) - point(0);
        d.z() = 0.0;
        square.out.value = d.dot(axis.unit);
        square.addPoint(index(1), axis.unit);
        square.addPoint(index(0), -axis.unit);
        addDirection(square, index(2), axis, d);
        out.push_back(std::move(square.out));
    }

    void pitch() {
        const std::size_t n = term.objects.size();
        if (!(term.step > 0)) {
            for (std::size_t i = 1; i + 1 < n; ++i) inPlan({{i - 1, 1.0}, {i, -2.0}, {i + 1, 1.0}});
            return;
        }
        for (std::size_t i = 1; i < n; ++i) {
            GradientBuilder b = builder();
            Vec3 d = point(i) - point(i - 1);
            d.z() = 0.0;
            b.out.value = d.norm() - term.step;
            b.addPoint(index(i), d.normalized());
            b.addPoint(index(i - 1), -d.normalized());
            out.push_back(std::move(b.out));
        }
        for (std::size_t i = 1; i + 1 < n; ++i) {
            // Distance of a middle point from the chord of its neighbours; the chord turns with them.
            Vec3 chord = point(i + 1) - point(i - 1);
            chord.z() = 0.0;
            const Vec3 u = chord.normalized(), across(-u.y(), u.x(), 0.0);
            const Vec3 off = point(i) - (point(i - 1) + point(i + 1)) / 2;
            const double turn = off.dot(u) / chord.norm();
            GradientBuilder b = builder();
            b.out.value = off.dot(across);
            b.addPoint(index(i), across);
            b.addPoint(index(i - 1), (turn - 0.5) * across);
            b.addPoint(index(i + 1), (-turn - 0.5) * across);
            out.push_back(std::move(b.out));
        }
    }

    void tangent() {
        const std::size_t edge = isEdge(feature(0)) ? 0 : 1, round = 1 - edge;
        GradientBuilder b = builder();
        const Vec3 by = addDistance(b, index(edge), point(round), 1.0, false);
        b.addPoint(index(round), by);
        b.out.value -= std::abs(feature(round).r);
        b.addRadius(index(round), -1.0);
        out.push_back(std::move(b.out));
    }
};

}  // namespace

std::vector<QuantityValue> evaluate(const ConditionTerm& term, const State& state, const Columns& columns) {
    Evaluation e{term, state, columns};
    switch (term.kind) {
        case ConditionKind::Parallel:
        case ConditionKind::Perpendicular:
            e.directions();
            break;
        case ConditionKind::Concentric:
            for (std::size_t i = 1; i < term.objects.size(); ++i) e.inPlan({{i, 1.0}, {0, -1.0}});
            break;
        case ConditionKind::Equal:
            e.radii();
            break;
        case ConditionKind::Coplanar:
            e.heights();
            break;
        case ConditionKind::Symmetrical:
            e.symmetrical();
            break;
        case ConditionKind::Pitch:
            e.pitch();
            break;
        case ConditionKind::Tangent:
            e.tangent();
            break;
    }
    return std::move(e.out);
}

Result<ConditionTerm> resolve(const survey::Survey& s, const survey::Condition& c) {
    ConditionTerm term;
    term.kind = c.kind;
    term.step = c.kind == ConditionKind::Pitch ? c.measured.value : 0.0;
    for (const survey::Id& id : c.objects) {
        const auto object = resolveObject(s, id, describe(s, c.id));
        if (!object) return object.error();
        term.objects.push_back(*object);
    }
    return term;
}

}  // namespace trammel::adjust
