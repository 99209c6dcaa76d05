// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/Report.h"

#include <fmt/core.h>

#include <cmath>
#include <numbers>

#include "core/survey/Names.h"

namespace trammel::adjust {
namespace {

/// Chance under which a withheld check reading counts as missed.
constexpr double kCheckProbability = 0.01;

std::string nameOf(const std::string& name, const Id& id) { return name.empty() ? id : name; }

void addDimensions(const Solution& s, std::string& out) {
    if (s.dimensions.empty()) return;
    out += "\nDimensions (± is the expanded uncertainty, k = 2)\n";
    for (const DimensionResult& d : s.dimensions) {
        const bool angle = d.dimension.quantity == survey::Quantity::Angle;
        const double scale = angle ? 180.0 / std::numbers::pi : 1.0;
        const std::string doubt = d.plusMinus > 0
                                      ? fmt::format("± {:.3f} {}", d.plusMinus * scale, angle ? "°" : "mm")
                                      : std::string("by the datum");
        out += fmt::format("  {:<32} {:>10.3f} {}{}\n", nameOf(d.dimension.name, d.dimension.id),
                           d.value * scale, doubt, d.dimension.important ? "  (important)" : "");
    }
}

void addLevels(const survey::Survey& survey, const Solution& s, std::string& out) {
    out += "\nLevels (height above the datum level)\n";
    for (const survey::Level& l : survey.levels) {
        if (!s.levels.contains(l.id)) continue;
        survey::Dimension height;
        height.quantity = survey::Quantity::Height;
        height.objects = {l.id};
        const auto measured = s.measure(height);
        const std::string doubt = measured && measured->plusMinus > 0
                                      ? fmt::format("± {:.3f} mm", measured->plusMinus)
                                      : std::string("by the datum");
        out += fmt::format("  {:<32} {:>10.3f} {}\n", nameOf(l.name, l.id), s.levels.at(l.id), doubt);
    }
}

void addChecks(const Solution& s, std::string& out) {
    bool any = false;
    for (const ObservationResult& o : s.observations) {
        if (!o.check) continue;
        if (!any) out += "\nCheck dimensions (withheld from the adjustment)\n";
        any = true;
        out += fmt::format("  {:<32} off by {:+.3f} mm: {}\n", o.description, o.residual[0],
                           o.probability < kCheckProbability ? "MISSED" : "comes out right");
    }
}

void addStations(const survey::Survey& survey, const Solution& s, std::string& out) {
    out += "\nPhotographs\n";
    for (const survey::Station& st : survey.stations) {
        const auto it = s.stations.find(st.id);
        if (it == s.stations.end()) continue;
        out += fmt::format("  {:<16} stand-off {:>7.0f} mm, {:.4f} mm a pixel at the datum\n",
                           nameOf(st.name, st.id), it->second.standOff_mm, 1.0 / it->second.scale_px_per_mm);
    }
}

}  // namespace

bool agrees(const Solution& s) {
    if (!s.suspects.empty()) return false;
    if (s.global.degreesOfFreedom > 0 && s.global.varianceFactor > s.global.high) return false;
    for (const ObservationResult& o : s.observations)
        if (o.check && o.probability < kCheckProbability) return false;
    return true;
}

std::string reportText(const survey::Survey& survey, const Solution& s) {
    std::string out = fmt::format("Adjustment of {}\n", survey.title.empty() ? "the survey" : survey.title);
    if (!survey.note.empty()) out += survey.note + "\n";
    if (agrees(s))
        out += "Everything agrees within its σ.\n";
    else if (s.suspects.empty())
        out += "The observations disagree more than their σ allow; no single one can be named.\n";
    else
        out += "What disagrees, worst first:\n";
    for (std::size_t i = 0; i < s.suspects.size(); ++i)
        out += fmt::format("  {}. {}\n", i + 1, s.suspects[i].sentence);
    addDimensions(s, out);
    addLevels(survey, s, out);
    addChecks(s, out);
    addStations(survey, s, out);
    out += fmt::format(
        "\nGlobal test: variance factor {:.3f}, {} degrees of freedom, 95 % interval {:.3f} to {:.3f}: {}\n",
        s.global.varianceFactor, s.global.degreesOfFreedom, s.global.low, s.global.high,
        s.global.passed                          ? "passed"
        : s.global.varianceFactor < s.global.low ? "residuals smaller than their σ allow"
                                                 : "not passed");
    out +=
        fmt::format("Settled in {} iterations; condition number {:.1e}.\n", s.iterations, s.conditionNumber);
    for (const std::string& note : s.notes) out += "Note: " + note + "\n";
    return out;
}

}  // namespace trammel::adjust
