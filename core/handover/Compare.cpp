// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/handover/Compare.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <set>

#include "core/handover/CheckSheet.h"
#include "core/handover/Layers.h"

namespace trammel::handover {
namespace {

/// x → scale · (±x) + shift applied to the drawing before comparing.
struct Change {
    double scale = 1.0;
    bool mirrored = false;
    Vec2 shift = Vec2::Zero();
    Vec2 apply(Vec2 p) const {
        if (mirrored) p.x() = -p.x();
        return scale * p + shift;
    }
};

double tolerance(const Change& c) { return kSameCoordinate_mm * std::max(1.0, std::abs(c.scale)); }

/// The same closed chain, whichever vertex it starts at and whichever way it runs.
bool same(const geometry::Chain& a, const geometry::Chain& b, double most) {
    const std::size_t n = a.vertices.size();
    if (b.vertices.size() != n) return false;
    for (std::size_t start = 0; start < n; ++start) {
        bool equal = true;
        for (std::size_t i = 0; i < n && equal; ++i) {
            const auto &v = a.vertices[i], &w = b.vertices[(start + i) % n];
            equal = (v.point - w.point).cwiseAbs().maxCoeff() <= most && std::abs(v.bulge - w.bulge) <= 1e-9;
        }
        if (equal) return true;
    }
    return false;
}

geometry::Chain changed(const geometry::Chain& chain, const Change& c) {
    geometry::Chain out = chain;
    for (auto& v : out.vertices) {
        v.point = c.apply(v.point);
        if (c.mirrored) v.bulge = -v.bulge;
    }
    return out;
}

bool holdsChain(const DxfFile& file, const std::string& layer, const geometry::Chain& chain, double most) {
    return std::any_of(file.paths.begin(), file.paths.end(), [&](const DxfPath& p) {
        return p.layer == layer && p.closed &&
               (same(chain, {p.vertices}, most) || same(chain, geometry::reversed({p.vertices}), most));
    });
}

bool holdsCircle(const DxfFile& file, const std::string& layer, const geometry::Circle& c, double most) {
    return std::any_of(file.circles.begin(), file.circles.end(), [&](const DxfCircle& k) {
        return k.layer == layer && (k.circle.centre - c.centre).cwiseAbs().maxCoeff() <= most &&
               std::abs(k.circle.radius - c.radius) <= most;
    });
}

void compareShapes(const drawing::Drawing& d, const DxfFile& file, const Change& change,
                   std::vector<std::string>& out) {
    const LayerNames names(d);
    const double most = tolerance(change);
    for (const auto& c : d.chains)
        if (!holdsChain(file, names.of(c), changed(c.chain, change), most))
            out.push_back(fmt::format(
                "{} {} is not in layer {} as drawn", c.name,
                c.purpose == survey::OutlinePurpose::Outline ? "(outline)" : "(cutout or keep-out)",
                names.of(c)));
    for (const auto& h : d.holes)
        if (!holdsCircle(file, names.of(h), {change.apply(h.circle.centre), change.scale * h.circle.radius},
                         most))
            out.push_back(fmt::format("hole {} is not in layer {} as drawn", h.name, names.of(h)));
}

/// Everything on layers to be cut, by layer and type, that the drawing does not account for.
void compareCounts(const drawing::Drawing& d, const DxfFile& file, std::vector<std::string>& out) {
    const LayerNames names(d);
    std::map<std::string, int> expected, found;
    for (const auto& c : d.chains) ++expected[names.of(c)];
    for (const auto& h : d.holes) ++expected[names.of(h)];
    for (const auto& [layer, types] : file.counts)
        for (const auto& [type, count] : types)
            if (layer.rfind("CUT_", 0) == 0 || layer.rfind("KEEP_", 0) == 0) found[layer] += count;
    for (const auto& [layer, count] : found)
        if (count != expected[layer])
            out.push_back(
                fmt::format("layer {} holds {} entities instead of {}", layer, count, expected[layer]));
}

void compareDimensions(const drawing::Drawing& d, const DxfFile& file, std::vector<std::string>& out) {
    if (file.dimensions.size() != d.figures.size())
        out.push_back(
            fmt::format("it holds {} dimensions instead of {}", file.dimensions.size(), d.figures.size()));
    const std::set<std::string> blocks(file.blocks.begin(), file.blocks.end());
    for (std::size_t i = 0; i < std::min(d.figures.size(), file.dimensions.size()); ++i) {
        const auto& f = d.figures[i];
        const auto& g = file.dimensions[i];
        const Vec2 first = f.kind == drawing::FigureKind::Linear ? g.p13 : g.p10;
        const Vec2 second = f.kind == drawing::FigureKind::Linear ? g.p14 : g.p15;
        if (g.text != f.text)
            out.push_back(fmt::format("dimension {} reads \"{}\" instead of \"{}\"", f.name, g.text, f.text));
        if ((first - f.first).cwiseAbs().maxCoeff() > kSameCoordinate_mm ||
            (second - f.second).cwiseAbs().maxCoeff() > kSameCoordinate_mm)
            out.push_back(fmt::format("dimension {} is attached elsewhere", f.name));
        if (!blocks.count(g.block)) out.push_back(fmt::format("dimension {} has no picture", f.name));
    }
}

std::optional<geometry::Bounds> cutBounds(const DxfFile& file) {
    std::optional<geometry::Bounds> box;
    const auto add = [&](const geometry::Bounds& b) { box = box ? united(*box, b) : b; };
    for (const DxfPath& p : file.paths)
        if (p.closed) add(geometry::bounds({p.vertices}));
    for (const DxfCircle& c : file.circles) add(geometry::bounds(geometry::circleChain(c.circle)));
    return box;
}

/// A revision that is not the drawing's; the notes of the file say it in their first line. Only plain words
/// are compared: DXF spells some signs otherwise.
void compareRevision(const drawing::Drawing& d, const DxfFile& file, std::vector<std::string>& out) {
    const bool plain = !d.revision.empty() && std::all_of(d.revision.begin(), d.revision.end(), [](char c) {
        return (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') || c == '.' ||
               c == '-' || c == '_';
    });
    if (!plain || d.text.empty()) return;
    const std::string stated = statedRevision(file);
    if (stated == d.revision) return;
    out.push_back(stated.empty()
                      ? fmt::format("it states no revision, and revision {} is meant", d.revision)
                      : fmt::format("it is revision {}, and revision {} is meant", stated, d.revision));
}

/// A change of the whole that explains everything, in words.
std::optional<std::string> explained(const drawing::Drawing& d, const DxfFile& file) {
    const auto box = cutBounds(file);
    if (!box) return std::nullopt;
    const Vec2 mine = d.part.high - d.part.low, theirs = box->high - box->low;
    const int axis = mine.x() >= mine.y() ? 0 : 1;
    const double scale = theirs[axis] / std::max(mine[axis], 1e-12);
    for (const bool mirror : {false, true}) {
        Change c{std::abs(scale - 1) < 1e-7 ? 1.0 : scale, mirror, Vec2::Zero()};
        const Vec2 low = mirror ? Vec2(-d.part.high.x(), d.part.low.y()) : d.part.low;
        c.shift = box->low - c.scale * low;
        std::vector<std::string> rest;
        compareShapes(d, file, c, rest);
        if (!rest.empty()) continue;
        std::string s = "all of it is";
        if (mirror) s += " mirrored in x";
        if (c.scale != 1.0) s += fmt::format("{} scaled by {:.6g}", mirror ? " and" : "", c.scale);
        if (const std::string units = mixedUnits(c.scale); !units.empty()) s += " (" + units + " mixed up)";
        if (!mirror && c.scale == 1.0)
            s += fmt::format(" shifted by ({:.4f}, {:.4f}) mm", c.shift.x(), c.shift.y());
        return s;
    }
    return std::nullopt;
}

}  // namespace

std::vector<std::string> differences(const drawing::Drawing& d, const DxfFile& file) {
    std::vector<std::string> out;
    if (file.insUnits != 4) out.push_back("its header does not say millimetres");
    std::vector<std::string> shapes;
    compareShapes(d, file, {}, shapes);
    if (!shapes.empty())
        if (const auto whole = explained(d, file)) shapes = {*whole};
    out.insert(out.end(), shapes.begin(), shapes.end());
    compareCounts(d, file, out);
    compareDimensions(d, file, out);
    compareRevision(d, file, out);
    return out;
}

}  // namespace trammel::handover
