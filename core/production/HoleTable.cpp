// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/production/HoleTable.h"

#include <algorithm>
#include <cmath>

#include "core/adjust/Covariance.h"
#include "core/drawing/Format.h"
#include "core/survey/Names.h"
#include "core/survey/QuantityCheck.h"

namespace trammel::production {
namespace {

constexpr double kOneColumn_mm = 0.5;

/// ± (k = 2) of a point's own x and y in the part's frame; nothing without covariance or such a point.
std::optional<Vec2> placePlusMinus(const adjust::Solution& solution, const survey::Id& feature) {
    if (!solution.covariance) return std::nullopt;
    const adjust::Covariance& c = *solution.covariance;
    const auto object = adjust::resolveObject(c.survey(), feature, feature);
    if (!object) return std::nullopt;
    Vec2 out;
    for (int k = 0; k < 2; ++k) {
        adjust::GradientBuilder builder(c.state(), c.columns());
        builder.addPoint(object->index, Vec3::Unit(k));
        out[k] = 2 * c.sigma(builder.out.gradient);
    }
    if (!out.allFinite()) return std::nullopt;
    return out;
}

constexpr double kFixed_mm = 1e-9;  // what the adjustment holds fast is known without ±

}  // namespace

std::optional<double> plusMinusOf(const adjust::Solution& solution, survey::Quantity quantity,
                                  std::vector<survey::Id> objects) {
    if (!solution.covariance) return std::nullopt;
    const auto r = solution.measure({"", "", quantity, std::move(objects), false});
    if (!r || !std::isfinite(r->plusMinus) || !(r->plusMinus > 0.0)) return std::nullopt;
    return r->plusMinus;
}

survey::Id originOf(const survey::Survey& survey, const adjust::Solution& solution) {
    if (!survey.datum.origin.empty()) return survey.datum.origin;
    for (const survey::Feature& f : survey.features) {
        const auto g = solution.features.find(f.id);
        if (!survey::hasPoint(f.kind) || f.kind == survey::FeatureKind::Slot ||
            g == solution.features.end() || g->second.point.head<2>().norm() > kFixed_mm)
            continue;
        const auto own = placePlusMinus(solution, f.id);
        if (own && own->maxCoeff() < kFixed_mm) return f.id;
    }
    return {};
}

std::string originWords(const survey::Survey& survey, const adjust::Solution& solution) {
    const survey::Id origin = survey.datum.origin.empty() ? originOf(survey, solution) : survey::Id{};
    if (origin.empty()) return {};
    return "The survey names no origin: places are counted from " + survey::describe(survey, origin) +
           ", which the adjustment chose; name the part's datum.";
}

std::string letterFor(std::size_t index) {
    static constexpr char kLetters[] = "ABCDEFGHJKLMNPQRSTUVWXYZ";  // ISO 129: I and O look like figures
    constexpr std::size_t n = sizeof kLetters - 1;
    std::string s;
    for (std::size_t i = index + 1; i > 0; i = (i - 1) / n) s.insert(s.begin(), kLetters[(i - 1) % n]);
    return s;
}

std::vector<HoleRow> holeRows(const drawing::Drawing& d, const survey::Survey& survey,
                              const adjust::Solution& solution) {
    std::vector<HoleRow> rows;
    const survey::Id origin = originOf(survey, solution);
    for (const drawing::DrawnHole& h : d.holes) {
        if (!h.cut) continue;
        HoleRow r;
        r.feature = h.feature, r.name = h.name, r.centre = h.circle.centre, r.diameter = 2 * h.circle.radius;
        for (const auto& l : d.levels)
            if (l.id == h.level) r.level = l.name;
        r.isDatum = h.feature == origin;
        r.onAxis = h.feature == survey.datum.direction;
        using survey::Quantity;
        r.diameterPlusMinus = plusMinusOf(solution, Quantity::Diameter, {h.feature}).value_or(0.0);
        if (!r.isDatum && !survey.datum.origin.empty()) {
            r.centrePlusMinus.x() =
                plusMinusOf(solution, Quantity::OffsetX, {survey.datum.origin, h.feature}).value_or(0.0);
            r.centrePlusMinus.y() =
                plusMinusOf(solution, Quantity::OffsetY, {survey.datum.origin, h.feature}).value_or(0.0);
        } else if (const auto own = r.isDatum ? std::nullopt : placePlusMinus(solution, h.feature)) {
            r.centrePlusMinus = *own;
            r.onAxis = r.onAxis || (survey.datum.direction.empty() && own->y() < kFixed_mm &&
                                    std::abs(r.centre.y()) < kFixed_mm);
        }
        r.use = standard::useOf(r.diameter, r.diameterPlusMinus);
        rows.push_back(std::move(r));
    }
    std::stable_sort(rows.begin(), rows.end(),
                     [](const HoleRow& a, const HoleRow& b) { return a.centre.x() < b.centre.x(); });
    // Columns of holes a little askew still read from below upwards.
    for (auto from = rows.begin(); from != rows.end();) {
        const auto to = std::find_if(from, rows.end(), [&](const HoleRow& r) {
            return r.centre.x() > from->centre.x() + kOneColumn_mm;
        });
        std::stable_sort(from, to,
                         [](const HoleRow& a, const HoleRow& b) { return a.centre.y() < b.centre.y(); });
        from = to;
    }
    for (std::size_t i = 0; i < rows.size(); ++i) rows[i].letter = letterFor(i);
    return rows;
}

std::string placeWords(const HoleRow& r, int axis) {
    if (r.isDatum || (r.onAxis && axis == 1)) return "0 (datum)";
    return drawing::withPlusMinus(r.centre[axis], r.centrePlusMinus[axis]);
}

Block holeTable(const std::vector<HoleRow>& rows, std::size_t from, std::size_t to, double width_mm) {
    using drawing::withPlusMinus;
    std::vector<std::string> heading{"Hole", "Name", "x", "y", "Diameter", "Level", "Screw (ISO 273)"};
    std::vector<std::vector<std::string>> cells;
    for (std::size_t i = from; i < to && i < rows.size(); ++i) {
        const HoleRow& r = rows[i];
        cells.push_back({r.letter, r.name, placeWords(r, 0), placeWords(r, 1),
                         "⌀" + withPlusMinus(r.diameter, r.diameterPlusMinus), r.level,
                         standard::useWords(r.use)});
    }
    const auto table = [&] {
        return tableBlock(from == 0 ? "Holes, through" : "Holes, through (continued)", heading, cells);
    };
    Block block = table();
    for (const std::size_t column : {std::size_t{5}, std::size_t{1}}) {
        if (block.size.x() <= width_mm) break;
        const auto k = static_cast<std::ptrdiff_t>(column);
        heading.erase(heading.begin() + k);
        for (auto& row : cells) row.erase(row.begin() + k);
        block = table();
    }
    return block;
}

}  // namespace trammel::production
