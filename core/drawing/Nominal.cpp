// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/drawing/Nominal.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <set>

namespace trammel::drawing {
namespace {

using survey::FeatureKind;

struct Rounder {
    double step;
    std::string words{};
    bool vanished = false;

    double next(double value) const { return step * std::round(value / step); }
    void note(const char* what, double from, double to, double plusMinus) {
        if (std::abs(to - from) < 5e-7) return;
        const bool beyond = plusMinus > 0 && std::abs(to - from) > plusMinus;
        words += fmt::format("{}{} {:.3f} to {:.3f} ({:+.3f}{})", words.empty() ? "" : ", ", what, from, to,
                             to - from, beyond ? fmt::format(", beyond its ±{:.3f}", plusMinus) : "");
    }
    void place(const char* what, double& value) {
        const double to = next(value);
        note(what, value, to, 0.0);
        value = to;
    }
    void size(const char* what, double& radius, double factor, double plusMinus) {
        const double to = next(factor * radius) / factor;
        vanished = vanished || !(to > 0);
        note(what, factor * radius, factor * to, plusMinus);
        radius = to;
    }
};

void roundEdge(adjust::FeatureGeometry& g, Rounder& r) {
    const Vec2 u = g.direction.normalized();
    const bool alongX = std::abs(u.y()) < kAlongAxis_rad, alongY = std::abs(u.x()) < kAlongAxis_rad;
    if (!alongX && !alongY) return;
    const double turn = alongX ? std::abs(u.y()) : std::abs(u.x());
    const int axis = alongX ? 1 : 0;  // the coordinate that is the same all along
    if (turn > 1e-9)
        r.words +=
            fmt::format("{}turned by {:.3f}°", r.words.empty() ? "" : ", ", turn * 180 / 3.14159265358979);
    g.direction = alongX ? Vec2(std::copysign(1.0, u.x()), 0) : Vec2(0, std::copysign(1.0, u.y()));
    double at = g.point[axis];
    r.place(axis == 0 ? "x" : "y", at);
    g.point[axis] = g.spanFrom[axis] = g.spanTo[axis] = at;
}

void roundOne(const survey::Feature& f, double plusMinus, adjust::FeatureGeometry& g, Rounder& r) {
    switch (f.kind) {
        case FeatureKind::Hole:
        case FeatureKind::Arc: {
            const Vec2 before = g.point.head<2>();
            r.place("x", g.point.x());
            r.place("y", g.point.y());
            const bool hole = f.kind == FeatureKind::Hole;
            r.size(hole ? "diameter" : "radius", g.radius, hole ? 2.0 : 1.0, plusMinus);
            const Vec2 shift = g.point.head<2>() - before;
            g.spanFrom += shift, g.spanTo += shift;
            break;
        }
        case FeatureKind::Corner:
            r.place("x", g.point.x());
            r.place("y", g.point.y());
            break;
        case FeatureKind::Edge:
            roundEdge(g, r);
            break;
        case FeatureKind::Slot:
            r.size("width", g.radius, 2.0, plusMinus);
            break;
        case FeatureKind::Curve:
            break;
    }
}

}  // namespace

Result<std::vector<std::string>> roundToNominal(const survey::Survey& survey, double step,
                                                const PlusMinusOf& plusMinus, Features& features) {
    if (!std::isfinite(step) || step <= 0 || step > 10)
        return Error{ErrorCode::BadValue, fmt::format("{} mm is no step to round to", step), "nominal sizes",
                     "give one above 0 and up to 10 mm"};
    std::set<survey::Id> used;
    for (const survey::Outline& o : survey.outlines) used.insert(o.chain.begin(), o.chain.end());
    std::vector<std::string> sentences;
    for (const survey::Feature& f : survey.features) {
        const auto it = features.find(f.id);
        if (it == features.end() || (f.kind != FeatureKind::Hole && !used.count(f.id))) continue;
        double known = 0.0;
        if (plusMinus && (f.kind == FeatureKind::Hole || f.kind == FeatureKind::Arc)) {
            survey::Dimension size;
            size.quantity =
                f.kind == FeatureKind::Hole ? survey::Quantity::Diameter : survey::Quantity::Radius;
            size.objects = {f.id};
            known = plusMinus(size).value_or(0.0);
        }
        Rounder r{step};
        roundOne(f, known, it->second, r);
        if (r.vanished)
            return Error{ErrorCode::Refused, fmt::format("would vanish when rounded to {} mm", step),
                         describe(survey, f.id), "choose a smaller step"};
        if (!r.words.empty()) sentences.push_back(describe(survey, f.id) + ": " + r.words);
    }
    if (sentences.empty())
        sentences.push_back(fmt::format("rounded to nominal sizes in steps of {} mm: nothing moved", step));
    else
        sentences.insert(sentences.begin(), fmt::format("rounded to nominal sizes in steps of {} mm, so that "
                                                        "the drawing departs from what was measured",
                                                        step));
    return sentences;
}

}  // namespace trammel::drawing
