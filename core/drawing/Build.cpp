// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/drawing/Build.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "core/drawing/Dimensions.h"
#include "core/drawing/Kerf.h"
#include "core/drawing/Layout.h"
#include "core/drawing/Nesting.h"
#include "core/drawing/Nominal.h"

namespace trammel::drawing {
namespace {

using survey::FeatureKind;
using survey::OutlinePurpose;

Error error(const std::string& object, const std::string& what, const std::string& remedy,
            ErrorCode code = ErrorCode::BadValue) {
    return {code, what, object, remedy};
}

/// The features as the shown face has them. Mirroring swaps the ends of a span, which run anticlockwise.
Features shown(const Features& features, Face face) {
    Features out = features;
    if (face == Face::Top) return out;
    for (auto& [id, g] : out) {
        g.point.x() = -g.point.x();
        g.direction.x() = -g.direction.x();
        g.spanFrom.x() = -g.spanFrom.x();
        g.spanTo.x() = -g.spanTo.x();
        std::swap(g.spanFrom, g.spanTo);
        for (Vec3& p : g.course) p.x() = -p.x();
    }
    return out;
}

Result<void> addChains(const survey::Survey& survey, const Features& features, const Options& options,
                       Drawing& d) {
    for (const survey::Outline& o : survey.outlines) {
        const std::string name = describe(survey, o.id);
        if (!find(survey.levels, o.level))
            return error(name, "has no level", "choose the level it lies in", ErrorCode::NotFound);
        if (isDrilled(survey, o)) continue;
        auto built = buildChain(survey, o, features, options.chain);
        if (!built) return built.error();
        geometry::Chain chain = built->chain;
        for (const auto& v : chain.vertices)
            if (!v.point.allFinite() || !std::isfinite(v.bulge))
                return error(name, "has a joint at no place", "mark its features again");
        if (!isSimple(chain, 1e-6))
            return error(name, "crosses or touches itself",
                         "check the order of its features and the marks of those at the crossing");
        const bool clockwise = o.purpose == OutlinePurpose::Cutout;
        if ((signedArea(chain) < 0) != clockwise) chain = reversed(chain);
        d.chains.push_back({o.id, o.name.empty() ? o.id : o.name, o.purpose, o.level, chain});
        d.remarks.insert(d.remarks.end(), built->remarks.begin(), built->remarks.end());
    }
    return {};
}

/// Holes one above the other share one cross, as large as the largest needs.
void addCentreMark(const CentreMark& mark, Drawing& d) {
    for (CentreMark& m : d.centreMarks)
        if ((m.centre - mark.centre).norm() < 0.05) {
            m.reach = std::max(m.reach, mark.reach);
            return;
        }
    d.centreMarks.push_back(mark);
}

Result<void> addHoles(const survey::Survey& survey, const Features& features, HoleChoice choice, Drawing& d) {
    std::set<survey::Id> used;
    for (const survey::Outline& o : survey.outlines)
        if (!isDrilled(survey, o)) used.insert(o.chain.begin(), o.chain.end());
    for (const survey::Feature& f : survey.features) {
        if (used.count(f.id)) continue;
        if (f.kind == FeatureKind::Slot || f.kind == FeatureKind::Curve)
            d.remarks.push_back(describe(survey, f.id) +
                                ": not drawn; make it a cutout or an outline to have it cut");
        if (f.kind != FeatureKind::Hole) continue;
        if (f.level.empty()) {
            d.remarks.push_back(describe(survey, f.id) + ": not drawn, it lies in no level");
            continue;
        }
        const auto it = features.find(f.id);
        if (it == features.end()) {
            d.remarks.push_back(describe(survey, f.id) + ": left out, it has no adjusted place");
            continue;
        }
        const auto& g = it->second;
        if (!g.point.allFinite() || !std::isfinite(g.radius) || !(g.radius > 0))
            return error(describe(survey, f.id), "has no usable shape", "mark its rim again");
        const geometry::Circle circle{g.point.head<2>(), g.radius};
        d.holes.push_back({f.id, f.name.empty() ? f.id : f.name, f.level, circle, true, ""});
    }
    decideHoles(survey, choice, d);
    for (const DrawnHole& h : d.holes)
        if (h.cut)
            addCentreMark({h.circle.centre, h.circle.radius + std::max(1.0, 0.25 * h.circle.radius)}, d);
    return {};
}

void addLevels(const survey::Survey& survey, const adjust::Solution& solution, Drawing& d) {
    std::set<survey::Id> used;
    for (const DrawnChain& c : d.chains) used.insert(c.level);
    for (const DrawnHole& h : d.holes) used.insert(h.level);
    for (const survey::Level& l : survey.levels) {
        if (!used.count(l.id)) continue;
        const auto z = solution.levels.find(l.id);
        d.levels.push_back(
            {l.id, l.name.empty() ? l.id : l.name, z == solution.levels.end() ? 0.0 : z->second});
    }
    for (const adjust::LevelShape& shape : solution.levelShapes)
        if (used.count(shape.level)) d.remarks.push_back("drawn as seen from above: " + shape.sentence);
    std::stable_sort(d.levels.begin(), d.levels.end(),
                     [](const DrawnLevel& a, const DrawnLevel& b) { return a.height < b.height; });
}

geometry::Bounds partBounds(const Drawing& d) {
    bool first = true;
    geometry::Bounds box;
    const auto add = [&](const geometry::Bounds& b) {
        box = first ? b : united(box, b);
        first = false;
    };
    for (const DrawnChain& c : d.chains) add(bounds(c.chain));
    for (const DrawnHole& h : d.holes) add(bounds(geometry::circleChain(h.circle)));
    return box;
}

void placeText(Drawing& d) {
    double y = d.extents.low.y() - 3 * d.textHeight;
    const double x = d.part.low.x();
    for (const std::string& line : noteLines(d)) {
        d.text.push_back({{x, y}, line});
        const Vec2 low(x, y - 0.4 * d.textHeight), high(x + textWidth(line, d.textHeight), y + d.textHeight);
        d.extents = united(d.extents, {low, high});
        y -= 1.8 * d.textHeight;
    }
}

}  // namespace

Result<Drawing> build(const survey::Survey& survey, const adjust::Solution& solution,
                      const Options& options) {
    Drawing d;
    d.title = survey.title;
    d.unit = survey.unit;
    d.note = survey.note;
    d.revision = options.revision;
    d.face = options.face;
    d.remarks = options.remarks;
    const Features features = shown(solution.features, options.face);
    Features drawn = features;  // dimensions stay those that were measured
    if (options.nominal_mm != 0.0) {
        const auto moved = roundToNominal(survey, options.nominal_mm, options.chain.plusMinus, drawn);
        if (!moved) return moved.error();
        d.remarks.insert(d.remarks.end(), moved->begin(), moved->end());
    }
    if (const auto ok = addChains(survey, drawn, options, d); !ok) return ok.error();
    if (const auto ok = addHoles(survey, drawn, options.holes, d); !ok) return ok.error();
    if (d.chains.empty() && d.holes.empty())
        return error("survey " + survey.title, "holds no outline and no hole to draw",
                     "put features into an outline, or mark a hole", ErrorCode::NotFound);
    if (std::none_of(d.chains.begin(), d.chains.end(),
                     [](const DrawnChain& c) { return c.purpose == OutlinePurpose::Outline; }))
        d.remarks.push_back("No outline is drawn: the survey has none");
    addLevels(survey, solution, d);
    if (const auto ok = checkNesting(d); !ok) return ok.error();
    if (const auto ok = growKeepOuts(d, options.clearance_mm); !ok) return ok.error();
    if (options.kerf.width_mm != 0.0)
        if (const auto ok = compensateKerf(d, options.kerf.width_mm, options.kerf.side); !ok)
            return ok.error();
    d.part = partBounds(d);
    d.textHeight = textHeightFor(d.part);
    addDimensions(survey, solution, features, d);
    d.extents = placeFigures(d);
    placeText(d);
    return d;
}

}  // namespace trammel::drawing
