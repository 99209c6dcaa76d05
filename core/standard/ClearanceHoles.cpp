// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/standard/ClearanceHoles.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

namespace trammel::standard {
namespace {

constexpr ClearanceHole kHoles[] = {
    {"M1", 1.0, {1.1, 1.2, 1.3}},   {"M1.2", 1.2, {1.3, 1.4, 1.5}},    {"M1.4", 1.4, {1.5, 1.6, 1.8}},
    {"M1.6", 1.6, {1.7, 1.8, 2.0}}, {"M2", 2.0, {2.2, 2.4, 2.6}},      {"M2.5", 2.5, {2.7, 2.9, 3.1}},
    {"M3", 3.0, {3.2, 3.4, 3.6}},   {"M3.5", 3.5, {3.7, 3.9, 4.2}},    {"M4", 4.0, {4.3, 4.5, 4.8}},
    {"M5", 5.0, {5.3, 5.5, 5.8}},   {"M6", 6.0, {6.4, 6.6, 7.0}},      {"M7", 7.0, {7.4, 7.6, 8.0}},
    {"M8", 8.0, {8.4, 9.0, 10.0}},  {"M10", 10.0, {10.5, 11.0, 12.0}}, {"M12", 12.0, {13.0, 13.5, 14.5}}};

/// ISO 286-1, table 1: IT12, IT13, IT14 in mm, diameters up to and including the first figure.
constexpr struct {
    double upTo;
    std::array<double, 3> grade;
} kGrades[] = {
    {3, {0.10, 0.14, 0.25}}, {6, {0.12, 0.18, 0.30}}, {10, {0.15, 0.22, 0.36}}, {18, {0.18, 0.27, 0.43}}};

constexpr Series kSeries[] = {Series::Fine, Series::Medium, Series::Coarse};
constexpr double kRounding_mm = 1e-9;

}  // namespace

std::span<const ClearanceHole> clearanceHoles() { return kHoles; }

const char* seriesName(Series series) {
    return series == Series::Fine ? "fine" : series == Series::Medium ? "medium" : "coarse";
}

double holeTolerance(Series series, double diameter_mm) {
    for (const auto& row : kGrades)
        if (diameter_mm <= row.upTo) return row.grade[static_cast<std::size_t>(series)];
    return kGrades[3].grade[static_cast<std::size_t>(series)];
}

HoleUse useOf(double diameter_mm, double plusMinus_mm) {
    if (!std::isfinite(diameter_mm) || !std::isfinite(plusMinus_mm)) return {};
    const double doubt = std::max(0.0, plusMinus_mm) + kRounding_mm;
    HoleUse best;
    double nearest = 0.0;
    for (const ClearanceHole& row : kHoles)
        for (const Series s : kSeries) {
            const double nominal = row.hole_mm[static_cast<std::size_t>(s)], off = diameter_mm - nominal;
            if (off < -doubt || off > holeTolerance(s, nominal) + doubt) continue;
            // At one distance the closer series: a hole meant as fine is the better guess than a loose one.
            if (best.row && std::abs(off) > nearest - kRounding_mm) continue;
            best = {&row, s}, nearest = std::abs(off);
        }
    const ClearanceHole& largest = *std::rbegin(kHoles);
    const double most = largest.hole_mm[2] + holeTolerance(Series::Coarse, largest.hole_mm[2]) + doubt;
    if (best.row || diameter_mm > most) return best;
    for (const ClearanceHole& row : kHoles)
        if (row.hole_mm[0] <= diameter_mm + kRounding_mm) best.row = &row;
    return best;
}

std::string useWords(const HoleUse& use) {
    if (!use.row) return "no standard screw";
    if (!use.series) return fmt::format("passes {}", use.row->thread);
    return fmt::format("{} {} ({})", use.row->thread, seriesName(*use.series),
                       use.row->hole_mm[static_cast<std::size_t>(*use.series)]);
}

}  // namespace trammel::standard
