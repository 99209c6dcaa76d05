// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/calibrate/Grid.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <optional>

namespace trammel::calibrate {
namespace {

double codeAt(const photo::Image& image, const Vec2& p) {
    const int x = std::clamp(static_cast<int>(std::lround(p.x())), 0, image.width - 1);
    const int y = std::clamp(static_cast<int>(std::lround(p.y())), 0, image.height - 1);
    const std::uint8_t* at = image.at(x, y);
    return image.channels == 3 ? (at[0] + at[1] + at[2]) / 3.0 : at[0];
}

/// Place at fractions (u, v) of the square whose upper left corner is grid corner (i, j); the square may lie
/// one beyond the grid, then it repeats its neighbour's shape.
Vec2 inSquare(const Grid& g, int i, int j, double u, double v) {
    const int a = std::clamp(i, 0, g.across - 2), b = std::clamp(j, 0, g.down - 2);
    const double s = u + (i - a), t = v + (j - b);
    return (1 - s) * (1 - t) * g.at(a, b) + s * (1 - t) * g.at(a + 1, b) + (1 - s) * t * g.at(a, b + 1) +
           s * t * g.at(a + 1, b + 1);
}

/// Mean code over places of a square away from its sides and its dot.
double fieldOf(const photo::Image& image, const Grid& g, int i, int j) {
    double sum = 0.0;
    for (const double u : {0.22, 0.78})
        for (const double v : {0.22, 0.78}) sum += codeAt(image, inSquare(g, i, j, u, v));
    return sum / 4.0;
}

double middleOf(const photo::Image& image, const Grid& g, int i, int j) {
    double sum = 0.0;
    for (const double u : {0.46, 0.54})
        for (const double v : {0.46, 0.54}) sum += codeAt(image, inSquare(g, i, j, u, v));
    return sum / 4.0;
}

/// The grid read in one of four turns.
struct Turned {
    const Grid& grid;
    int turn = 0;
    int across() const { return turn & 1 ? grid.down : grid.across; }
    int down() const { return turn & 1 ? grid.across : grid.down; }
    const Vec2& at(int i, int j) const {
        switch (turn) {
            case 1:
                return grid.at(j, grid.down - 1 - i);
            case 2:
                return grid.at(grid.across - 1 - i, grid.down - 1 - j);
            case 3:
                return grid.at(grid.across - 1 - j, i);
            default:
                return grid.at(i, j);
        }
    }
    Grid copy() const {
        Grid out{across(), down(), {}};
        for (int j = 0; j < out.down; ++j)
            for (int i = 0; i < out.across; ++i) out.px.push_back(at(i, j));
        return out;
    }
};

double cross(const Vec2& a, const Vec2& b) { return a.x() * b.y() - a.y() * b.x(); }

Vec2 alongX(const Grid& g) { return g.at(g.across - 1, 0) - g.at(0, 0); }

/// The same corners such that x × y points away from the camera: right-handed with y down.
Grid rightHanded(const Grid& g) {
    if (cross(alongX(g), g.at(0, g.down - 1) - g.at(0, 0)) > 0) return g;
    Grid out{g.across, g.down, {}};
    for (int j = 0; j < g.down; ++j)
        for (int i = 0; i < g.across; ++i) out.px.push_back(g.at(g.across - 1 - i, j));
    return out;
}

/// Sum over the grid's squares of their code, + where a board with a black first corner square has white;
/// over the sum of absolute differences: −1..1.
double colourAgreement(const Grid& g, const photo::Image& image) {
    std::vector<double> field;
    double mean = 0.0;
    for (int j = 0; j + 1 < g.down; ++j)
        for (int i = 0; i + 1 < g.across; ++i) mean += field.emplace_back(fieldOf(image, g, i, j));
    mean /= static_cast<double>(field.size());
    double sum = 0.0, all = 1e-9;
    std::size_t k = 0;
    for (int j = 0; j + 1 < g.down; ++j)
        for (int i = 0; i + 1 < g.across; ++i) {
            const double d = field[k++] - mean;
            sum += isBlack(i + 1, j + 1) ? -d : d;
            all += std::abs(d);
        }
    return sum / all;
}

struct Dot {
    int i, j;    ///< square whose upper left corner is this grid corner
    bool black;  ///< the square
    bool set;    ///< a dot of the other colour in its middle
};

/// Squares that the picture tells black from white, with their dots.
std::vector<Dot> readDots(const Grid& g, const photo::Image& image, double agreement) {
    std::vector<Dot> out;
    for (int j = 0; j + 1 < g.down; ++j)
        for (int i = 0; i + 1 < g.across; ++i) {
            // A square's neighbours have the other colour: the local contrast.
            const double own = fieldOf(image, g, i, j);
            double other = 0.0;
            int n = 0;
            for (const auto& [di, dj] : {std::pair{1, 0}, {-1, 0}, {0, 1}, {0, -1}}) {
                const int a = i + di, b = j + dj;
                if (a < 0 || b < 0 || a + 1 >= g.across || b + 1 >= g.down) continue;
                other += fieldOf(image, g, a, b);
                ++n;
            }
            if (n == 0 || std::abs(other / n - own) < 12.0) continue;
            const double part = (middleOf(image, g, i, j) - own) / (other / n - own);
            const bool black = isBlack(i + 1, j + 1) == (agreement > 0);
            out.push_back({i, j, black, part > 0.4});
        }
    return out;
}

struct Placing {
    int turn = 0, column = 0, row = 0;  ///< board square of the turned grid's first square
    double agreement = -1.0;            ///< share of dots
};

/// Best placing, and the agreement of the best that is another one.
std::pair<Placing, double> placeDots(const Grid& g, const Board& board, const photo::Image& image) {
    Placing best;
    double second = -1.0;
    for (int turn = 0; turn < 4; ++turn) {
        const Grid t = Turned{g, turn}.copy();
        const auto dots = readDots(t, image, colourAgreement(t, image));
        if (dots.size() < 16) continue;
        // The grid may reach a square beyond the board where clutter went on like squares.
        for (int row = -1; row + t.down - 1 <= board.rows + 1; ++row)
            for (int column = -1; column + t.across - 1 <= board.columns + 1; ++column) {
                int right = 0, all = 0;
                bool colours = true;
                for (const Dot& d : dots) {
                    const int c = column + d.i, r = row + d.j;
                    if (c < 0 || r < 0 || c >= board.columns || r >= board.rows) continue;
                    colours = colours && d.black == isBlack(c, r);
                    right += d.set == hasDot(c, r);
                    ++all;
                }
                if (!colours || all < 16) continue;
                const double share = static_cast<double>(right) / std::max<double>(all, 0.8 * dots.size());
                if (share > best.agreement) {
                    second = best.agreement;
                    best = {turn, column, row, share};
                } else {
                    second = std::max(second, share);
                }
            }
    }
    return {best, second};
}

/// Whether the dots are those of a picture taken through a mirror or flipped since.
bool mirrored(const Grid& g, const Board& board, const photo::Image& image) {
    Grid flipped{g.across, g.down, {}};
    for (int j = 0; j < g.down; ++j)
        for (int i = 0; i < g.across; ++i) flipped.px.push_back(g.at(g.across - 1 - i, j));
    return placeDots(flipped, board, image).first.agreement >= 0.95;
}

}  // namespace

Result<std::vector<SeenCorner>> numberPlain(const Grid& found, const Board& board,
                                            const photo::Image& image) {
    const Grid grid = rightHanded(found);
    std::optional<Grid> best;
    double bestScore = -1e9;
    for (int turn = 0; turn < 4; ++turn) {
        Grid t = Turned{grid, turn}.copy();
        if (t.across != board.cornerColumns() || t.down != board.cornerRows()) continue;
        const double colours = colourAgreement(t, image);
        const double score = (colours > 0 ? 10.0 : 0.0) + alongX(t).normalized().x();
        if (score > bestScore) {
            bestScore = score;
            best = std::move(t);
        }
    }
    if (!best || std::abs(colourAgreement(*best, image)) < 0.5)
        return Error{ErrorCode::Refused, "what looks like a board has no squares of two colours", "",
                     "show the board sharp and evenly lit"};
    std::vector<SeenCorner> out;
    for (int j = 0; j < best->down; ++j)
        for (int i = 0; i < best->across; ++i) out.push_back({i, j, best->at(i, j)});
    return out;
}

Result<std::vector<SeenCorner>> numberByDots(const Grid& found, const Board& board,
                                             const photo::Image& image) {
    const Grid grid = rightHanded(found);
    const auto refuse = [](const char* what, const char* remedy) {
        return Error{ErrorCode::Refused, what, "", remedy};
    };
    if (grid.across < 5 || grid.down < 5)
        return refuse("too few squares of the board are seen to read its dots",
                      "show 6 by 6 squares or more");
    const auto [best, second] = placeDots(grid, board, image);
    if (best.agreement < 0.9 || best.agreement - second < 0.08) {
        if (mirrored(grid, board, image))
            return refuse("the photograph is mirrored", "take it again without a mirror, or flip it back");
        return refuse("the dots on the squares are not those of the board",
                      "print the board again, name its columns and rows, or show more of it");
    }
    const Grid t = Turned{grid, best.turn}.copy();
    std::vector<SeenCorner> out;
    for (int j = 0; j < t.down; ++j)
        for (int i = 0; i < t.across; ++i) {
            // Upper left corner of board square (c, r) is inner corner (c − 1, r − 1).
            const int a = best.column + i - 1, b = best.row + j - 1;
            if (a >= 0 && b >= 0 && a < board.cornerColumns() && b < board.cornerRows())
                out.push_back({a, b, t.at(i, j)});
        }
    return out;
}

bool squaresGoOn(const Grid& g, const photo::Image& image) {
    // Beyond each side lie the board's outer squares (place −1) and then, on a larger board, further ones.
    const auto alternates = [&](auto square, int count) {
        double dark = 0.0, light = 0.0;
        for (int k = 0; k + 1 < count; ++k) {
            const auto [i, j] = square(k);
            (((k & 1) != 0) ? dark : light) += fieldOf(image, g, i, j);
        }
        const double n = std::max(1.0, 0.5 * (count - 1));
        return std::abs(dark - light) / n > 40.0;
    };
    return alternates(
               [&](int k) {
                   return std::pair{k, -2};
               },
               g.across) ||
           alternates(
               [&](int k) {
                   return std::pair{k, g.down};
               },
               g.across) ||
           alternates(
               [&](int k) {
                   return std::pair{-2, k};
               },
               g.down) ||
           alternates(
               [&](int k) {
                   return std::pair{g.across, k};
               },
               g.down);
}

}  // namespace trammel::calibrate
