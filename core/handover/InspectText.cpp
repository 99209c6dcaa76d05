// SPDX-License-Identifier: GPL-3.0-or-later
// The contents of a DXF file in words and as JSON.
#include <fmt/core.h>
#include <fmt/format.h>

#include <algorithm>
#include <iterator>
#include <nlohmann/json.hpp>

#include "core/handover/Inspect.h"

namespace trammel::handover {
namespace {

using nlohmann::json;

constexpr std::size_t kMostListed = 60;  // contours and dimensions listed one by one; all are in the JSON

json pointJson(const Vec2& p) { return {p.x(), p.y()}; }

json contourJson(const ContourContents& k) {
    json j{{"layer", k.layer}, {"closed", k.closed}, {"pieces", k.pieces}, {"perimeter", k.perimeter}};
    j["low"] = pointJson(k.bounds.low);
    j["high"] = pointJson(k.bounds.high);
    if (!k.closed) return j;
    j["area"] = k.area;
    j["crosses-itself"] = k.crossesItself;
    return j;
}

json dimensionJson(const DimensionContents& d) {
    json j{{"layer", d.layer},
           {"text", d.text},
           {"measured", d.measured},
           {"agrees", d.agrees},
           {"pictured", d.pictured}};
    if (d.shown) j["shown"] = *d.shown;
    return j;
}

class Lines {
  public:
    template <class... A>
    void add(fmt::format_string<A...> format, A&&... args) {
        fmt::format_to(std::back_inserter(out_), format, std::forward<A>(args)...);
        out_ += '\n';
    }
    const std::string& str() const { return out_; }

  private:
    std::string out_;
};

void listContours(const Contents& c, Lines& out) {
    const auto closed =
        std::count_if(c.contours.begin(), c.contours.end(), [](const auto& k) { return k.closed; });
    out.add("contours: {} closed, {} open", closed, static_cast<long>(c.contours.size()) - closed);
    std::size_t listed = 0;
    std::map<std::string, int> open;
    for (const ContourContents& k : c.contours) {
        if (!k.closed) {
            ++open[k.layer];
            continue;
        }
        if (++listed > kMostListed) continue;
        const Vec2 size = k.bounds.high - k.bounds.low;
        out.add("  {}: closed, {} pieces, {:.3f} x {:.3f}, area {:.4f}, perimeter {:.4f}{}", k.layer,
                k.pieces, size.x(), size.y(), k.area, k.perimeter, k.crossesItself ? ", CROSSES ITSELF" : "");
    }
    if (listed > kMostListed) out.add("  ... and {} more", listed - kMostListed);
    for (const auto& [layer, count] : open) out.add("  {}: {} open", layer, count);
}

}  // namespace

std::string contentsText(const Contents& c) {
    Lines out;
    out.add("{}: DXF {}, unit {}", c.file, c.version.empty() ? "of unstated version" : c.version, c.unit);
    if (c.extents) {
        const Vec2 size = c.extents->high - c.extents->low;
        out.add("size: {:.4f} x {:.4f}, from ({:.4f}, {:.4f}) to ({:.4f}, {:.4f})", size.x(), size.y(),
                c.extents->low.x(), c.extents->low.y(), c.extents->high.x(), c.extents->high.y());
        if (c.millimetresPerUnit && *c.millimetresPerUnit != 1.0)
            out.add("      {:.4f} x {:.4f} mm", size.x() * *c.millimetresPerUnit,
                    size.y() * *c.millimetresPerUnit);
    }
    out.add("layers:");
    for (const auto& [layer, types] : c.layers) {
        std::string list;
        for (const auto& [type, count] : types)
            list += fmt::format("{}{} {}", list.empty() ? "" : ", ", count, type);
        out.add("  {}: {}", layer, list);
    }
    listContours(c, out);
    if (!c.circles.empty()) out.add("circles:");
    for (const CircleContents& g : c.circles)
        out.add("  {}: {} of diameter {:.4f}", g.layer, g.count, g.diameter);
    if (!c.dimensions.empty()) out.add("dimensions:");
    for (std::size_t i = 0; i < c.dimensions.size() && i < kMostListed; ++i) {
        const DimensionContents& d = c.dimensions[i];
        out.add("  {} (measures {:.4f}){}", d.text.empty() ? "<>" : d.text, d.measured,
                d.agrees ? "" : "  CONTRADICTS ITS GEOMETRY");
    }
    if (c.dimensions.size() > kMostListed) out.add("  ... and {} more", c.dimensions.size() - kMostListed);
    for (const std::string& w : c.warnings) out.add("warning: {}.", w);
    if (c.warnings.empty()) out.add("nothing to warn of.");
    return out.str();
}

std::string contentsJson(const Contents& c) {
    json j{{"file", c.file},
           {"version", c.version},
           {"unit", c.unit},
           {"layers", c.layers},
           {"warnings", c.warnings}};
    j["millimetres-per-unit"] = c.millimetresPerUnit ? json(*c.millimetresPerUnit) : json();
    j["low"] = c.extents ? pointJson(c.extents->low) : json();
    j["high"] = c.extents ? pointJson(c.extents->high) : json();
    j["contours"] = json::array();
    for (const ContourContents& k : c.contours) j["contours"].push_back(contourJson(k));
    j["circles"] = json::array();
    for (const CircleContents& g : c.circles)
        j["circles"].push_back({{"layer", g.layer}, {"diameter", g.diameter}, {"count", g.count}});
    j["dimensions"] = json::array();
    for (const DimensionContents& d : c.dimensions) j["dimensions"].push_back(dimensionJson(d));
    j["doubled"] = c.doubled;
    j["doubled-across-layers"] = c.doubledAcrossLayers;
    j["hairline-gaps"] = c.hairlineGaps;
    return j.dump(2, ' ', false, json::error_handler_t::replace);
}

}  // namespace trammel::handover
