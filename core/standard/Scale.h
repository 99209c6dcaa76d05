// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <array>
#include <string>

namespace trammel::standard {

/// A scale of ISO 5455:1979: `paper` mm on the sheet for `part` mm of the part.
struct Scale {
    int paper = 1, part = 1;
    double factor() const { return static_cast<double>(paper) / part; }
    std::string words() const { return std::to_string(paper) + ":" + std::to_string(part); }
};

/// The scales of the standard from 50:1 down to 1:10000, largest first.
inline constexpr std::array<Scale, 18> kScales{{{50, 1},
                                                {20, 1},
                                                {10, 1},
                                                {5, 1},
                                                {2, 1},
                                                {1, 1},
                                                {1, 2},
                                                {1, 5},
                                                {1, 10},
                                                {1, 20},
                                                {1, 50},
                                                {1, 100},
                                                {1, 200},
                                                {1, 500},
                                                {1, 1000},
                                                {1, 2000},
                                                {1, 5000},
                                                {1, 10000}}};

}  // namespace trammel::standard
