// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/mount/Schedule.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>

#include "core/adjust/AdviceCandidates.h"
#include "core/adjust/Course.h"
#include "core/adjust/Covariance.h"
#include "core/drawing/Format.h"
#include "core/geometry/Piece.h"
#include "core/survey/Names.h"

namespace trammel::mount {
namespace {

using drawing::fixed;
using production::HoleRow;
using survey::Id;
using survey::Quantity;

Error refuse(const std::string& object, const std::string& what, const std::string& remedy) {
    return {ErrorCode::BadValue, what, object, remedy};
}

const Id& levelOf(const survey::Survey& survey, const Id& feature) {
    return survey::find(survey.features, feature)->level;
}

/// The level with most holes; of two the one named first in the drawing.
std::vector<HoleRow> mostOnOneLevel(const survey::Survey& survey, const std::vector<HoleRow>& rows) {
    std::map<Id, int> count;
    for (const HoleRow& r : rows) ++count[levelOf(survey, r.feature)];
    Id best = levelOf(survey, rows.front().feature);
    for (const HoleRow& r : rows)
        if (count[levelOf(survey, r.feature)] > count[best]) best = levelOf(survey, r.feature);
    std::vector<HoleRow> out;
    for (const HoleRow& r : rows)
        if (levelOf(survey, r.feature) == best) out.push_back(r);
    return out;
}

Result<std::vector<HoleRow>> chosenHoles(const survey::Survey& survey, const std::vector<HoleRow>& rows,
                                         const std::vector<std::string>& names) {
    if (rows.empty())
        return refuse("mount schedule", "the survey has no hole that is cut", "put holes into an outline");
    if (names.empty()) return mostOnOneLevel(survey, rows);
    std::vector<HoleRow> out;
    for (const std::string& name : names) {
        // Names are the user's own and go before letters, which we gave.
        auto it = std::find_if(rows.begin(), rows.end(),
                               [&](const HoleRow& r) { return r.name == name || r.feature == name; });
        if (it == rows.end())
            it = std::find_if(rows.begin(), rows.end(), [&](const HoleRow& r) { return r.letter == name; });
        if (it == rows.end())
            return refuse("hole " + name, "is none of the holes that are cut",
                          "choose names or letters as trammel drawing lists them");
        const bool twice =
            std::any_of(out.begin(), out.end(), [&](const auto& r) { return r.feature == it->feature; });
        if (twice) return refuse("hole " + name, "is chosen twice", "name each hole once");
        if (levelOf(survey, it->feature) != levelOf(survey, out.empty() ? it->feature : out[0].feature))
            return refuse("hole " + name, "lies on another level than " + out[0].name,
                          "make a schedule for each level");
        out.push_back(*it);
    }
    return out;
}

constexpr double kFlush_mm = 0.1;  // a level so near to the underside, by stated thickness, is its face

/// The nearest thing in plan that is not the hole's own rim.
void findRoom(const drawing::Drawing& d, const survey::Survey& survey, const adjust::Solution& solution,
              double underside, MountHole& m) {
    m.room_mm = std::numeric_limits<double>::infinity();
    const Vec2 at = m.hole.centre;
    const auto near = [&](double distance, const std::string& what) {
        if (distance < m.room_mm) m.room_mm = distance, m.roomTo = what;
    };
    for (const drawing::DrawnChain& c : d.chains)
        for (const auto& piece : pieces(c.chain))
            near(distance(piece, at), std::string(survey::purposeName(c.purpose)) + " " + c.name);
    for (const drawing::DrawnHole& h : d.holes)
        if (h.cut && h.feature != m.hole.feature)
            near((h.circle.centre - at).norm() - h.circle.radius, "hole " + h.name);
    const Id& own = levelOf(survey, m.hole.feature);
    const auto onUnderside = [&](const Id& level) {
        const auto it = solution.levels.find(level);
        return it != solution.levels.end() && std::abs(it->second - underside) <= kFlush_mm;
    };
    const auto aside = adjust::besideThePart(survey);
    for (const survey::Feature& f : survey.features) {
        const auto g = solution.features.find(f.id);
        // What stands over the face, or hangs under it, keeps heads and standoffs off; the face's own
        // features and those of the underside are in the outlines.
        if (g == solution.features.end() || f.level == own || f.level.empty() || onUnderside(f.level) ||
            std::find(aside.begin(), aside.end(), f.id) != aside.end())
            continue;
        const auto course = adjust::courseOf(g->second, f.kind == survey::FeatureKind::Edge ? 1 : 48);
        for (std::size_t i = 0; i + 1 < course.size(); ++i)
            near(distance(geometry::Piece(course[i].head<2>(), course[i + 1].head<2>(), 0.0), at),
                 describe(survey, f.id));
    }
}

/// The highest and the lowest level of the part, from the holes' level and its underside.
void findHeights(const survey::Survey& survey, const adjust::Solution& solution, const Id& level,
                 double underside, const Id& undersideLevel, Schedule& s) {
    const auto aside = adjust::besideThePart(survey);
    const double z = solution.levels.at(level);
    const auto between = [&](const Id& a, const Id& b) {
        return production::plusMinusOf(solution, Quantity::Depth, {a, b}).value_or(0.0);
    };
    for (const survey::Level& l : survey.levels) {
        const auto it = solution.levels.find(l.id);
        if (it == solution.levels.end() || std::find(aside.begin(), aside.end(), l.id) != aside.end())
            continue;
        const std::string name = l.name.empty() ? l.id : l.name;
        if (it->second - z > std::max(s.over.value_mm, 1e-6))
            s.over = {it->second - z, between(level, l.id), name};
        if (underside - it->second > std::max(s.under.value_mm, 1e-6))
            s.under = {underside - it->second, between(undersideLevel.empty() ? level : undersideLevel, l.id),
                       name};
    }
}

double playOf(Counterpart c, const standard::Fastener& f) {
    if (c == Counterpart::Tapped) return 0.0;
    for (const auto& row : standard::clearanceHoles())
        if (std::string(row.thread) == f.thread)
            return 0.5 * (row.hole_mm[static_cast<std::size_t>(c) - 1] - f.size_mm);
    return 0.0;
}

/// The largest screw that the fine hole of ISO 273 would let through, or that the hole was made for.
const standard::Fastener* fastenerOf(const HoleRow& r) {
    if (!r.use.row) return nullptr;
    if (const auto* f = standard::fastenerFor(r.use.row->thread)) return f;
    const standard::Fastener* best = nullptr;
    for (const auto& f : standard::fasteners())
        if (f.size_mm < r.use.row->size_mm) best = &f;
    return best;
}

void findLengths(Schedule& s) {
    const standard::Fastener* f = nullptr;
    for (const MountHole& m : s.holes)
        if (m.fastener && (!f || m.fastener->size_mm > f->size_mm)) f = m.fastener;
    if (!f) return;
    s.reachNut_mm = f->washerThick_mm + s.thickness_mm + s.standoff_mm + f->nut_mm + 2 * f->pitch_mm;
    s.reachThread_mm = f->washerThick_mm + s.thickness_mm + f->size_mm;
    s.lengthNut_mm = standard::screwLength(s.reachNut_mm);
    s.lengthThread_mm = standard::screwLength(s.reachThread_mm);
    s.rules.push_back(
        fmt::format("Screw through standoff and nut: washer {} (ISO 7089) + thickness {} + standoff {} + nut "
                    "{} (ISO 4032) + two "
                    "pitches of thread beyond it {} (common practice, no source).",
                    fixed(f->washerThick_mm, 1), fixed(s.thickness_mm, 2), fixed(s.standoff_mm, 1),
                    fixed(f->nut_mm, 1), fixed(2 * f->pitch_mm, 2)));
    s.rules.push_back(
        fmt::format("Screw into a tapped standoff or insert: washer {} + thickness {} + one diameter of "
                    "thread {} (common practice "
                    "for steel and brass, no source; 1.5 in aluminium, 2 in plastics).",
                    fixed(f->washerThick_mm, 1), fixed(s.thickness_mm, 2), fixed(f->size_mm, 1)));
}

void say(Schedule& s, const Terms& t) {
    const bool tapped = s.counterpart == Counterpart::Tapped;
    s.rules.push_back(
        tapped ? "Fixed fastener: a screw goes in where hole and screw lie off by at most half the "
                 "difference of their diameters."
               : "Floating fastener: the holes of the counterpart (ISO 273) add their clearance.");
    if (!t.standoff_mm)
        s.rules.push_back(
            fmt::format("Standoff: the next whole mm that leaves {} mm under the lowest level with its ± "
                        "(common practice, no source).",
                        fixed(kOver_mm, 0)));
    s.rules.push_back(
        "Sizes of screws, washers, nuts, drills and holes for inserts are from memory of the standards and "
        "from common practice: check them against what you buy.");
    if (s.fit)
        s.rules.push_back(
            fmt::format("Chances: shares of {} draws from the full covariance (JCGM 101), good to ±{} %; the "
                        "part is taken as "
                        "placed by its datum, or shifted and turned to fit best.",
                        s.fit->draws, fixed(200 * s.fit->sigmaOf(0.5), 1)));
    else
        s.remarks.push_back("No chance is told: the adjustment has no covariance, or a hole takes no screw.");
    if (!(s.thickness_mm > 0.0))
        s.remarks.push_back(
            "The thickness is not known: lengths are without it; state it, or mark a feature of the "
            "underside.");
    if (s.under.to.empty())
        s.remarks.push_back(
            "No level lies under the part's underside: what hangs there was not marked, or nothing does.");
    else if (s.standoff_mm < s.under.value_mm + s.under.plusMinus_mm)
        s.remarks.push_back(fmt::format("A standoff of {} mm is too short: {} reaches {} mm below.",
                                        fixed(s.standoff_mm, 1), s.under.to, fixed(s.under.value_mm, 2)));
    for (const MountHole& m : s.holes) {
        if (!m.fastener) {
            s.remarks.push_back(
                fmt::format("Hole {} ({}) takes no standard screw.", m.hole.letter, m.hole.name));
            continue;
        }
        if (m.clearance_mm <= 0.0)
            s.remarks.push_back(fmt::format("Hole {} ({}) is too small for {}.", m.hole.letter, m.hole.name,
                                            m.fastener->thread));
        if (m.room_mm < 0.5 * m.fastener->washer_mm)
            s.remarks.push_back(fmt::format(
                "Hole {} ({}): a washer of {} mm does not lie flat, {} is {} mm from its "
                "middle.",
                m.hole.letter, m.hole.name, fixed(m.fastener->washer_mm, 1), m.roomTo, fixed(m.room_mm, 2)));
    }
    s.remarks.push_back(
        "Caution: disconnect supply and batteries before you mount a board; no metal over tracks.");
}

/// What stands on what, and what places are counted from.
std::vector<std::string> remarksOf(const drawing::Envelope& envelope, const survey::Survey& survey,
                                   const adjust::Solution& solution) {
    std::vector<std::string> out;
    for (const std::string& r : envelope.remarks) out.push_back(r + ".");
    if (std::string words = production::originWords(survey, solution); !words.empty())
        out.push_back(std::move(words));
    return out;
}

Result<void> checkTerms(const Terms& t) {
    const auto length = [](double v) { return v >= 0.0 && v <= 1000.0; };
    if (!length(t.made_mm) || !length(t.thickness_mm) || !length(t.standoff_mm.value_or(0.0)))
        return refuse("mount schedule", "a length is not from 0 to 1000 mm",
                      "give ±, thickness and standoff in mm");
    if (!t.thread.empty() && !standard::fastenerFor(t.thread))
        return refuse(t.thread, "is no screw of the table",
                      "choose one of M1.6, M2, M2.5, M3, M3.5, M4, M5, M6, M8, M10, M12");
    return {};
}

}  // namespace

std::optional<MatX> jointCovariance(const adjust::Solution& solution, const std::vector<Id>& holes) {
    if (!solution.covariance) return std::nullopt;
    const adjust::Covariance& c = *solution.covariance;
    std::vector<estimate::Gradient> functions;
    for (const Id& id : holes) {
        const auto object = adjust::resolveObject(c.survey(), id, id);
        const auto diameter = adjust::resolve(c.survey(), Quantity::Diameter, {id}, id);
        if (!object || !diameter) return std::nullopt;
        for (int k = 0; k < 2; ++k) {
            adjust::GradientBuilder builder(c.state(), c.columns());
            builder.addPoint(object->index, Vec3::Unit(k));
            functions.push_back(builder.out.gradient);
        }
        functions.push_back(adjust::evaluate(*diameter, c.state(), c.columns()).gradient);
    }
    return MatX(c.inflation() * c.inflation() * c.factor().covariance(functions));
}

Result<Schedule> scheduleOf(const survey::Survey& survey, const adjust::Solution& solution,
                            const drawing::Drawing& d, const Terms& terms) {
    if (const auto ok = checkTerms(terms); !ok) return ok.error();
    const auto chosen = chosenHoles(survey, production::holeRows(d, survey, solution), terms.holes);
    if (!chosen) return chosen.error();
    Schedule s;
    s.title = d.title, s.unit = d.unit, s.revision = d.revision, s.level = chosen->front().level;
    s.counterpart = terms.counterpart, s.made_mm = terms.made_mm;
    const Id level = levelOf(survey, chosen->front().feature);
    if (!solution.levels.contains(level))
        return refuse("level " + s.level, "has no adjusted height",
                      "mark features of it in more photographs");
    double underside = solution.levels.at(level) - terms.thickness_mm;
    Id undersideLevel = level;
    s.thickness_mm = terms.thickness_mm;
    const auto envelope = drawing::envelopeOf(d, survey, solution, terms.thickness_mm, level);
    s.remarks = remarksOf(envelope, survey, solution);
    for (const auto& p : envelope.prisms)
        for (const auto& h : p.holes)
            if (h.feature == chosen->front().feature && p.footKnown) {
                underside = p.low;
                s.thickness_mm = p.height();
                for (const auto& [id, z] : solution.levels)
                    if (std::abs(z - p.low) < 1e-9) undersideLevel = id;
            }
    findHeights(survey, solution, level, underside, undersideLevel, s);
    s.standoff_mm = terms.standoff_mm.value_or(
        s.under.to.empty() ? std::ceil(kOver_mm)
                           : std::ceil(s.under.value_mm + s.under.plusMinus_mm + kOver_mm));
    std::vector<PatternHole> pattern;
    std::vector<Id> ids;
    bool all = true;
    for (const HoleRow& row : *chosen) {
        MountHole m;
        m.hole = row;
        m.fastener = terms.thread.empty() ? fastenerOf(row) : standard::fastenerFor(terms.thread);
        findRoom(d, survey, solution, underside, m);
        all = all && m.fastener;
        if (m.fastener) {
            const double play = playOf(s.counterpart, *m.fastener);
            m.clearance_mm = 0.5 * (row.diameter - m.fastener->size_mm) + play;
            pattern.push_back({row.centre, row.diameter, m.fastener->size_mm, play});
            ids.push_back(row.feature);
        }
        s.holes.push_back(std::move(m));
    }
    if (const auto covariance = all ? jointCovariance(solution, ids) : std::nullopt) {
        FitTerms fit;
        fit.covariance = *covariance;
        fit.made_sigma = 0.5 * terms.made_mm;
        const auto chance = fitChance(pattern, fit);
        if (!chance) return chance.error();
        s.fit = *chance;
        for (std::size_t i = 0; i < s.holes.size(); ++i) s.holes[i].chance = chance->each[i];
    }
    findLengths(s);
    say(s, terms);
    return s;
}

}  // namespace trammel::mount
