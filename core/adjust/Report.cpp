// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/Report.h"

#include <fmt/core.h>

#include <algorithm>
#include <cctype>
#include <cmath>
#include <numbers>
#include <string_view>

#include "core/survey/Names.h"

namespace trammel::adjust {
namespace {

/// Chance under which a withheld check reading counts as missed.
constexpr double kCheckProbability = 0.01;

std::string capital(std::string sentence) {
    if (!sentence.empty())
        sentence[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(sentence[0])));
    return sentence;
}

std::string nameOf(const std::string& name, const Id& id) { return name.empty() ? id : name; }

constexpr std::size_t kCarriersShown = 3;

bool isAngle(survey::Quantity q) { return q == survey::Quantity::Angle; }
double shown(survey::Quantity q, double value) {
    return isAngle(q) ? value * 180.0 / std::numbers::pi : value;
}
const char* unit(survey::Quantity q) { return isAngle(q) ? "°" : "mm"; }

/// Whose σ the ± of a dimension comes from, as shares of its variance.
std::string carriersText(const DimensionResult& d) {
    std::string text;
    double rest = 1.0;
    for (std::size_t i = 0; i < std::min(kCarriersShown, d.carriers.size()); ++i) {
        const Carrier& c = d.carriers[i];
        const std::string_view words = c.description;
        constexpr std::string_view kMark = "mark of ";  // what is seen in a photograph can be nothing else
        text += fmt::format("{}{} {:.0f} %", i == 0 ? "    carried by " : ", ",
                            words.substr(words.starts_with(kMark) ? kMark.size() : 0), 100 * c.share);
        rest -= c.share;
    }
    if (text.empty()) return d.plusMinus > 0 ? "    carried by many observations alike\n" : "";
    if (rest > 0.005) text += fmt::format(", others {:.0f} %", 100 * rest);
    return text + "\n";
}

std::string wantedText(const DimensionResult& d) {
    const double target = d.dimension.target;
    if (!(target > 0)) return "";
    const survey::Quantity q = d.dimension.quantity;
    return fmt::format("  (wanted ± {:.3g} {}: {})", shown(q, target), unit(q),
                       d.plusMinus <= target ? "met" : "not met");
}

void addDimensions(const Solution& s, std::string& out) {
    if (s.dimensions.empty()) return;
    out +=
        "\nDimensions (± is the expanded uncertainty, k = 2; carried by: whose own uncertainty makes it "
        "up)\n";
    for (const DimensionResult& d : s.dimensions) {
        const survey::Quantity q = d.dimension.quantity;
        const std::string doubt = d.plusMinus > 0 ? fmt::format("± {:.3f} {}", shown(q, d.plusMinus), unit(q))
                                                  : std::string("by the datum");
        out += fmt::format("  {:<32} {:>10.3f} {}{}{}\n", nameOf(d.dimension.name, d.dimension.id),
                           shown(q, d.value), doubt, d.dimension.important ? "  (important)" : "",
                           wantedText(d));
        out += carriersText(d);
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
    for (const LevelShape& shape : s.levelShapes) out += "  " + capital(shape.sentence) + "\n";
}

void addChecks(const survey::Survey& survey, const Solution& s, std::string& out) {
    bool any = false;
    for (const ObservationResult& o : s.observations) {
        if (!o.check) continue;
        if (!any) out += "\nCheck dimensions (withheld from the adjustment)\n";
        any = true;
        const survey::Reading* r = find(survey.readings, o.object);
        const survey::Quantity q = r ? r->quantity : survey::Quantity::Distance;
        out += fmt::format("  {:<32} off by {:+.3f} {}: {}\n", o.description, shown(q, o.residual[0]),
                           unit(q), missed(o) ? "MISSED" : "comes out right");
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
    for (const LightGrowth& g : s.lightGrowths)
        if (!g.sentence.empty()) out += "  " + g.sentence + "\n";
}

}  // namespace

std::string_view causeName(Cause cause) {
    switch (cause) {
        case Cause::Unknown:
            return "unknown";
        case Cause::WrongTie:
            return "wrong-tie";
        case Cause::SwappedTies:
            return "exchanged-ties";
        case Cause::MirroredPhotograph:
            return "mirrored-photograph";
        case Cause::WrongView:
            return "wrong-view";
        case Cause::WholePhotograph:
            return "whole-photograph";
        case Cause::Inches:
            return "inches";
        case Cause::PowerOfTen:
            return "power-of-ten";
        case Cause::RadiusForDiameter:
            return "radius-for-diameter";
        case Cause::ExchangedDigits:
            return "exchanged-digits";
        case Cause::WrongDigit:
            return "wrong-digit";
    }
    return "unknown";
}

bool missed(const ObservationResult& check) { return check.probability < kCheckProbability; }

bool agrees(const Solution& s) {
    if (!s.suspects.empty()) return false;
    if (s.global.degreesOfFreedom > 0 && s.global.varianceFactor > s.global.high) return false;
    for (const ObservationResult& o : s.observations)
        if (o.check && missed(o)) return false;
    return true;
}

std::string globalText(const GlobalTest& global) {
    if (global.degreesOfFreedom <= 0)
        return "Nothing is observed more often than needed: residuals show no mistake.";
    return fmt::format(
        "All residuals together are {:.2f} times as large as the stated σ lead one to expect; {:.2f} to "
        "{:.2f} is "
        "ordinary ({} degrees of freedom, 95 %){}",
        std::sqrt(global.varianceFactor), std::sqrt(global.low), std::sqrt(global.high),
        global.degreesOfFreedom,
        global.varianceFactor > global.high ? ": too large for chance; every ± is widened by it." : ".");
}

std::string handMarkText(const survey::Survey& survey) {
    const auto byHand = std::count_if(survey.marks.begin(), survey.marks.end(), [](const survey::Mark& m) {
        return !m.excluded && m.origin == survey::MarkOrigin::Hand;
    });
    if (byHand == 0) return {};
    return fmt::format(
        "{} of {} marks are as the hand placed them: fit them to their photographs first (trammel fit, or "
        "Shift+F "
        "in the window); that is worth more than any reading.",
        byHand, survey.marks.size());
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
    addChecks(survey, s, out);
    addStations(survey, s, out);
    out += "\n" + globalText(s.global) + "\n";
    out +=
        fmt::format("Settled in {} iterations; condition number {:.1e}.\n", s.iterations, s.conditionNumber);
    if (!s.limits.empty()) out += "\nWhat these observations cannot tell\n";
    for (const std::string& limit : s.limits) out += "  " + limit + "\n";
    const std::string hand = handMarkText(survey);
    if (!s.notes.empty() || !hand.empty()) out += "\n";
    if (!hand.empty()) out += "Note: " + hand + "\n";
    for (const std::string& note : s.notes) out += "Note: " + note + "\n";
    return out;
}

}  // namespace trammel::adjust
