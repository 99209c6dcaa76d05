// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/unfold/Arrangement.h"

#include <algorithm>
#include <cmath>

#include "core/math/Rotation.h"

namespace trammel::unfold {
namespace {

enum class Slot { Middle, Above, Below, Left, Right, End };

Slot slotOf(View view, Method method) {
    const bool first = method == Method::FirstAngle;
    switch (view) {
        case View::Top:
            return first ? Slot::Below : Slot::Above;
        case View::Bottom:
            return first ? Slot::Above : Slot::Below;
        case View::Left:
            return first ? Slot::Right : Slot::Left;
        case View::Right:
            return first ? Slot::Left : Slot::Right;
        case View::Rear:
            return Slot::End;
        case View::Front:
        case View::Oblique:
            break;
    }
    return Slot::Middle;
}

/// Least and largest value of a unit axis over the box.
std::pair<double, double> reach(const Box& box, const Vec3& axis) {
    double low = 0.0, high = 0.0;
    for (int i = 0; i < 3; ++i) {
        low += std::min(axis[i] * box.low[i], axis[i] * box.high[i]);
        high += std::max(axis[i] * box.low[i], axis[i] * box.high[i]);
    }
    return {low, high};
}

}  // namespace

Axes axesOf(View view) {
    const Vec3 x = Vec3::UnitX(), y = Vec3::UnitY(), z = Vec3::UnitZ();
    switch (view) {
        case View::Front:
            return {x, z, -y};
        case View::Rear:
            return {-x, z, y};
        case View::Left:
            return {-y, z, -x};
        case View::Right:
            return {y, z, x};
        case View::Bottom:
            return {x, -y, -z};
        case View::Top:
        case View::Oblique:
            break;
    }
    return {x, y, z};
}

Arrangement::Arrangement(const Terms& terms) : terms_(terms), back_(rotationExp(Vec3(0.0, 0.0, terms.turn))) {
    std::vector<View> views;
    for (const View v : kPlaced)
        if (v == View::Front || std::ranges::find(terms_.views, v) != terms_.views.end()) views.push_back(v);
    terms_.views = views;
    const Box& box = terms_.box;
    const double step = 2.0 * terms_.border + terms_.gap;
    double end = box.high.x();    // of the row, so far
    for (const View v : views) {  // the rear view comes last
        const Axes a = axesOf(v);
        const auto [left, right] = reach(box, a.right);
        const auto [bottom, top] = reach(box, a.up);
        Vec2 origin = Vec2::Zero();
        switch (slotOf(v, terms_.method)) {
            case Slot::Middle:
                break;
            case Slot::Above:
                origin.y() = box.high.z() + step - bottom;
                break;
            case Slot::Below:
                origin.y() = box.low.z() - step - top;
                break;
            case Slot::Left:
                origin.x() = box.low.x() - step - right;
                break;
            case Slot::Right:
            case Slot::End:
                origin.x() = end + step - left;
                end = origin.x() + right;
                break;
        }
        const Vec2 border(terms_.border, terms_.border);
        places_.push_back(
            {v, origin, {origin + Vec2(left, bottom) - border, origin + Vec2(right, top) + border}});
    }
}

bool Arrangement::shows(View view) const {
    return std::ranges::any_of(places_, [&](const Place& p) { return p.view == view; });
}

const Frame& Arrangement::frame(View view) const {
    for (const Place& p : places_)
        if (p.view == view) return p.frame;
    return places_.front().frame;
}

Vec2 Arrangement::origin(View view) const {
    for (const Place& p : places_)
        if (p.view == view) return p.origin;
    return Vec2::Zero();
}

std::optional<View> Arrangement::viewAt(const Vec2& sheet) const {
    for (const Place& p : places_)
        if (p.frame.contains(sheet)) return p.view;
    return std::nullopt;
}

Frame Arrangement::whole() const {
    Frame all = places_.front().frame;
    for (const Place& p : places_) {
        all.low = all.low.cwiseMin(p.frame.low);
        all.high = all.high.cwiseMax(p.frame.high);
    }
    return all;  // a mitre line stays within the rows and columns of its two frames
}

Vec2 Arrangement::ownToSheet(View view, const Vec3& own) const {
    const Axes a = axesOf(view);
    return origin(view) + Vec2(a.right.dot(own), a.up.dot(own));
}

Vec3 Arrangement::toPart(View view, const Vec2& sheet, double depth) const {
    const Axes a = axesOf(view);
    const Vec2 p = sheet - origin(view);
    return unturned(p.x() * a.right + p.y() * a.up + depth * a.toViewer);
}

double Arrangement::nearDepth(View view) const { return reach(terms_.box, axesOf(view).toViewer).second; }

Vec2 Arrangement::Mitre::at(double y, const Box& box) const {
    const double size = box.high.y() - box.low.y();
    return size > 0.0 ? Vec2(from + (y - box.low.y()) / size * (to - from)) : from;
}

std::optional<Arrangement::Mitre> Arrangement::mitre(View plan, View side) const {
    if (!shows(plan) || !shows(side)) return std::nullopt;
    if ((plan != View::Top && plan != View::Bottom) || (side != View::Left && side != View::Right))
        return std::nullopt;
    const auto place = [&](double y) {
        const Vec3 own(0.0, y, 0.0);
        return Vec2(ownToSheet(side, own).x(), ownToSheet(plan, own).y());
    };
    return Mitre{place(terms_.box.low.y()), place(terms_.box.high.y())};
}

Symbol symbolOf(Method method) {
    constexpr double kLength = 2.0, kApart = 1.0, kBeyond = 0.3;
    Symbol s;
    s.narrow = 0.5, s.wide = 1.0;
    const double side = method == Method::FirstAngle ? -1.0 : 1.0;  // the cone's, of the circles
    const double coneAt = side * 0.5 * (2.0 * s.wide + kApart), half = 0.5 * kLength;
    s.circles = Vec2(-side * 0.5 * (kLength + kApart), 0.0);
    s.cone = {{coneAt - half, -s.narrow},
              {coneAt + half, -s.wide},
              {coneAt + half, s.wide},
              {coneAt - half, s.narrow}};
    const double r = s.wide + kBeyond;
    s.centreLines = {{{coneAt - half - kBeyond, 0.0}, {coneAt + half + kBeyond, 0.0}},
                     {s.circles - Vec2(r, 0.0), s.circles + Vec2(r, 0.0)},
                     {s.circles - Vec2(0.0, r), s.circles + Vec2(0.0, r)}};
    return s;
}

}  // namespace trammel::unfold
