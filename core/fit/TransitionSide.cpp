// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/fit/TransitionSide.h"

#include <algorithm>
#include <vector>

namespace trammel::fit {
namespace {

using survey::Id;
using survey::Mark;
using survey::Survey;

constexpr double kBeside_px = 10.0;

Vec2 middleOf(const Mark& mark) {
    Vec2 sum = Vec2::Zero();
    for (const auto& p : mark.points) sum += p.px / static_cast<double>(mark.points.size());
    return sum;
}

std::optional<Vec2> middleIn(const Survey& survey, const Id& station, const Id& feature) {
    for (const Mark& m : survey.marks)
        if (m.station == station && m.feature == feature && !m.excluded && !m.points.empty())
            return middleOf(m);
    return std::nullopt;
}

double cross(const Vec2& a, const Vec2& b) { return a.x() * b.y() - a.y() * b.x(); }

/// By the turn of the outline's chain; nothing where the mark's neighbours in it are not marked.
std::optional<Vec2> besideChain(const Survey& survey, const survey::Outline& outline, const Mark& mark) {
    std::vector<Vec2> ring;
    std::optional<std::size_t> own;
    const std::size_t n = outline.chain.size();
    for (std::size_t i = 0; i < n; ++i) {
        const auto at = middleIn(survey, mark.station, outline.chain[i]);
        const bool mine = outline.chain[i] == mark.feature;
        if (!at && !mine) continue;
        if (mine) own = ring.size();
        ring.push_back(mine ? middleOf(mark) : *at);
    }
    if (!own || ring.size() < 3) return std::nullopt;
    double area = 0.0;
    for (std::size_t i = 0; i < ring.size(); ++i) area += cross(ring[i], ring[(i + 1) % ring.size()]);
    const Vec2 before = ring[(*own + ring.size() - 1) % ring.size()], after = ring[(*own + 1) % ring.size()];
    Vec2 along = after - before;
    if (mark.points.size() >= 2) {
        const Vec2 stroke = mark.points.back().px - mark.points.front().px;
        if (stroke.norm() > 1.0) along = stroke.dot(along) < 0 ? Vec2(-stroke) : stroke;
    }
    if (!(along.norm() > 1e-6) || area == 0.0) return std::nullopt;
    const Vec2 inwards = Vec2(-along.y(), along.x()).normalized() * (area > 0 ? 1.0 : -1.0);
    return mark.points[mark.points.size() / 2].px + kBeside_px * inwards;
}

}  // namespace

std::optional<Vec2> insideOf(const Survey& survey, const Mark& mark) {
    if (mark.points.empty()) return std::nullopt;
    for (const survey::Outline& outline : survey.outlines) {
        if (std::find(outline.chain.begin(), outline.chain.end(), mark.feature) == outline.chain.end())
            continue;
        if (const auto place = besideChain(survey, outline, mark)) return place;
    }
    const survey::Feature* feature = survey::find(survey.features, mark.feature);
    if (!feature) return std::nullopt;
    Vec2 sum = Vec2::Zero();
    int count = 0;
    for (const Mark& m : survey.marks) {
        const survey::Feature* f = survey::find(survey.features, m.feature);
        if (m.station != mark.station || m.excluded || m.points.empty() || !f || f->level != feature->level)
            continue;
        sum += middleOf(m);
        ++count;
    }
    if (count < 3) return std::nullopt;
    return Vec2(sum / count);
}

std::optional<double> scaleIn(const Survey& survey, const Id& station) {
    std::vector<double> scales;
    for (const survey::Reading& r : survey.readings) {
        if (r.quantity != survey::Quantity::Distance || r.excluded || r.objects.size() != 2 ||
            !(r.measured.value > 0.0))
            continue;
        const auto a = middleIn(survey, station, r.objects[0]), b = middleIn(survey, station, r.objects[1]);
        if (a && b && (*a - *b).norm() > 1.0) scales.push_back((*a - *b).norm() / r.measured.value);
    }
    if (scales.empty()) return std::nullopt;
    return *std::max_element(scales.begin(), scales.end());
}

}  // namespace trammel::fit
