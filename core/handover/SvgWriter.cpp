// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/handover/SvgWriter.h"

#include <fmt/core.h>

#include <cmath>
#include <map>

#include "core/drawing/Build.h"
#include "core/handover/Layers.h"

namespace trammel::handover {
namespace {

constexpr double kRoom_mm = 5.0;  // around the drawing

/// sRGB of the DXF colours that Layers uses; black and white are one number there, and paper is white.
const char* rgb(int colour) {
    switch (colour) {
        case 1:
            return "#ff0000";
        case 3:
            return "#00a000";
        case 4:
            return "#00a0a0";
        case 5:
            return "#0000ff";
        case 8:
            return "#808080";
        default:
            return "#000000";
    }
}

std::string escaped(const std::string& s) {
    std::string out;
    for (const char c : s) {
        if (c == '&')
            out += "&amp;";
        else if (c == '<')
            out += "&lt;";
        else if (c == '>')
            out += "&gt;";
        else if (static_cast<unsigned char>(c) >= 0x20 || c == '\n')
            out += c;
    }
    return out;
}

/// Up to six decimals (1e-6 mm), no trailing zeros, '.' whatever the locale.
std::string num(double v) {
    std::string s = fmt::format("{:.6f}", v);
    s.erase(s.find_last_not_of('0') + 1);
    if (s.back() == '.') s.pop_back();
    return s == "-0" ? "0" : s;
}

/// Screen coordinates: y turned down.
std::string at(const Vec2& p) { return num(p.x()) + " " + num(-p.y()); }

std::string pathData(const geometry::Chain& chain) {
    std::string d = "M " + at(chain.vertices.front().point);
    const std::size_t n = chain.vertices.size();
    for (std::size_t i = 0; i < n; ++i) {
        const auto &v = chain.vertices[i], &w = chain.vertices[(i + 1) % n];
        if (v.bulge == 0.0) {
            if (i + 1 < n) d += " L " + at(w.point);  // the last one is drawn by Z
            continue;
        }
        const double r = geometry::arcOf(v.point, w.point, v.bulge).radius;
        // Anticlockwise with y up is against increasing angles with y down: sweep 0.
        d += fmt::format(" A {0} {0} 0 {1} {2} {3}", num(r), std::abs(v.bulge) > 1 ? 1 : 0,
                         v.bulge > 0 ? 0 : 1, at(w.point));
    }
    return d + " Z";
}

bool finite(const drawing::Drawing& d) {
    bool ok = d.part.low.allFinite() && d.part.high.allFinite();
    for (const auto& c : d.chains)
        for (const auto& v : c.chain.vertices) ok = ok && v.point.allFinite() && std::isfinite(v.bulge);
    for (const auto& h : d.holes) ok = ok && h.circle.centre.allFinite() && std::isfinite(h.circle.radius);
    return ok;
}

}  // namespace

Result<std::string> svgText(const drawing::Drawing& d) {
    if (!finite(d))
        return Error{ErrorCode::BadValue, "holds a coordinate that is not a number", "drawing " + d.title,
                     "adjust the survey again and look at its suspects"};
    const LayerNames names(d);
    std::map<std::string, std::string> shapes;
    for (const auto& c : d.chains)
        shapes[names.of(c)] += fmt::format("    <path d=\"{}\"/>\n", pathData(c.chain));
    for (const auto& h : d.holes)
        shapes[names.of(h)] +=
            fmt::format("    <circle cx=\"{}\" cy=\"{}\" r=\"{}\"/>\n", num(h.circle.centre.x()),
                        num(-h.circle.centre.y()), num(h.circle.radius));
    const Vec2 low = d.part.low - Vec2::Constant(kRoom_mm),
               size = d.part.high - d.part.low + Vec2::Constant(2 * kRoom_mm);
    std::string out = fmt::format(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
        "<svg xmlns=\"http://www.w3.org/2000/svg\" version=\"1.1\" width=\"{0}mm\" height=\"{1}mm\" "
        "viewBox=\"{2} {3} {0} {1}\">\n  <title>{4}</title>\n  <desc>",
        num(size.x()), num(size.y()), num(low.x()), num(-(low.y() + size.y())),
        escaped(fmt::format("{}, revision {}", d.title, d.revision)));
    for (const std::string& line : drawing::noteLines(d)) out += escaped(line) + "\n";
    out += fmt::format("Layers that begin with CUT_ are to be cut. Strokes are {} mm wide.</desc>\n",
                       num(kSvgStroke_mm));
    for (const Layer& layer : names.all()) {
        const auto it = shapes.find(layer.name);
        if (it == shapes.end()) continue;
        out += fmt::format("  <g id=\"{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{}\">\n{}  </g>\n",
                           layer.name, rgb(layer.colour), num(kSvgStroke_mm), it->second);
    }
    return out + "</svg>\n";
}

}  // namespace trammel::handover
