// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/ReadingCause.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <optional>
#include <set>
#include <vector>

namespace trammel::adjust {
namespace {

using survey::Quantity;

/// As often as this a digit may fit by chance and still be named.
constexpr double kByChance = 0.2;

std::optional<double> number(const std::string& text) {
    char* end = nullptr;
    const double v = std::strtod(text.c_str(), &end);
    if (text.empty() || *end != '\0' || !std::isfinite(v) || !(v > 0)) return std::nullopt;
    return v;
}

void put(std::set<double>& out, const std::string& text, double typed) {
    const auto v = number(text);
    if (v && std::abs(*v - typed) > 1e-9 * typed) out.insert(*v);
}

/// All values with two neighbouring digits exchanged, across the decimal point too.
std::set<double> exchanged(const std::string& text, double typed) {
    std::set<double> out;
    for (std::size_t i = 0; i + 1 < text.size(); ++i) {
        const std::size_t k = text[i + 1] == '.' ? i + 2 : i + 1;
        if (text[i] == '.' || k >= text.size()) continue;
        std::string other = text;
        std::swap(other[i], other[k]);
        put(out, other, typed);
    }
    return out;
}

/// All values with one digit another one, left out, or written twice.
std::set<double> oneDigit(const std::string& text, double typed) {
    std::set<double> out;
    for (std::size_t i = 0; i < text.size(); ++i) {
        if (text[i] == '.') continue;
        for (char c = '0'; c <= '9'; ++c) {
            std::string other = text;
            other[i] = c;
            put(out, other, typed);
            other = text;
            other.insert(i, 1, c);  // the one that was missed
            put(out, other, typed);
        }
        std::string other = text;
        other.erase(i, 1);
        put(out, other, typed);
    }
    return out;
}

struct Ratio {
    double factor;
    Cause cause;
    const char* why;
};

std::vector<Ratio> ratios(Quantity q) {
    if (q == Quantity::Angle)
        return {{10.0, Cause::PowerOfTen, "decimal point?"}, {0.1, Cause::PowerOfTen, "decimal point?"}};
    std::vector<Ratio> all = {{25.4, Cause::Inches, "read in inches?"},
                              {1 / 25.4, Cause::Inches, "converted from inches twice?"},
                              {10.0, Cause::PowerOfTen, "centimetres, or the decimal point?"},
                              {0.1, Cause::PowerOfTen, "decimal point?"},
                              {100.0, Cause::PowerOfTen, "decimal point?"},
                              {0.01, Cause::PowerOfTen, "decimal point?"}};
    if (q == Quantity::Diameter)
        all.push_back({2.0, Cause::RadiusForDiameter, "the radius instead of the diameter?"});
    if (q == Quantity::Radius)
        all.push_back({0.5, Cause::RadiusForDiameter, "the diameter instead of the radius?"});
    return all;
}

}  // namespace

ReadingGuess guessReading(Quantity quantity, double typed, double expected, double sigma) {
    if (!(typed > 0) || !(expected > 0) || !(sigma > 0)) return {};
    const double within = 2.0 * sigma;  // the ±, k = 2
    const auto fits = [&](double v) { return std::abs(v - expected) <= within; };
    std::vector<ReadingGuess> found;
    for (const Ratio& r : ratios(quantity))
        if (fits(typed * r.factor)) found.push_back({r.cause, typed * r.factor, r.why});
    const std::string text = fmt::format("{:.6g}", typed);
    const double far = std::abs(typed - expected);
    // How many of the values would be hit by chance: those no further from the expected one than the one
    // typed.
    const auto byChance = [&](const std::set<double>& values) {
        double near = 0.0;
        for (const double v : values) near += std::abs(v - expected) < far ? 1.0 : 0.0;
        return near * within / far;
    };
    const auto add = [&](const std::set<double>& values, Cause cause, const char* why) {
        if (byChance(values) > kByChance) return;
        for (const double v : values)
            if (fits(v)) found.push_back({cause, v, why});
    };
    // A zero typed at the end (10.40 for 10.04) is lost in the number.
    std::set<double> swapped = exchanged(text, typed);
    swapped.merge(exchanged(fmt::format("{:.2f}", typed), typed));
    add(swapped, Cause::ExchangedDigits, "digits exchanged?");
    if (found.empty()) add(oneDigit(text, typed), Cause::WrongDigit, "one digit wrong?");
    return found.size() == 1 ? found.front() : ReadingGuess{};
}

}  // namespace trammel::adjust
