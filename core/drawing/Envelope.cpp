// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/drawing/Envelope.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>
#include <set>

#include "core/adjust/AdviceCandidates.h"
#include "core/drawing/Format.h"
#include "core/geometry/Offset.h"

namespace trammel::drawing {
namespace {

using survey::OutlinePurpose;

constexpr double kSameHeight_mm = 1e-6;

bool meet(const geometry::Chain& a, const geometry::Chain& b) {
    return touch(a, b) || contains(a, b.vertices.front().point) || contains(b, a.vertices.front().point);
}

/// Steps side by side share an edge that each marks for itself: what reaches over by less than kBeside_mm
/// carries nothing. One of the two is drawn in by that much; what is too narrow for it is taken as it is.
bool overlap(const geometry::Chain& a, const geometry::Chain& b) {
    if (!meet(a, b)) return false;
    auto inner = geometry::offsetAll(b, -kBeside_mm);
    const bool second = inner && !inner->empty();
    if (!second) inner = geometry::offsetAll(a, -kBeside_mm);
    if (!inner || inner->empty()) return true;
    const geometry::Chain& other = second ? a : b;
    return std::any_of(inner->begin(), inner->end(),
                       [&](const geometry::Chain& c) { return meet(c, other); });
}

double heightOf(const Drawing& d, const Id& level) {
    for (const DrawnLevel& l : d.levels)
        if (l.id == level) return l.height;
    return 0.0;
}

std::string levelName(const survey::Survey& survey, const Id& level) {
    const auto* l = survey::find(survey.levels, level);
    return l && !l->name.empty() ? l->name : level;
}

/// Levels that features of the part lie in, with their heights.
std::vector<std::pair<double, Id>> partLevels(const survey::Survey& survey,
                                              const adjust::Solution& solution) {
    const std::vector<Id> aside = adjust::besideThePart(survey);
    const std::set<Id> beside(aside.begin(), aside.end());
    std::set<Id> held;
    for (const survey::Feature& f : survey.features)
        if (!beside.contains(f.id)) held.insert(f.level);
    std::vector<std::pair<double, Id>> out;
    for (const auto& [id, z] : solution.levels)
        if (held.contains(id) && !beside.contains(id)) out.emplace_back(z, id);
    std::sort(out.begin(), out.end());
    return out;
}

Prism prismOf(const Drawing& d, const DrawnChain& chain) {
    Prism p;
    p.outline = chain.outline, p.level = chain.level, p.name = chain.name, p.purpose = chain.purpose;
    p.outer = chain.chain;
    p.high = p.low = heightOf(d, chain.level);
    if (chain.purpose == OutlinePurpose::KeepOut) return p;
    for (const DrawnChain& c : d.chains)
        if (c.purpose == OutlinePurpose::Cutout && c.level == p.level &&
            contains(p.outer, c.chain.vertices.front().point))
            p.openings.push_back(c.chain);
    for (const DrawnHole& h : d.holes)
        if (h.cut && h.level == p.level && contains(p.outer, h.circle.centre)) p.holes.push_back(h);
    return p;
}

std::string named(const Prism& p) {
    return (p.purpose == OutlinePurpose::KeepOut ? "Keep-out " : "Outline ") + p.name;
}

class Feet {
  public:
    Feet(const Drawing& d, const survey::Survey& survey, const adjust::Solution& solution, double thickness,
         const Id& stated)
        : drawing_(d),
          survey_(survey),
          levels_(partLevels(survey, solution)),
          thickness_(thickness),
          stated_(stated) {}

    /// Fills in low and says on what the prism stands.
    std::string place(Prism& p) const {
        if (thickness_ > 0.0 && !stated_.empty() && p.level == stated_) return byThickness(p);
        const DrawnChain* below = nullptr;
        for (const DrawnChain& c : drawing_.chains) {
            const double z = heightOf(drawing_, c.level);
            if (c.purpose != OutlinePurpose::Outline || z > p.high - kSameHeight_mm) continue;
            if (below && z <= heightOf(drawing_, below->level)) continue;
            if (overlap(c.chain, p.outer)) below = &c;
        }
        if (below) {
            p.low = heightOf(drawing_, below->level);
            return fmt::format("{} stands on {}", named(p), below->name);
        }
        for (auto it = levels_.rbegin(); it != levels_.rend(); ++it)
            if (it->first < p.high - kSameHeight_mm) {
                p.low = it->first;
                return fmt::format("{} reaches down to level {}", named(p), levelName(survey_, it->second));
            }
        return byThickness(p);
    }

  private:
    std::string byThickness(Prism& p) const {
        p.footKnown = thickness_ > 0.0;
        p.low = p.high - std::max(0.0, thickness_);
        if (p.footKnown) return fmt::format("{} is {} mm thick, as stated", named(p), fixed(thickness_, 3));
        return fmt::format("{} has no thickness: the survey has no level below it", named(p));
    }

    const Drawing& drawing_;
    const survey::Survey& survey_;
    std::vector<std::pair<double, Id>> levels_;
    double thickness_;
    Id stated_;
};

}  // namespace

double Prism::area() const {
    double sum = std::abs(signedArea(outer));
    for (const auto& c : openings) sum -= std::abs(signedArea(c));
    for (const auto& h : holes) sum -= std::numbers::pi * h.circle.radius * h.circle.radius;
    return sum;
}

Envelope envelopeOf(const Drawing& d, const survey::Survey& survey, const adjust::Solution& solution,
                    double thickness_mm, const Id& stated) {
    Envelope e;
    const Feet feet(d, survey, solution, thickness_mm, stated);
    for (const DrawnChain& c : d.chains) {
        if (c.purpose == OutlinePurpose::Cutout) continue;
        Prism p = prismOf(d, c);
        e.remarks.push_back(feet.place(p));
        e.prisms.push_back(std::move(p));
    }
    std::stable_sort(e.prisms.begin(), e.prisms.end(), [](const Prism& a, const Prism& b) {
        const bool ka = a.purpose == OutlinePurpose::KeepOut, kb = b.purpose == OutlinePurpose::KeepOut;
        return ka != kb ? kb : a.high < b.high;
    });
    return e;
}

}  // namespace trammel::drawing
