// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/plan/PlanFigures.h"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "core/plan/PlanText.h"
#include "core/plan/Views.h"

namespace trammel::plan {
namespace {

using sheet::Anchor;
using sheet::Area;
using sheet::Pen;
using sheet::Polyline;
using sheet::Sheet;
using sheet::Text;

constexpr double kLetters = 1.8, kHeading = 2.5;
const Pen kOutline{0.35}, kThin{0.13}, kAxis{0.13, sheet::kBlack, {6, 1, 1, 1}},
    kDashed{0.18, sheet::kBlack, {2, 1}};
const sheet::Colour kZone{0.84, 0.90, 0.95};

/// Thing to paper: a point of the thing lies at `anchor` of the page.
struct Map {
    Vec2 anchor = Vec2::Zero();
    double scale = 1.0;
    Vec2 operator()(double x, double y) const { return anchor + scale * Vec2(x, y); }
};

void line(Sheet& page, const Vec2& a, const Vec2& b, const Pen& pen) {
    page.add(Polyline{{a, b}, false, pen});
}

void rectangle(Sheet& page, const Vec2& a, const Vec2& b, const Pen& pen) {
    page.add(Polyline{{a, {b.x(), a.y()}, b, {a.x(), b.y()}}, true, pen});
}

void fill(Sheet& page, const Vec2& a, const Vec2& b, const sheet::Colour& colour) {
    page.add(Area{{a, {b.x(), a.y()}, b, {a.x(), b.y()}}, colour});
}

void label(Sheet& page, const Vec2& at, const std::string& words, Anchor anchor = Anchor::Left) {
    page.add(Text{at, words, kLetters, anchor});
}

void arrow(Sheet& page, const Vec2& tip, double direction) {
    page.add(Area{{tip, tip + Vec2(-2.2 * direction, 0.4), tip + Vec2(-2.2 * direction, -0.4)}});
}

/// Level dimension line with its figure above the middle, or beside it where it is too short for both.
void dimension(Sheet& page, double from, double to, double y, const std::string& words) {
    line(page, {from, y}, {to, y}, kThin);
    const bool within = to - from > 5.0;
    arrow(page, {from, y}, within ? -1.0 : 1.0);
    arrow(page, {to, y}, within ? 1.0 : -1.0);
    const double width = sheet::widthOf({Vec2::Zero(), words, kLetters});
    if (width + 2 < to - from)
        label(page, {0.5 * (from + to), y + 0.8}, words, Anchor::Middle);
    else
        label(page, {to + 3.0, y - 0.9}, words);
}

void heading(Sheet& page, const Frame& frame, const std::string& words, double scale) {
    page.add(Text{{frame.low.x(), frame.high.y() - kHeading}, words + ", " + scaleText(scale), kHeading});
}

/// Camera body and lens; the lens's front is at x = −standOff of the thing.
void camera(Sheet& page, const Map& map, double standOff, double most) {
    const double k = std::min(1.0, most / 140.0), x = -standOff;
    rectangle(page, map(x - 90 * k, -40 * k), map(x, 40 * k), kOutline);
    rectangle(page, map(x - 150 * k, -65 * k), map(x - 90 * k, 65 * k), kOutline);
}

bool oblique(const Plan& plan) {
    return std::any_of(plan.views.begin(), plan.views.end(),
                       [](const std::string& v) { return v.starts_with("oblique"); });
}

/// Outline of the part from the side: the thing's x towards the camera is −z, y upwards; one closed outline
/// of plate and the highest levels, as the task says no more.
std::vector<Vec2> profile(const Task& task, double side) {
    const Box part = partBox(task);
    const double half = 0.5 * side, top = task.highest(), bottom = -part.low.z();
    std::vector<Vec2> p = {{bottom, -half}, {bottom, half}, {0, half}};
    if (top > 0) {
        p.insert(p.end(), {{0, 0.3 * half}, {-top, 0.3 * half}, {-top, -0.3 * half}, {0, -0.3 * half}});
    }
    p.push_back({0, -half});
    return p;
}

void drawProfile(Sheet& page, const Map& map, const std::vector<Vec2>& points, double turn, const Pen& pen) {
    Polyline outline{{}, true, pen};
    for (const Vec2& p : points)
        outline.points.push_back(map(std::cos(turn) * p.x() - std::sin(turn) * p.y(),
                                     std::sin(turn) * p.x() + std::cos(turn) * p.y()));
    page.add(outline);
}

}  // namespace

double scaleFor(const Vec2& extent, const Vec2& room) {
    for (const double k :
         {10.0, 5.0, 2.0, 1.0, 1 / 2.0, 1 / 5.0, 1 / 10.0, 1 / 20.0, 1 / 50.0, 1 / 100.0, 1 / 200.0})
        if (k * extent.x() <= room.x() && k * extent.y() <= room.y()) return k;
    return 1 / 500.0;
}

std::string scaleText(double scale) {
    return scale >= 1 ? fmt::format("{:g} : 1", scale) : fmt::format("1 : {:.0f}", 1 / scale);
}

void drawStanding(Sheet& page, const Frame& frame, const Plan& plan, bool elevation) {
    const Task& t = plan.task;
    const Setup& s = plan.use.setup;
    const double field = elevation ? plan.use.fieldY_mm : plan.use.fieldX_mm;
    const double side = elevation ? t.sizeY_mm : t.sizeX_mm;
    const bool farZone = !std::isfinite(plan.use.sharp.far_mm);
    const double beyond =
        std::max({60.0, -partBox(t).low.z(), 0.5 * side * std::sin(kOblique_deg / 57.3)}) * 1.3;
    const double behind = std::min(kBehind_mm, 0.5 * s.standOff_mm);
    const double reach = s.standOff_mm + behind + beyond;
    const Vec2 room(frame.width(), frame.height() - kHeading - 3.0 - 9.0);
    const double wide = field * (1 + beyond / s.standOff_mm);
    const double k = scaleFor({reach, wide}, room);
    heading(page, frame, elevation ? "Side elevation" : "From above", k);
    const double x0 = frame.low.x() + 0.5 * (room.x() - k * reach) + k * (s.standOff_mm + behind);
    const double y0 = frame.low.y() + 9.0 + 0.5 * room.y();
    const double lowest = 0.5 * k * wide;
    const Map map{{x0, y0}, k};
    const double near = plan.use.sharp.near_mm - s.standOff_mm;
    const double far = farZone ? beyond : std::min(plan.use.sharp.far_mm - s.standOff_mm, beyond);
    const double slope = 0.5 * field / s.standOff_mm;
    const auto edge = [&](double x) { return slope * (x + s.standOff_mm); };
    page.add(Area{{map(near, -edge(near)), map(far, -edge(far)), map(far, edge(far)), map(near, edge(near))},
                  kZone});
    for (const double sign : {-1.0, 1.0})
        line(page, map(-s.standOff_mm, 0), map(beyond, sign * edge(beyond)), kThin);
    line(page, map(-s.standOff_mm - behind, 0), map(beyond, 0), kAxis);
    camera(page, map, s.standOff_mm, 0.6 * room.y() / k);
    drawProfile(page, map, profile(t, side), 0.0, kOutline);
    const double y = std::max(frame.low.y() + 3.0, y0 - lowest - 8.0);
    for (const double x : {-s.standOff_mm, 0.0})
        line(page, {map(x, 0).x(), y - 1},
             {map(x, 0).x(), x < 0 ? map(0, -40).y() : map(0, -0.5 * side).y() - 1}, kThin);
    dimension(page, map(-s.standOff_mm, 0).x(), map(0, 0).x(), y,
              "stand-off " + lengthText(s.standOff_mm) + ", lens to datum level");
    page.add(Text{{frame.high.x(), frame.high.y() - kHeading},
                  elevation ? fmt::format("picture {:.0f} mm high, part's y up; tinted: sharp", field)
                            : fmt::format("picture {:.0f} mm wide, part's x up; tinted: sharp", field),
                  kLetters,
                  Anchor::Right});
}

void drawZone(Sheet& page, const Frame& frame, const Plan& plan) {
    const Task& t = plan.task;
    const Setup& s = plan.use.setup;
    const double half = 0.5 * std::max(t.sizeX_mm, t.sizeY_mm);
    const double tipped = oblique(plan) ? half * std::sin(kOblique_deg * std::numbers::pi / 180) : 0.0;
    const double before = std::max(tipped, t.highest()) * 1.25 + 5,
                 after = std::max(tipped, -partBox(t).low.z()) * 1.25 + 5;
    const double near = std::max(plan.use.sharp.near_mm - s.standOff_mm, -before);
    const double far = std::min(plan.use.sharp.far_mm - s.standOff_mm, after);
    const Vec2 room(frame.width(), frame.height() - kHeading - 3.0 - 12.0);
    const double k = scaleFor({before + after, 2.1 * half}, room);
    heading(page, frame, "Sharp zone", k);
    const Map map{
        {frame.low.x() + 0.5 * room.x() + 0.5 * k * (before - after), frame.low.y() + 12.0 + 0.5 * room.y()},
        k};
    fill(page, map(near, -1.05 * half), map(far, 1.05 * half), kZone);
    line(page, map(-before, 0), map(after, 0), kAxis);
    const double focus = s.focus_mm - s.standOff_mm;
    line(page, map(focus, -1.05 * half), map(focus, 1.05 * half), kDashed);
    const auto points = profile(t, 2 * half);
    drawProfile(page, map, points, 0.0, kOutline);
    if (oblique(plan)) drawProfile(page, map, points, -kOblique_deg * std::numbers::pi / 180, kDashed);
    const double zoneNear = s.standOff_mm - plan.use.sharp.near_mm,
                 zoneFar = plan.use.sharp.far_mm - s.standOff_mm;
    label(page, {frame.low.x(), frame.low.y() + 7.5},
          fmt::format("Sharp to two pixels from {:.0f} mm before", zoneNear));
    label(page, {frame.low.x(), frame.low.y() + 4.5},
          std::isfinite(zoneFar) ? fmt::format("to {:.0f} mm behind the datum level.", zoneFar)
                                 : std::string("the datum level to infinity."));
    label(page, {frame.low.x(), frame.low.y() + 1.5},
          fmt::format("Camera at the left. Dashed upright: focus{}.",
                      oblique(plan) ? "; dashed part: tipped" : ""));
}

void drawPicture(Sheet& page, const Frame& frame, const Plan& plan) {
    const Task& t = plan.task;
    const Box part = partBox(t), whole = wholeBox(t);
    const Vec3 aim = aimOf(t);
    const double w = plan.use.fieldX_mm, h = plan.use.fieldY_mm;
    const Vec2 room(frame.width(), frame.height() - kHeading - 3.0 - 6.0);
    const double k = scaleFor({w, h}, room);
    heading(page, frame, "Top view's picture", k);
    const Vec2 centre(frame.low.x() + 0.5 * room.x(), frame.low.y() + 6.0 + 0.5 * room.y());
    const Map map{centre - k * aim.head<2>(), k};
    rectangle(page, map(aim.x() - 0.5 * w, aim.y() - 0.5 * h), map(aim.x() + 0.5 * w, aim.y() + 0.5 * h),
              kThin);
    rectangle(page, map(part.low.x(), part.low.y()), map(part.high.x(), part.high.y()), kOutline);
    const double lx = stretchAlong(t, true), ly = stretchAlong(t, false);
    const Vec2 middle = 0.5 * (part.low + part.high).head<2>();
    const double below = 0.5 * (whole.low.y() + part.low.y()), right = 0.5 * (whole.high.x() + part.high.x());
    const double above = 0.5 * (whole.high.y() + part.high.y());
    const Pen bar{0.7};
    line(page, map(middle.x() - 0.5 * lx, below), map(middle.x() + 0.5 * lx, below), bar);
    line(page, map(right, middle.y() - 0.5 * ly), map(right, middle.y() + 0.5 * ly), bar);
    line(page, map(middle.x() - 0.5 * lx, above), map(middle.x() + 0.5 * lx, above),
         {0.7, sheet::kBlack, {2, 1}});
    label(page, {map(middle.x(), 0).x(), map(0, middle.y()).y() - 0.9}, "part", Anchor::Middle);
    label(page, {frame.low.x(), frame.low.y() + 1.5},
          fmt::format("Thick: reference lengths; dashed: the raised one (+{:g} mm).", raisedHeight(t)));
}

}  // namespace trammel::plan
