// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/production/Lines.h"

#include <cmath>

namespace trammel::production {
namespace {

using drawing::FigureKind;

class Hand {
  public:
    Hand(sheet::Sheet& page, double width, double arrow) : page_(page), width_(width), arrow_(arrow) {}
    void line(const Vec2& a, const Vec2& b) const { page_.add(sheet::Polyline{{a, b}, false, {width_}}); }
    /// Its tip at `tip`, pointing along `u`; an angle of 15° between its sides.
    void arrow(const Vec2& tip, const Vec2& u) const {
        const Vec2 back = tip - arrow_ * u, side = 0.1317 * arrow_ * Vec2(-u.y(), u.x());
        page_.add(sheet::Area{{tip, back + side, back - side}});
    }
    void extension(const Vec2& from, const Vec2& to) const {
        const Vec2 d = to - from;
        const double length = d.norm(), gap = 8 * width_;
        if (length < 2 * gap) return;
        line(from + gap / length * d, to + gap / length * d);
    }

  private:
    sheet::Sheet& page_;
    double width_, arrow_;
};

void linear(const drawing::Figure& f, const OnPage& to, const Hand& hand, double h) {
    const Vec2 u(std::cos(f.angle), std::sin(f.angle)), n(-u.y(), u.x());
    const Vec2 a = to(Vec2(f.first + (f.linePoint - f.first).dot(n) * n)), b = to(f.linePoint);
    hand.extension(to(f.first), a);
    hand.extension(to(f.second), b);
    const double run = (b - a).dot(u), sign = run < 0 ? -1.0 : 1.0;
    const bool inside = std::abs(run) > 3 * h;  // else the arrows point inwards from outside
    const Vec2 tail = inside ? Vec2::Zero() : Vec2(sign * 2 * h * u);
    hand.line(a - tail, b + tail);
    hand.arrow(a, inside ? Vec2(-sign * u) : Vec2(sign * u));
    hand.arrow(b, inside ? Vec2(sign * u) : Vec2(-sign * u));
}

}  // namespace

LineGroup groupFor(const sheet::Paper& paper) {
    return paper.width_mm * paper.height_mm > 1.01 * sheet::kA3.width_mm * sheet::kA3.height_mm
               ? LineGroup{0.5, 0.25}
               : LineGroup{0.35, 0.18};
}

sheet::Pen penFor(LineKind kind, const LineGroup& g) {
    const double d = g.narrow_mm;
    switch (kind) {
        case LineKind::Visible:
            return {g.wide_mm};
        case LineKind::Hidden:
            return {d, sheet::kBlack, {12 * d, 3 * d}};
        case LineKind::Centre:
            return {d, sheet::kBlack, {24 * d, 3 * d, 0.5 * d, 3 * d}};
        case LineKind::Adjacent:
            return {d, sheet::kBlack, {24 * d, 3 * d, 0.5 * d, 3 * d, 0.5 * d, 3 * d}};
        case LineKind::Measured:
            break;
    }
    return {d};
}

void drawLine(const ViewLine& line, const OnPage& to, const LineGroup& group, sheet::Sheet& page) {
    sheet::Polyline out{{}, false, penFor(line.kind, group)};
    for (const Vec2& p : line.points) out.points.push_back(to(p));
    const auto& q = out.points;
    if (q.size() > 3 && (q.front() - q.back()).norm() < 1e-9) {
        out.points.pop_back();
        out.closed = true;
    }
    page.add(std::move(out));
}

void drawFigure(const drawing::Figure& f, const OnPage& to, double text_mm, const LineGroup& group,
                sheet::Sheet& page) {
    const Hand hand(page, group.narrow_mm, text_mm);
    if (f.kind == FigureKind::Linear) {
        linear(f, to, hand, text_mm);
    } else {
        const Vec2 u(std::cos(f.angle), std::sin(f.angle)), at = to(f.linePoint);
        hand.line(to(f.second), at);
        hand.line(at, at + Vec2(f.textMiddle.x() >= f.linePoint.x() ? 0.5 * text_mm : -0.5 * text_mm, 0));
        hand.arrow(to(f.second), -u);
    }
}

void writeFigure(const drawing::Figure& f, const OnPage& to, double text_mm, sheet::Sheet& page) {
    const Vec2 along(std::cos(f.textAngle), std::sin(f.textAngle)), up(-along.y(), along.x());
    const Vec2 middle = to(f.textMiddle);
    sheet::Text text{middle - 0.5 * text_mm * up, f.text, text_mm, sheet::Anchor::Middle, f.textAngle};
    const Vec2 half(0.5 * sheet::widthOf(text) + 0.3, 0.5 * text_mm + 0.3);
    sheet::Area ground{{}, sheet::kWhite};
    for (const auto& [x, y] : {std::pair{-1, -1}, {1, -1}, {1, 1}, {-1, 1}})
        ground.points.push_back(middle + x * half.x() * along + y * half.y() * up);
    page.add(std::move(ground));
    page.add(std::move(text));
}

}  // namespace trammel::production
