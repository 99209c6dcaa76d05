// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/unfold/Projector.h"

#include <cmath>

namespace trammel::unfold {
namespace {

bool isPlan(View v) { return v == View::Top || v == View::Bottom; }
bool isColumn(View v) { return isPlan(v) || v == View::Front; }

/// What brings an axis from one view into the other: straight up or down, straight across, by the mitre.
enum class Way { None, Vertical, Horizontal, Mitre };

Way wayOf(View from, View to, int axis) {
    if (from == to) return Way::None;
    if (axis == 0) return isColumn(from) && isColumn(to) ? Way::Vertical : Way::None;
    if (axis == 2) return !isPlan(from) && !isPlan(to) ? Way::Horizontal : Way::None;
    const auto isSide = [](View v) { return v == View::Left || v == View::Right; };
    return (isPlan(from) && isSide(to)) || (isSide(from) && isPlan(to)) ? Way::Mitre : Way::None;
}

/// The far end of a frame for a line that comes from `before` along one axis of the sheet.
double farEnd(const Frame& frame, int along, double before) {
    return before < frame.low[along] ? frame.high[along] : frame.low[along];
}

}  // namespace

std::vector<Projector> projectors(const Arrangement& arrangement, const std::vector<Trace>& traces,
                                  View from) {
    std::vector<Projector> out;
    if (!arrangement.shows(from)) return out;
    for (const View to : arrangement.views())
        for (const Trace& trace : traces) {
            const Way way = wayOf(from, to, trace.axis);
            if (way == Way::None) continue;
            Projector p{from, to, trace, {}, arrangement.ownToSheet(to, trace.at), Vec2::UnitX()};
            const Vec2 start = arrangement.ownToSheet(from, trace.at);
            Vec2 turn = start;
            p.path.push_back(start);
            if (way == Way::Mitre) {
                const bool fromPlan = isPlan(from);
                const auto mitre = arrangement.mitre(fromPlan ? from : to, fromPlan ? to : from);
                if (!mitre) continue;
                turn = mitre->at(trace.value(), arrangement.box());
                p.path.push_back(turn);
            }
            // a vertical line keeps sheet x, a horizontal one sheet y
            const bool vertical = way == Way::Vertical || (way == Way::Mitre && isPlan(from));
            const int along = vertical ? 1 : 0;
            Vec2 end = p.place;
            end[along] = farEnd(arrangement.frame(to), along, turn[along]);
            p.path.push_back(end);
            p.across = vertical ? Vec2::UnitX() : Vec2::UnitY();
            out.push_back(std::move(p));
        }
    return out;
}

}  // namespace trammel::unfold
