// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/drawing/Kerf.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "core/geometry/Offset.h"

namespace trammel::drawing {
namespace {

using survey::OutlinePurpose;

/// A kerf wider than this is no beam or cutter that follows an outline.
constexpr double kWidestKerf_mm = 20.0;

/// The distance with its decimals, without trailing zeros: "0.15", "0.075".
std::string plain(double mm) {
    std::string s = fmt::format("{:.4f}", mm);
    s.erase(s.find_last_not_of('0') + 1);
    return s.back() == '.' ? s + "0" : s;
}

Error named(Error e, const std::string& name) {
    e.object = name;
    return e;
}

}  // namespace

std::string kerfWords(const Kerf& kerf) {
    if (kerf.width_mm <= 0)
        return "Kerf: not compensated in this file. Its lines are the edges of the finished part; whoever "
               "cuts "
               "compensates the kerf";
    const bool part = kerf.side == KeptSide::Part;
    return fmt::format(
        "Kerf: compensated in this file for a kerf of {} mm. Its lines are the middle of the cut, {} mm {} "
        "outlines and {} openings and holes; the machine must not compensate again",
        plain(kerf.width_mm), plain(0.5 * kerf.width_mm), part ? "outside of" : "inside of",
        part ? "inside of" : "outside of");
}

Result<void> compensateKerf(Drawing& d, double width, KeptSide side) {
    if (!std::isfinite(width) || width <= 0 || width > kWidestKerf_mm)
        return Error{ErrorCode::BadValue, fmt::format("{} mm is no width of a kerf", width), "kerf",
                     fmt::format("give one above 0 and up to {:.0f} mm", kWidestKerf_mm)};
    if (d.kerf.width_mm > 0)
        return Error{ErrorCode::BadValue, "is compensated for its kerf already", "drawing " + d.title,
                     "compensate once"};
    const double half = 0.5 * width * (side == KeptSide::Part ? 1.0 : -1.0);
    std::vector<DrawnChain> chains = d.chains;
    std::vector<DrawnHole> holes = d.holes;
    double missed = 0.0;
    std::string where;
    for (DrawnChain& c : chains) {
        if (c.purpose == OutlinePurpose::KeepOut) continue;
        const bool opening = c.purpose == OutlinePurpose::Cutout;
        const auto path = geometry::toolPath(c.chain, opening ? -half : half, geometry::Corners::Sharp);
        if (!path) return named(path.error(), (opening ? "cutout " : "outline ") + c.name);
        c.chain = path->chain;
        if (path->missed_mm > missed) {
            missed = path->missed_mm;
            where = fmt::format("{} at ({:.2f}, {:.2f})", c.name, path->missedAt.x(), path->missedAt.y());
        }
    }
    for (DrawnHole& h : holes) {
        if (!h.cut) continue;
        h.circle.radius -= half;
        if (h.circle.radius < 0.01 * width)
            return Error{ErrorCode::Refused,
                         fmt::format("kerf of {} mm fills the hole of {:.3f} mm", plain(width),
                                     2 * (h.circle.radius + half)),
                         "hole " + h.name, "drill it, or use a narrower beam"};
    }
    d.chains = std::move(chains);
    d.holes = std::move(holes);
    d.kerf = {width, side};
    if (missed > 5e-4)
        d.remarks.push_back(
            fmt::format("a round beam leaves up to {:.3f} mm in inner corners, most in {}", missed, where));
    return {};
}

Result<void> growKeepOuts(Drawing& d, double clearance) {
    if (!std::isfinite(clearance) || clearance < 0)
        return Error{ErrorCode::BadValue, "is no distance", "clearance", "give millimetres, 0 or more"};
    if (clearance == 0) return {};
    std::string names;
    std::vector<DrawnChain> chains = d.chains;
    for (DrawnChain& c : chains) {
        if (c.purpose != OutlinePurpose::KeepOut) continue;
        const auto grown = geometry::offsetAll(c.chain, clearance);
        if (!grown) return named(grown.error(), "keep-out " + c.name);
        if (grown->empty())
            return Error{ErrorCode::Refused, "vanishes", "keep-out " + c.name, "check its shape"};
        // The border of the whole; bays that close belong to what has to stay free.
        const auto largest = std::max_element(grown->begin(), grown->end(), [](const auto& a, const auto& b) {
            return std::abs(signedArea(a)) < std::abs(signedArea(b));
        });
        c.chain = *largest;
        names += (names.empty() ? "" : ", ") + c.name;
    }
    d.chains = std::move(chains);
    if (!names.empty())
        d.remarks.push_back(fmt::format("keep-outs are drawn {} mm larger all round for clearance: {}",
                                        plain(clearance), names));
    return {};
}

}  // namespace trammel::drawing
