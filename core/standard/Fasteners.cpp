// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/standard/Fasteners.h"

namespace trammel::standard {
namespace {

constexpr Fastener kFasteners[] = {
    {"M1.6", 1.6, 0.35, 1.25, 4.0, 0.3, 1.3, 2.4},   {"M2", 2.0, 0.4, 1.6, 5.0, 0.3, 1.6, 3.2},
    {"M2.5", 2.5, 0.45, 2.05, 6.0, 0.5, 2.0, 3.6},   {"M3", 3.0, 0.5, 2.5, 7.0, 0.5, 2.4, 4.0},
    {"M3.5", 3.5, 0.6, 2.9, 8.0, 0.5, 2.8, 4.8},     {"M4", 4.0, 0.7, 3.3, 9.0, 0.8, 3.2, 5.6},
    {"M5", 5.0, 0.8, 4.2, 10.0, 1.0, 4.7, 6.4},      {"M6", 6.0, 1.0, 5.0, 12.0, 1.6, 5.2, 8.0},
    {"M8", 8.0, 1.25, 6.8, 16.0, 1.6, 6.8, 9.7},     {"M10", 10.0, 1.5, 8.5, 20.0, 2.0, 8.4, 12.0},
    {"M12", 12.0, 1.75, 10.2, 24.0, 2.5, 10.8, 14.3}};

constexpr double kLengths[] = {2,  3,  4,  5,  6,  8,  10, 12, 16, 20, 25, 30,
                               35, 40, 45, 50, 55, 60, 65, 70, 80, 90, 100};

}  // namespace

std::span<const Fastener> fasteners() { return kFasteners; }

const Fastener* fastenerFor(const std::string& thread) {
    for (const Fastener& f : kFasteners)
        if (thread == f.thread) return &f;
    return nullptr;
}

std::optional<double> screwLength(double least_mm) {
    for (const double l : kLengths)
        if (l >= least_mm - 1e-9) return l;
    return std::nullopt;
}

}  // namespace trammel::standard
