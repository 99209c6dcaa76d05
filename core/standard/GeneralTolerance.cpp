// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/standard/GeneralTolerance.h"

#include <array>
#include <cmath>
#include <limits>
#include <numbers>
#include <span>

namespace trammel::standard {
namespace {

constexpr double kInf = std::numeric_limits<double>::infinity();
constexpr double kLeast_mm = 0.5;

/// Sizes over the row before up to and including `upTo`; deviations of f, m, c, v; 0: none given.
struct Row {
    double upTo;
    std::array<double, 4> deviation;
};

constexpr Row kLengths[] = {{3, {0.05, 0.1, 0.2, 0}},    {6, {0.05, 0.1, 0.3, 0.5}},
                            {30, {0.1, 0.2, 0.5, 1}},    {120, {0.15, 0.3, 0.8, 1.5}},
                            {400, {0.2, 0.5, 1.2, 2.5}}, {1000, {0.3, 0.8, 2, 4}},
                            {2000, {0.5, 1.2, 3, 6}},    {4000, {0, 2, 4, 8}}};
constexpr Row kBroken[] = {{3, {0.2, 0.2, 0.4, 0.4}}, {6, {0.5, 0.5, 1, 1}}, {kInf, {1, 1, 2, 2}}};
/// Minutes of arc.
constexpr Row kAngles[] = {{10, {60, 60, 90, 180}},
                           {50, {30, 30, 60, 120}},
                           {120, {20, 20, 30, 60}},
                           {400, {10, 10, 15, 30}},
                           {kInf, {5, 5, 10, 20}}};

std::span<const Row> tableOf(Toleranced what) {
    if (what == Toleranced::Length) return kLengths;
    if (what == Toleranced::Broken) return kBroken;
    return kAngles;
}

bool supports(ToleranceClass c, const std::vector<ToleratedSize>& sizes) {
    bool any = false;
    for (const ToleratedSize& s : sizes) {
        if (s.what != Toleranced::Angle && s.size_mm <= kLeast_mm) continue;
        const auto t = permissible(s.what, c, s.size_mm);
        if (!t || !(s.plusMinus > 0.0) || !(s.plusMinus <= kShareOfTolerance * *t)) return false;
        any = true;
    }
    return any;
}

}  // namespace

char letterOf(ToleranceClass c) { return "fmcv"[static_cast<std::size_t>(c)]; }

std::optional<double> permissible(Toleranced what, ToleranceClass c, double size_mm) {
    if (!std::isfinite(size_mm) || (what == Toleranced::Angle ? size_mm <= 0.0 : size_mm <= kLeast_mm))
        return std::nullopt;
    for (const Row& row : tableOf(what)) {
        if (size_mm > row.upTo) continue;
        const double t = row.deviation[static_cast<std::size_t>(c)];
        if (t == 0.0) return std::nullopt;
        return what == Toleranced::Angle ? t / 60.0 * std::numbers::pi / 180.0 : t;
    }
    return std::nullopt;
}

std::optional<ToleranceClass> supportedClass(const std::vector<ToleratedSize>& sizes) {
    for (const ToleranceClass c :
         {ToleranceClass::Fine, ToleranceClass::Medium, ToleranceClass::Coarse, ToleranceClass::VeryCoarse})
        if (supports(c, sizes)) return c;
    return std::nullopt;
}

std::string className(const std::optional<ToleranceClass>& c) {
    return c ? std::string("ISO 2768-") + letterOf(*c) : "none";
}

}  // namespace trammel::standard
