// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/handover/Tabs.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "core/drawing/Format.h"
#include "core/geometry/Piece.h"
#include "core/handover/Flatten.h"

namespace trammel::handover {
namespace {

using geometry::Piece;

/// Points of the piece from share a to share b of its length, both ends too.
void follow(const Piece& p, double a, double b, double most, std::vector<Vec2>& out) {
    int n = 1;
    if (p.isArc())
        n += static_cast<int>(
            std::clamp(std::abs(p.sweep) * (b - a) * std::sqrt(p.circle.radius / (8 * most)), 0.0, 5000.0));
    if (out.empty()) out.push_back(p.at(a));
    for (int i = 1; i <= n; ++i) out.push_back(p.at(a + (b - a) * i / n));
}

}  // namespace

Runs runsOf(const geometry::Chain& chain, const Tabs& tabs, double most) {
    Runs out;
    out.runs.emplace_back();
    const double whole = perimeter(chain);
    double along = 0.0, last = -tabs.every_mm, opening = whole;  // of tabs, along the chain
    for (const Piece& p : pieces(chain)) {
        const double length = p.length();
        double from = 0.0;
        if (tabs.width_mm > 0.0 && length >= std::max(tabs.least_mm, 3 * tabs.width_mm)) {
            const int n = std::max(1, static_cast<int>(length / tabs.every_mm));
            for (int k = 0; k < n; ++k) {
                const double middle = (k + 0.5) / n, half = 0.5 * tabs.width_mm / length;
                const double here = along + middle * length;
                // The last one keeps its distance from the first over the chain's beginning as well.
                if (here - last < 0.5 * tabs.every_mm || opening + whole - here < 0.5 * tabs.every_mm)
                    continue;
                last = here;
                if (out.tabs == 0) opening = here;
                follow(p, from, middle - half, most, out.runs.back());
                out.runs.emplace_back();
                from = middle + half;
                ++out.tabs;
            }
        }
        follow(p, from, 1.0, most, out.runs.back());
        along += length;
    }
    if (out.tabs == 0) {
        out.closed = true;
        out.runs.back().pop_back();  // it is the first again
        return out;
    }
    // What runs over the chain's beginning is one run.
    auto& first = out.runs.front();
    out.runs.back().insert(out.runs.back().end(), first.begin() + 1, first.end());
    out.runs.erase(out.runs.begin());
    return out;
}

std::string tabWords(const drawing::Drawing& d, const Tabs& tabs) {
    if (!(tabs.width_mm > 0.0)) return "";
    std::size_t count = 0;
    for (const auto& c : d.chains)
        if (c.purpose != survey::OutlinePurpose::KeepOut) count += runsOf(c.chain, tabs, 0.1).tabs;
    if (count == 0)
        return fmt::format(
            "No tab is left although tabs of {} mm were asked for: no line or arc to be cut is {} mm long or "
            "longer. Hold the card down otherwise.",
            drawing::fixed(tabs.width_mm, 2), drawing::fixed(std::max(tabs.least_mm, 3 * tabs.width_mm), 0));
    return fmt::format(
        "{} tabs of {} mm are left in the lines to be cut, none on lines and arcs shorter than {} mm and "
        "none in "
        "holes: cut them last.",
        count, drawing::fixed(tabs.width_mm, 2),
        drawing::fixed(std::max(tabs.least_mm, 3 * tabs.width_mm), 0));
}

}  // namespace trammel::handover
