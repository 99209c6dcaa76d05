// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/handover/Inspect.h"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <set>

#include "core/geometry/Piece.h"
#include "core/handover/Contours.h"

namespace trammel::handover {
namespace {

struct Unit {
    const char* name;
    double millimetres;
};

/// $INSUNITS 0 to 24, DXF reference. US survey units: 1200/3937 m a foot.
constexpr std::array<Unit, 25> kUnits = {{{"none stated", 0},
                                          {"inch", 25.4},
                                          {"foot", 304.8},
                                          {"mile", 1609344.0},
                                          {"millimetre", 1},
                                          {"centimetre", 10},
                                          {"metre", 1000},
                                          {"kilometre", 1e6},
                                          {"microinch", 25.4e-6},
                                          {"mil", 0.0254},
                                          {"yard", 914.4},
                                          {"angstrom", 1e-7},
                                          {"nanometre", 1e-6},
                                          {"micron", 1e-3},
                                          {"decimetre", 100},
                                          {"dekametre", 1e4},
                                          {"hectometre", 1e5},
                                          {"gigametre", 1e12},
                                          {"astronomical unit", 1.495978707e14},
                                          {"light year", 9.4607304725808e18},
                                          {"parsec", 3.0856775814913673e19},
                                          {"US survey foot", 1200000.0 / 3937},
                                          {"US survey inch", 100000.0 / 3937},
                                          {"US survey yard", 3600000.0 / 3937},
                                          {"US survey mile", 5280 * 1200000.0 / 3937}}};

/// Straight, round and measured distances of a dimension, from its own points.
double measure(const DxfDimension& d) {
    const Vec2 along(std::cos(d.angle), std::sin(d.angle));
    switch (d.type) {
        case 0:
            return std::abs((d.p14 - d.p13).dot(along));
        case 1:
            return (d.p14 - d.p13).norm();
        case 3:
        case 4:
            return (d.p15 - d.p10).norm();
        default:
            return d.stated.value_or(0.0);
    }
}

/// The first number in a text and its decimals; nothing when there is none or it stands for the measured
/// value.
struct Shown {
    double value = 0.0;
    int decimals = 0;
};
std::optional<Shown> shownNumber(const std::string& text) {
    if (text.empty() || text.find("<>") != std::string::npos) return std::nullopt;
    const auto first = text.find_first_of("0123456789");
    if (first == std::string::npos) return std::nullopt;
    auto last = text.find_first_not_of("0123456789.,", first);
    if (last == std::string::npos) last = text.size();
    std::string digits = text.substr(first, last - first);
    std::replace(digits.begin(), digits.end(), ',', '.');
    if (first > 0 && text[first - 1] == '.') digits.insert(0, "0.");
    Shown s;
    const auto [end, problem] = std::from_chars(digits.data(), digits.data() + digits.size(), s.value);
    if (problem != std::errc()) return std::nullopt;
    const auto dot = digits.find('.');
    if (dot != std::string::npos)
        s.decimals = static_cast<int>(end - digits.data() - static_cast<long>(dot)) - 1;
    return s;
}

DimensionContents describe(const DxfDimension& d, const std::set<std::string>& blocks) {
    DimensionContents c{d.layer, d.text, measure(d), std::nullopt, true, blocks.count(d.block) > 0};
    const bool length = d.type == 0 || d.type == 1 || d.type == 3 || d.type == 4;
    const auto shown = shownNumber(d.text);
    if (!length || !shown) return c;
    c.shown = shown->value;
    c.agrees = std::abs(shown->value - c.measured) <= 0.5 * std::pow(10.0, -shown->decimals) * 1.001 + 1e-6;
    return c;
}

void addCircles(const DxfFile& file, Contents& c) {
    for (const DxfCircle& circle : file.circles) {
        const double diameter = 2 * circle.circle.radius;
        const auto same = std::find_if(c.circles.begin(), c.circles.end(), [&](const CircleContents& g) {
            return g.layer == circle.layer && std::abs(g.diameter - diameter) <= 1e-4;
        });
        if (same != c.circles.end())
            ++same->count;
        else
            c.circles.push_back({circle.layer, diameter, 1});
    }
    std::sort(c.circles.begin(), c.circles.end(), [](const CircleContents& a, const CircleContents& b) {
        return a.layer != b.layer ? a.layer < b.layer : a.diameter < b.diameter;
    });
}

/// Dimensions that show a number off their drawn length by a factor that two units differ by.
bool dimensionWarnings(Contents& c) {
    std::map<std::string, int> contradict;
    for (const DimensionContents& d : c.dimensions) {
        if (!d.shown || !(d.measured > 0)) continue;
        const std::string units = mixedUnits(*d.shown / d.measured);
        if (!units.empty()) ++contradict[units];
    }
    for (const auto& [units, count] : contradict)
        c.warnings.push_back(fmt::format(
            "Likely unit mistake: {} of {} dimensions show a number {} times off the drawn length "
            "({} mixed up)",
            count, c.dimensions.size(),
            units[0] == 'i'   ? "25.4"
            : units[0] == 'c' ? "10"
                              : "1000",
            units));
    return !contradict.empty();
}

/// Signs that lengths are off by the factor of two units, each a sentence.
void unitWarnings(const DxfFile& file, Contents& c) {
    const bool contradict = dimensionWarnings(c);
    if (!c.extents) return;
    const Vec2 size = c.extents->high - c.extents->low;
    const double largest = size.maxCoeff();
    if (file.extents) {
        const double ratio = (file.extents->high - file.extents->low).maxCoeff() / std::max(largest, 1e-12);
        // Not 10 or 1000: the header counts text, which may be ten times as wide as a small part.
        if (mixedUnits(ratio) == "inches and millimetres" && !contradict)
            c.warnings.push_back(
                "Likely unit mistake: the header's extents are 25.4 times off what is drawn");
    }
    const int unit = file.insUnits.value_or(0);
    if ((unit == 5 && largest > 300) || (unit == 6 && largest > 10))
        c.warnings.push_back(fmt::format(
            "Likely unit mistake: the header says {}, which makes it {:.2f} m large; the numbers look like "
            "millimetres",
            c.unit, largest * c.millimetresPerUnit.value_or(1.0) / 1000));
    if (unit == 4 && largest > 5000)
        c.warnings.push_back(
            fmt::format("Likely unit mistake: {:.2f} m large; the numbers look like a thousandth of a "
                        "millimetre, or were scaled",
                        largest / 1000));
    if (file.insUnits.value_or(0) == 1 && largest > 60)
        c.warnings.push_back(
            fmt::format("Likely unit mistake: the header says inch, which makes it {:.2f} m "
                        "large; the numbers look like millimetres",
                        largest * 0.0254));
    double largestHole = 0.0;
    for (const CircleContents& g : c.circles) largestHole = std::max(largestHole, g.diameter);
    if (file.insUnits.value_or(0) != 1 && largest < 30 && largestHole > 0 && largestHole < 0.8)
        c.warnings.push_back(
            fmt::format("Likely unit mistake: {:.2f} large with holes of at most {:.3f}; the "
                        "numbers look like inches",
                        largest, largestHole));
    if (!file.insUnits || *file.insUnits == 0)
        c.warnings.push_back("The header names no unit: say in words that it is millimetres");
    else if (file.measurement && (*file.measurement == 0) != (*file.insUnits == 1 || *file.insUnits == 2))
        c.warnings.push_back(
            "The header contradicts itself: $INSUNITS and $MEASUREMENT name different systems");
}

void shapeWarnings(const DxfFile& file, Contents& c) {
    if (c.hairlineGaps > 0)
        c.warnings.push_back(
            fmt::format("{} hairline gap(s) below 0.1 mm between loose ends", c.hairlineGaps));
    if (c.doubled > 0) c.warnings.push_back(fmt::format("{} doubled line(s) within a layer", c.doubled));
    if (c.doubledAcrossLayers > 0)
        c.warnings.push_back(fmt::format(
            "{} line(s) repeat one of another layer: cut only one of these layers", c.doubledAcrossLayers));
    for (const DxfText& t : file.texts)
        if (t.text.find("DO NOT CUT") != std::string::npos)
            c.warnings.insert(c.warnings.begin(), "Its own note says DO NOT CUT");
    const auto crossing = std::count_if(c.contours.begin(), c.contours.end(),
                                        [](const ContourContents& k) { return k.crossesItself; });
    if (crossing > 0) c.warnings.push_back(fmt::format("{} contour(s) cross or touch themselves", crossing));
    std::map<std::string, int> total;
    for (const auto& [layer, types] : c.layers)
        for (const auto& [type, count] : types) total[type] += count;
    for (const char* curve : {"SPLINE", "ELLIPSE", "HELIX", "3DFACE", "REGION", "3DSOLID"})
        if (total.count(curve))
            c.warnings.push_back(
                fmt::format("{} {} entities, which many cutters do not take", total[curve], curve));
    if (total.count("INSERT"))
        c.warnings.push_back(
            fmt::format("{} INSERT(s): what their blocks draw is not measured here", total["INSERT"]));
    const auto off = std::count_if(c.dimensions.begin(), c.dimensions.end(),
                                   [](const DimensionContents& d) { return !d.agrees; });
    if (off > 0)
        c.warnings.push_back(
            fmt::format("{} dimension(s) show another number than their points measure", off));
    const auto bare = std::count_if(c.dimensions.begin(), c.dimensions.end(),
                                    [](const DimensionContents& d) { return !d.pictured; });
    if (bare > 0) c.warnings.push_back(fmt::format("{} dimension(s) have no picture and may not show", bare));
    if (file.paperSpace > 0)
        c.warnings.push_back(
            fmt::format("{} entities lie on the paper and are not measured here", file.paperSpace));
    if (!c.extents) c.warnings.push_back("Nothing is drawn in it");
}

void addExtents(const std::vector<LoosePiece>& pieces, const DxfFile& file, Contents& c) {
    const auto add = [&](const geometry::Bounds& b) { c.extents = c.extents ? united(*c.extents, b) : b; };
    for (const LoosePiece& p : pieces) add(geometry::Piece(p.from, p.to, p.bulge).bounds());
    for (const DxfCircle& k : file.circles)
        add({k.circle.centre - Vec2::Constant(k.circle.radius),
             k.circle.centre + Vec2::Constant(k.circle.radius)});
}

}  // namespace

std::string mixedUnits(double factor) {
    const auto is = [&](double k) {
        return std::abs(factor / k - 1) < 0.02 || std::abs(factor * k - 1) < 0.02;
    };
    if (is(25.4)) return "inches and millimetres";
    if (is(10)) return "centimetres and millimetres";
    if (is(1000)) return "metres and millimetres";
    return "";
}

Contents inspect(const DxfFile& file, const std::string& name) {
    Contents c;
    c.file = name;
    c.version = file.version;
    const int code = file.insUnits.value_or(0);
    const bool known = code >= 0 && code < static_cast<int>(kUnits.size());
    c.unit = known ? kUnits[static_cast<std::size_t>(code)].name : fmt::format("unknown ({})", code);
    if (known && code > 0) c.millimetresPerUnit = kUnits[static_cast<std::size_t>(code)].millimetres;
    c.layers = file.counts;
    const auto pieces = allPieces(file);
    addExtents(pieces, file, c);
    Contours contours = joinContours(file);
    const double gap = 0.1 / c.millimetresPerUnit.value_or(1.0);
    c.hairlineGaps = countHairlineGaps(contours, gap);
    c.contours = std::move(contours.list);
    c.doubled = countDoubled(pieces, false);
    c.doubledAcrossLayers = countDoubled(pieces, true) - c.doubled;
    addCircles(file, c);
    const std::set<std::string> blocks(file.blocks.begin(), file.blocks.end());
    for (const DxfDimension& d : file.dimensions) c.dimensions.push_back(describe(d, blocks));
    unitWarnings(file, c);
    shapeWarnings(file, c);
    return c;
}

}  // namespace trammel::handover
