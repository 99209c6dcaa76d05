// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "core/math/Types.h"

/// Pages drawn to true scale: millimetres from the lower left corner of the paper, x right, y up.
namespace trammel::sheet {

/// Size of a sheet of paper in upright or lying format, mm.
struct Paper {
    const char* name;
    double width_mm, height_mm;
};
inline constexpr Paper kA4{"A4", 210.0, 297.0}, kA3{"A3", 297.0, 420.0};  ///< ISO 216
inline constexpr Paper kA2{"A2", 420.0, 594.0}, kA1{"A1", 594.0, 841.0}, kA0{"A0", 841.0, 1189.0};
inline constexpr Paper kLetter{"Letter", 215.9, 279.4};  ///< ASME Y14.1 size A, 8.5 in × 11 in
inline constexpr std::array<Paper, 6> kPapers{kA4, kA3, kA2, kA1, kA0, kLetter};
/// By its name, in letters of any size; nothing for another word.
std::optional<Paper> paperNamed(std::string_view name);
inline Paper lying(const Paper& p) { return {p.name, p.height_mm, p.width_mm}; }

/// Red, green, blue of the sRGB curve, 0..1.
using Colour = std::array<double, 3>;
inline constexpr Colour kBlack{0, 0, 0}, kGrey{0.45, 0.45, 0.45}, kWhite{1, 1, 1};

/// How a line is drawn; widths of ISO 128-2 are 0.13, 0.18, 0.25, 0.35, 0.5, 0.7 mm.
struct Pen {
    double width_mm = 0.25;
    Colour colour = kBlack;
    std::vector<double> dashes_mm{};  ///< stroke, gap, stroke, … ; empty: unbroken
};

/// Straight strokes from point to point.
struct Polyline {
    std::vector<Vec2> points;
    bool closed = false;
    Pen pen{};
};

/// Area without a rim.
struct Area {
    std::vector<Vec2> points;
    Colour colour = kBlack;
};

/// Part of a circle from angle `from`, over `sweep` (rad, positive counterclockwise; 2π: the whole).
struct Arc {
    Vec2 centre = Vec2::Zero();
    double radius_mm = 0.0, from = 0.0, sweep = 6.283185307179586;
    Pen pen{};
};

enum class Anchor { Left, Middle, Right };

/// One line of text; `at` lies on its base line.
struct Text {
    Vec2 at = Vec2::Zero();
    std::string words;
    double height_mm = 2.5;  ///< of capital letters; ISO 3098-1 has 1.8, 2.5, 3.5, 5, 7
    Anchor anchor = Anchor::Left;
    double angle = 0.0;  ///< rad, counterclockwise
    bool bold = false;
    Colour colour = kBlack;
};

using Item = std::variant<Polyline, Area, Arc, Text>;

/// What lies on one page, drawn in order.
struct Sheet {
    Paper paper = kA4;
    std::vector<Item> items;
    void add(Item item);
};

/// Width of a line of text in the font that is written, mm.
double widthOf(const Text& text);

/// The words in lines no wider than `width_mm`, broken at spaces; a longer word stands alone.
std::vector<std::string> brokenToWidth(const std::string& words, double height_mm, double width_mm);

}  // namespace trammel::sheet
