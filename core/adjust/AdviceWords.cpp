// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/AdviceWords.h"

#include <fmt/core.h>

#include <array>
#include <cmath>
#include <numbers>

namespace trammel::adjust {

using survey::Quantity;

namespace {

std::string nameOf(const survey::Dimension& d) { return d.name.empty() ? d.id : d.name; }

std::string withTarget(const Judged& j) {
    std::string text = plusMinusText(j.dimension.quantity, j.plusMinus);
    if (j.dimension.target > 0)
        text += " (wanted " + plusMinusText(j.dimension.quantity, j.dimension.target) + ")";
    return text;
}

double degrees(double rad) { return rad * 180.0 / std::numbers::pi; }

}  // namespace

std::string_view instrumentName(Instrument instrument) {
    constexpr std::array<std::string_view, 4> names = {"caliper", "depth rod", "tape", "protractor"};
    return names[static_cast<std::size_t>(instrument)];
}

std::string plusMinusText(Quantity quantity, double plusMinus) {
    if (quantity == Quantity::Angle) return fmt::format("± {:.3f}°", degrees(plusMinus));
    return plusMinus < 0.1 ? fmt::format("± {:.3f} mm", plusMinus) : fmt::format("± {:.2f} mm", plusMinus);
}

std::string readingText(const survey::Survey& s, const AdvisedReading& r) {
    const std::string first = describe(s, r.objects.front()), second = describe(s, r.objects.back());
    const std::string to = plusMinusText(r.quantity, 2 * r.sigma);
    switch (r.instrument) {
        case Instrument::DepthRod:
            return fmt::format("Measure the depth from {} to {} with the depth rod (to {})", first, second,
                               to);
        case Instrument::Tape:
            return fmt::format(
                "If the camera of {} still stands, measure from the front of its lens to the "
                "datum point with the tape (to {})",
                first, to);
        case Instrument::Protractor:
            return fmt::format("Measure the angle between {} and {} with the protractor (to {})", first,
                               second, to);
        case Instrument::Caliper:
            break;
    }
    if (r.objects.size() == 1)
        return fmt::format("Measure the diameter of {} with the caliper (to {})", first, to);
    return fmt::format("Measure the distance from {} to {} with the caliper (to {})", first, second, to);
}

std::string viewText(const AdvisedView& v) {
    if (v.view != survey::View::Oblique)
        return fmt::format("Take one more photograph square to the {}", survey::viewName(v.view));
    constexpr std::array<const char*, 8> sides = {"front", "front-right", "right", "rear-right",
                                                  "rear",  "rear-left",   "left",  "front-left"};
    const int side = static_cast<int>(std::lround(v.azimuth_rad / (std::numbers::pi / 4)));
    return fmt::format("Take one more photograph from the {}, {:.0f}° above the part's plane",
                       sides[static_cast<std::size_t>((side % 8 + 8) % 8)], degrees(v.elevation_rad));
}

std::string gainText(const Judged& before, const Proposal& p) {
    std::string text =
        fmt::format(": the worst dimension, {}, goes from {} to {}", nameOf(before.dimension),
                    withTarget(before), plusMinusText(p.same.dimension.quantity, p.same.plusMinus));
    if (p.worst.dimension.id != p.same.dimension.id)
        text +=
            fmt::format(", and {} is then the worst with {}", nameOf(p.worst.dimension), withTarget(p.worst));
    return text + ".";
}

std::string planText(const Judged& before, const Judged& after, std::size_t readings) {
    const std::string more = fmt::format(": alone it changes little, but with {} more reading{} the worst ",
                                         readings - 1, readings == 2 ? "" : "s");
    if (after.dimension.id == before.dimension.id)
        return more + fmt::format("dimension, {}, goes from {} to {}.", nameOf(before.dimension),
                                  withTarget(before),
                                  plusMinusText(after.dimension.quantity, after.plusMinus));
    return more + fmt::format("is {} with {}, in place of {} with {}.", nameOf(after.dimension),
                              withTarget(after), nameOf(before.dimension), withTarget(before));
}

std::string goodEnoughText(const Judged& worst) {
    return fmt::format("Good enough, stop here: every wanted ± is met; nearest to its limit is {} with {}.",
                       nameOf(worst.dimension), withTarget(worst));
}

std::string nothingHelpsText(const Judged& worst, double leastGain, const Judged* finer) {
    std::string text = fmt::format(
        "No single reading or photograph would shrink the worst dimension, {} ({}), by more than {:.0f} %",
        nameOf(worst.dimension), plusMinusText(worst.dimension.quantity, worst.plusMinus), 100 * leastGain);
    if (!finer || !(finer->figure < (1 - leastGain) * worst.figure)) return text + ".";
    return text + fmt::format(
                      "; marks of half their σ (fitted to the pictures, or in larger pictures) would "
                      "bring the worst, {}, to {}.",
                      nameOf(finer->dimension), plusMinusText(finer->dimension.quantity, finer->plusMinus));
}

}  // namespace trammel::adjust
