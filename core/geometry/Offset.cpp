// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/geometry/Offset.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "core/geometry/OffsetPieces.h"

namespace trammel::geometry {
namespace {

constexpr double kSame = kOffsetTolerance_mm;

Error error(const char* what, const char* remedy, ErrorCode code = ErrorCode::BadValue) {
    return {code, what, "chain", remedy};
}

Result<void> check(const Chain& chain, double d) {
    bool finite = std::isfinite(d);
    for (const Vertex& v : chain.vertices) finite = finite && v.point.allFinite() && std::isfinite(v.bulge);
    if (!finite) return error("holds a value that is no number", "check what it was made of");
    if (!isSimple(chain, 1e-9))
        return error("crosses or touches itself, so it has no outside", "draw it without crossings");
    return {};
}

Vec2 tangentAt(const Piece& p, bool end) {
    if (!p.isArc()) return (p.to - p.from).normalized();
    const Vec2 r = (end ? p.to : p.from) - p.circle.centre;
    const Vec2 t(-r.y(), r.x());
    return (p.sweep > 0 ? t : Vec2(-t)).normalized();
}

/// Replaces the arc from vertex i of the curve by two straight pieces when it runs about a corner of the
/// source between two straight pieces and is all of what was put there.
void sharpen(Chain& curve, const Chain& source, double r) {
    const auto list = pieces(source);
    Chain out;
    const std::size_t n = curve.vertices.size();
    for (std::size_t i = 0; i < n; ++i) {
        const Vertex& v = curve.vertices[i];
        out.vertices.push_back(v);
        const Piece piece(v.point, curve.vertices[(i + 1) % n].point, v.bulge);
        if (!piece.isArc() || std::abs(piece.circle.radius - r) > 10 * kSame) continue;
        if (std::abs(piece.sweep) > kSharpest) continue;
        for (std::size_t k = 0; k < list.size(); ++k) {
            if ((list[k].to - piece.circle.centre).norm() > 10 * kSame) continue;
            const Piece& next = list[(k + 1) % list.size()];
            const Vec2 in = tangentAt(list[k], true), to = tangentAt(next, false);
            const double turn = std::atan2(in.x() * to.y() - in.y() * to.x(), in.dot(to));
            if (list[k].isArc() || next.isArc() || std::abs(std::abs(turn) - std::abs(piece.sweep)) > 1e-4)
                continue;
            const Vec2 middle = (piece.middle() - piece.circle.centre).normalized();
            out.vertices.back().bulge = 0.0;
            out.vertices.push_back({piece.circle.centre + r / std::cos(0.5 * piece.sweep) * middle, 0.0});
        }
    }
    if (isSimple(out, 1e-9)) curve = out;
}

/// Distance of a point from a chain.
double distanceTo(const std::vector<Piece>& list, const Vec2& p) {
    double least = std::numeric_limits<double>::infinity();
    for (const Piece& piece : list) least = std::min(least, distance(piece, p));
    return least;
}

Error slotError(const Vec2& at, double d) {
    return {ErrorCode::Refused,
            fmt::format("kerf larger than the slot at ({:.3f}, {:.3f}): a beam of {:.3f} mm cannot follow "
                        "the edge there",
                        at.x(), at.y(), 2 * std::abs(d)),
            "chain", "use a narrower beam, widen the slot, or leave its compensation to the shop"};
}

}  // namespace

Result<std::vector<Chain>> offsetAll(const Chain& chain, double d, Corners corners) {
    if (const auto ok = check(chain, d); !ok) return ok.error();
    if (d == 0.0) return std::vector<Chain>{chain};
    // Outside lies to the right of a chain that runs anticlockwise.
    const bool turned = signedArea(chain) < 0;
    const Chain source = turned ? reversed(chain) : chain;
    auto curves = joinPieces(keptPieces(source, d));
    if (!curves)
        return error("could not be followed at this distance: pieces nearly touch there",
                     "change the distance a little", ErrorCode::Refused);
    std::vector<Chain> out;
    for (Chain& c : *curves) {
        // Slivers no wider than rounding are no area.
        if (std::abs(signedArea(c)) < kSame * perimeter(c)) continue;
        if (corners == Corners::Sharp) sharpen(c, source, std::abs(d));
        out.push_back(turned ? reversed(c) : c);
    }
    return out;
}

Result<ToolPath> toolPath(const Chain& chain, double d, Corners corners) {
    const auto all = offsetAll(chain, d, corners);
    if (!all) return all.error();
    const auto source = pieces(chain);
    if (all->empty()) return slotError(source.front().middle(), d);
    std::vector<Piece> path;
    for (const Chain& c : *all)
        for (const Piece& p : pieces(c)) path.push_back(p);
    ToolPath out{all->front(), 0.0, Vec2::Zero()};
    for (const Piece& p : source)
        for (const Vec2& at : {p.from, p.middle()}) {
            const double missed = distanceTo(path, at) - std::abs(d);
            if (missed > out.missed_mm) out.missed_mm = missed, out.missedAt = at;
        }
    if (out.missed_mm > 2 * std::abs(d)) return slotError(out.missedAt, d);
    if (all->size() == 1) {
        if (!isSimple(out.chain, 1e-9)) return slotError(out.chain.vertices.front().point, d);
        return out;
    }
    // Where it fell apart: the source is narrowest between the two curves that come nearest to each other.
    double least = std::numeric_limits<double>::infinity();
    Vec2 at = Vec2::Zero();
    const auto first = pieces(all->front());
    for (std::size_t k = 1; k < all->size(); ++k)
        for (const Vertex& v : (*all)[k].vertices)
            if (const double apart = distanceTo(first, v.point); apart < least) least = apart, at = v.point;
    return slotError(at, d);
}

}  // namespace trammel::geometry
