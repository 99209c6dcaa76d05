// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/handover/Template.h"

#include <fmt/core.h>

#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/drawing/Kerf.h"
#include "core/handover/Flatten.h"

namespace trammel::handover {
namespace {

constexpr double kRoom = 5.0;    // around the drawing
constexpr double kFoot = 9.0;    // for the words below the window
constexpr double kCross = 4.0;   // arm of a cross
constexpr double kFlat = 0.002;  // chords stay this near to arcs
constexpr int kMostPages = 200;

using sheet::Sheet;

/// Draws with the correction about the page's lower left corner.
struct Hand {
    Sheet& page;
    Eigen::Matrix2d correction;

    void line(const Vec2& a, const Vec2& b, double width, const sheet::Colour& colour = sheet::kBlack,
              std::vector<double> dashes = {}) const {
        page.add(
            sheet::Polyline{{correction * a, correction * b}, false, {width, colour, std::move(dashes)}});
    }
    void cross(const Vec2& at) const {
        line(at - Vec2(kCross, 0), at + Vec2(kCross, 0), 0.13);
        line(at - Vec2(0, kCross), at + Vec2(0, kCross), 0.13);
    }
    void words(const Vec2& at, const std::string& text, double height, double angle = 0.0,
               sheet::Anchor anchor = sheet::Anchor::Left) const {
        page.add(sheet::Text{correction * at, text, height, anchor, angle});
    }
};

/// The part of a → b within the box (Liang, Barsky 1984); false: none of it.
bool clip(Vec2& a, Vec2& b, const Vec2& low, const Vec2& high) {
    const Vec2 d = b - a;
    double from = 0.0, to = 1.0;
    for (int k = 0; k < 2; ++k)
        for (const auto& [p, q] : {std::pair{-d[k], a[k] - low[k]}, std::pair{d[k], high[k] - a[k]}}) {
            if (p == 0.0) {
                if (q < 0) return false;
                continue;
            }
            const double t = q / p;
            if (p < 0)
                from = std::max(from, t);
            else
                to = std::min(to, t);
        }
    if (from > to) return false;
    b = a + to * d;
    a = a + from * d;
    return true;
}

struct Curve {
    std::vector<Vec2> points;
    sheet::Pen pen;
    bool closed = true;
};

/// Runs of connected points of a line within the window.
void drawWithin(const Hand& hand, const Curve& curve, const Vec2& shift, const Vec2& low, const Vec2& high) {
    const std::vector<Vec2>& points = curve.points;
    sheet::Polyline run{{}, false, curve.pen};
    const auto flush = [&] {
        if (run.points.size() > 1) hand.page.add(run);
        run.points.clear();
    };
    Vec2 last = Vec2::Constant(1e300);
    const std::size_t sides = points.size() - (curve.closed ? 0 : 1);
    for (std::size_t i = 0; i < sides; ++i) {
        Vec2 a = points[i] + shift, b = points[(i + 1) % points.size()] + shift;
        if (!clip(a, b, low, high)) {
            flush();
            continue;
        }
        if (run.points.empty() || (a - last).norm() > 1e-9) {
            flush();
            run.points.push_back(hand.correction * a);
        }
        run.points.push_back(hand.correction * b);
        last = b;
    }
    flush();
}

std::vector<Curve> curvesOf(const drawing::Drawing& d, const Tabs& tabs) {
    std::vector<Curve> out;
    const sheet::Pen cut{0.18}, seen{0.18, sheet::kGrey}, keepOut{0.18, {0.75, 0.2, 0}, {3, 1.5}};
    for (const auto& c : d.chains) {
        if (c.purpose == survey::OutlinePurpose::KeepOut) {
            out.push_back({flattened(c.chain, kFlat), keepOut});
            continue;
        }
        const Runs runs = runsOf(c.chain, tabs, kFlat);
        for (const auto& points : runs.runs) out.push_back({points, cut, runs.closed});
    }
    for (const auto& h : d.holes)
        out.push_back({flattened(geometry::circleChain(h.circle), kFlat), h.cut ? cut : seen});
    for (const auto& m : d.centreMarks)
        for (const Vec2& arm : {Vec2(m.reach, 0), Vec2(0, m.reach)})
            out.push_back({{m.centre - arm, m.centre + arm}, {0.13, sheet::kGrey}});
    return out;
}

std::string headline(const drawing::Drawing& d) {
    const bool held = std::any_of(d.remarks.begin(), d.remarks.end(),
                                  [](const std::string& r) { return r.rfind("DO NOT CUT", 0) == 0; });
    return fmt::format("{}{}, revision {}, {} face", held ? "DO NOT CUT (the survey disagrees). " : "",
                       d.title.empty() ? "Untitled part" : d.title, d.revision,
                       d.face == drawing::Face::Top ? "top" : "bottom");
}

Sheet barsPage(const drawing::Drawing& d, const TemplateTerms& terms, const Tiling& t,
               const Eigen::Matrix2d& correction) {
    Sheet page{terms.paper, {}};
    const Hand hand{page, correction};
    const Vec2 o(terms.margin_mm + 25, terms.margin_mm + 45);
    hand.line(o, o + Vec2(100, 0), 0.25);
    hand.line(o, o + Vec2(0, 100), 0.25);
    hand.line(o + Vec2(100, 0), o + Vec2(0, 100), 0.25);
    for (const Vec2& tick : {Vec2(0, 0), Vec2(100, 0)})
        hand.line(o + tick - Vec2(0, 4), o + tick + Vec2(0, 4), 0.13);
    for (const Vec2& tick : {Vec2(0, 0), Vec2(0, 100)})
        hand.line(o + tick - Vec2(4, 0), o + tick + Vec2(4, 0), 0.13);
    hand.words(o + Vec2(50, -8), "100 mm in x", 2.5, 0, sheet::Anchor::Middle);
    hand.words(o + Vec2(-6, 50), "100 mm in y", 2.5, std::numbers::pi / 2, sheet::Anchor::Middle);
    hand.words(o + Vec2(53, 53), "141.42 mm", 2.5, -std::numbers::pi / 4, sheet::Anchor::Middle);
    double y = terms.paper.height_mm - terms.margin_mm - 10;
    const auto say = [&](const std::string& s, double height) {
        for (const auto& part :
             sheet::brokenToWidth(s, height, terms.paper.width_mm - 2 * terms.margin_mm - 10)) {
            hand.words({terms.margin_mm + 5, y}, part, height);
            y -= 1.9 * height;
        }
    };
    say(headline(d), 5);
    say(fmt::format(
            "Template at true scale: {} x {} pages (rows x columns). Print at 100 %, not fitted to the "
            "page. Measure the three bars before you use it; give what they measure, and the pages are "
            "corrected.",
            t.rows, t.columns),
        2.5);
    say(drawing::kerfWords(d.kerf) + ".", 2.5);
    say(tabWords(d, terms.tabs), 2.5);
    if (!correction.isIdentity(1e-12))
        say(fmt::format("Corrected for bars that measured {:.2f}, {:.2f} and {:.2f} mm.", terms.bars.x,
                        terms.bars.y, terms.bars.diagonal),
            2.5);
    say("Join the pages so that crosses fall on crosses, then check a length over the joint.", 2.5);
    say("Knives and cut edges: cut away from yourself on a mat.", 2.5);
    return page;
}

}  // namespace

Result<Eigen::Matrix2d> printerOf(const PrintedBars& b) {
    const double slant = (b.x * b.x + b.y * b.y - b.diagonal * b.diagonal) / (2 * b.x * b.y);
    const auto off = [](double v, double from) { return !(std::abs(v / from - 1) <= 0.1); };
    if (off(b.x, 100) || off(b.y, 100) || off(b.diagonal, 100 * std::numbers::sqrt2) ||
        !(std::abs(slant) < 0.1))
        return Error{ErrorCode::BadValue,
                     fmt::format("measured {}, {} and {} mm, which no printer at 100 % makes of 100, 100 and "
                                 "141.42",
                                 b.x, b.y, b.diagonal),
                     "printed bars", "print at 100 % and measure in mm"};
    Eigen::Matrix2d m;
    m << b.x / 100, slant * b.y / 100, 0.0, std::sqrt(1 - slant * slant) * b.y / 100;
    return m;
}

Vec2 Tiling::windowLow(int row, int column) const {
    return low + Vec2(column * step.x(), (rows - 1 - row) * step.y());
}

Result<Tiling> tilingOf(const drawing::Drawing& d, const TemplateTerms& terms) {
    Tiling t;
    t.corner = Vec2(terms.margin_mm, terms.margin_mm + kFoot);
    t.window = Vec2(terms.paper.width_mm, terms.paper.height_mm) - t.corner - Vec2::Constant(terms.margin_mm);
    t.step = t.window - Vec2::Constant(terms.overlap_mm);
    const Vec2 size = d.part.high - d.part.low + Vec2::Constant(2 * kRoom);
    const bool sound = t.step.allFinite() && size.allFinite() && terms.margin_mm >= 0 &&
                       terms.overlap_mm >= 2 * kCross && t.step.minCoeff() > 20;
    if (!sound)
        return Error{
            ErrorCode::BadValue, "leaves no room on the pages", "template",
            fmt::format("choose larger paper, a smaller margin, an overlap of {} mm or more", 2 * kCross)};
    const auto count = [&](int k) {
        return std::max(1.0, std::ceil((size[k] - terms.overlap_mm) / t.step[k]));
    };
    if (count(0) * count(1) > kMostPages)
        return Error{ErrorCode::Refused, fmt::format("would take {:.0f} pages", count(0) * count(1)),
                     "template", "choose larger paper"};
    t.columns = static_cast<int>(count(0)), t.rows = static_cast<int>(count(1));
    t.low = d.part.low - Vec2::Constant(kRoom);
    return t;
}

Result<std::vector<Sheet>> templatePages(const drawing::Drawing& d, const TemplateTerms& terms) {
    const auto tiling = tilingOf(d, terms);
    if (!tiling) return tiling.error();
    const auto printer = printerOf(terms.bars);
    if (!printer) return printer.error();
    if (!(terms.tabs.width_mm >= 0.0 && terms.tabs.width_mm <= 10.0))
        return Error{ErrorCode::BadValue, "are not from 0 to 10 mm wide", "tabs",
                     "choose about the card's thickness"};
    const Eigen::Matrix2d correction = printer->inverse();
    const Tiling& t = *tiling;
    std::vector<Sheet> pages{barsPage(d, terms, t, correction)};
    const auto curves = curvesOf(d, terms.tabs);
    for (int row = 0; row < t.rows; ++row)
        for (int column = 0; column < t.columns; ++column) {
            Sheet page{terms.paper, {}};
            const Hand hand{page, correction};
            const Vec2 low = t.corner, high = t.corner + t.window,
                       shift = t.corner - t.windowLow(row, column);
            for (const Curve& c : curves) drawWithin(hand, c, shift, low, high);
            // In the middle of every overlap, where four pages meet or would.
            for (int i = 0; i <= t.columns; ++i)
                for (int j = 0; j <= t.rows; ++j) {
                    const Vec2 at = t.low + Vec2(i * t.step.x(), j * t.step.y()) +
                                    Vec2::Constant(0.5 * terms.overlap_mm) + shift;
                    const Vec2 room = Vec2::Constant(kCross);
                    if (((at - room - low).array() >= 0).all() && ((high - at - room).array() >= 0).all())
                        hand.cross(at);
                }
            hand.words({terms.margin_mm, terms.margin_mm + 3},
                       fmt::format("Row {} of {}, column {} of {}. {}. Print at 100 %.", row + 1, t.rows,
                                   column + 1, t.columns, headline(d)),
                       2.5);
            pages.push_back(std::move(page));
        }
    return pages;
}

}  // namespace trammel::handover
