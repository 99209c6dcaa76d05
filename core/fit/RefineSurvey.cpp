// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/fit/RefineSurvey.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include "core/fit/CornerRays.h"
#include "core/fit/EdgeFit.h"

namespace trammel::fit {
namespace {

using survey::FeatureKind;
using survey::Mark;

/// The two points of a mark that lie farthest apart.
std::array<Vec2, 2> strokeOf(const Mark& mark) {
    std::array<Vec2, 2> best = {mark.points.front().px, mark.points.back().px};
    for (const auto& a : mark.points)
        for (const auto& b : mark.points)
            if ((a.px - b.px).norm() > (best[0] - best[1]).norm()) best = {a.px, b.px};
    return best;
}

/// An edge that the survey has marked through a corner: its direction away from it and how far it was seen.
struct Leg {
    Vec2 along = Vec2::Zero();
    double reach = 0.0, miss = 0.0;
};

std::optional<Leg> legOf(const Mark& edge, const Vec2& corner, double tolerance) {
    const auto [a, b] = strokeOf(edge);
    const double length = (b - a).norm();
    if (length < 20.0) return std::nullopt;
    const Vec2 dir = (b - a) / length, across(-dir.y(), dir.x());
    const double sa = dir.dot(a - corner), sb = dir.dot(b - corner);
    Leg leg;
    leg.miss = std::abs(across.dot(corner - a));
    const double far = std::abs(sb) > std::abs(sa) ? sb : sa, near = std::abs(sb) > std::abs(sa) ? sa : sb;
    const double gap = near * far < 0 ? 0.0 : std::abs(near);
    // The stroke's own error grows where it is prolonged to the corner.
    if (leg.miss > tolerance * (1.0 + gap / length) || gap > 0.4 * length + 10.0) return std::nullopt;
    if (near * far < 0 && std::abs(near) > 0.25 * length)
        return std::nullopt;  // it runs through, no end here
    leg.along = ((std::abs(sb) > std::abs(sa) ? b : a) - corner).normalized();
    leg.reach = std::abs(far);
    return leg;
}

class Refiner {
  public:
    Refiner(const survey::Survey& survey, const RefineOptions& options)
        : survey_(survey), options_(options) {}

    Result<Fit> fit(const Mark& mark, const photo::LinearImage& image) const {
        const survey::Feature* feature = survey::find(survey_.features, mark.feature);
        if (!feature) return Error{ErrorCode::NotFound, "its feature is missing", mark.feature, ""};
        FitOptions o;
        o.handSigma_px = mark.points.empty() ? 1.5 : mark.points.front().sigma_px;
        if (!(o.handSigma_px > 0.0) || !std::isfinite(o.handSigma_px)) o.handSigma_px = 1.5;
        o.searchRadius_px = std::clamp(options_.searchSigmas * o.handSigma_px, 3.0, 12.0);
        switch (feature->kind) {
            case FeatureKind::Corner:
                return corner(mark, *feature, image, o);
            case FeatureKind::Edge: {
                if (mark.points.size() < 2)
                    return Error{ErrorCode::BadValue, "an edge needs two points", "", "place another one"};
                o.stretches = options_.edgePoints;
                const auto [a, b] = strokeOf(mark);
                return fitEdge(image, a, b, o);
            }
            case FeatureKind::Hole:
            case FeatureKind::Arc:
                break;
        }
        o.stretches = std::max(1, options_.rimPoints / 3);
        std::vector<Vec2> rim;
        for (const auto& p : mark.points) rim.push_back(p.px);
        return fitRim(image, rim, feature->kind == FeatureKind::Hole, o);
    }

  private:
    Result<Fit> corner(const Mark& mark, const survey::Feature& feature, const photo::LinearImage& image,
                       const FitOptions& o) const {
        if (mark.points.empty()) return Error{ErrorCode::BadValue, "the corner has no point", "", "place it"};
        const Vec2 at = mark.points.front().px;
        if (const auto legs = markedLegs(mark, feature, at, o.handSigma_px)) {
            std::array<Vec2, 2> ends;
            for (int k = 0; k < 2; ++k)
                ends[k] = at + std::min((*legs)[k].reach, options_.cornerLeg_px) * (*legs)[k].along;
            return fitCorner(image, at, ends[0], ends[1], o);
        }
        RayOptions rays;
        rays.handSigma_px = o.handSigma_px;
        const auto ends = edgesAround(image, at, rays);
        if (!ends) return ends.error();
        return fitCorner(image, at, (*ends)[0], (*ends)[1], o);
    }

    /// The two edges of the corner's level marked in the same photograph that end here, if just those.
    std::optional<std::array<Leg, 2>> markedLegs(const Mark& mark, const survey::Feature& feature,
                                                 const Vec2& at, double sigma) const {
        std::vector<Leg> legs;
        for (const Mark& other : survey_.marks) {
            if (other.station != mark.station || other.excluded || other.points.size() < 2) continue;
            const survey::Feature* f = survey::find(survey_.features, other.feature);
            if (!f || f->kind != FeatureKind::Edge || f->level != feature.level) continue;
            if (const auto leg = legOf(other, at, 4.0 * sigma + 1.0)) legs.push_back(*leg);
        }
        if (legs.size() != 2) return std::nullopt;
        const double sine = legs[0].along.x() * legs[1].along.y() - legs[0].along.y() * legs[1].along.x();
        if (std::abs(sine) < 0.26) return std::nullopt;
        return std::array<Leg, 2>{legs[0], legs[1]};
    }

    const survey::Survey& survey_;
    const RefineOptions& options_;
};

}  // namespace

RefineResult refine(const survey::Survey& survey, const PhotographProvider& photographs,
                    const RefineOptions& options, const Progress* progress) {
    RefineResult out;
    out.edit.name = "fit marks to the photographs";
    const Refiner refiner(survey, options);
    std::size_t done = 0;
    for (const survey::Station& station : survey.stations) {
        std::vector<const Mark*> marks;
        for (const Mark& m : survey.marks)
            if (m.station == station.id && !m.excluded && m.origin == survey::MarkOrigin::Hand)
                marks.push_back(&m);
        if (marks.empty()) continue;
        if (progress && progress->cancelled()) break;
        const Result<photo::LinearImage> image = photographs(station);
        if (!image) out.photographs.push_back(image.error());
        for (const Mark* mark : marks) {
            if (progress && progress->cancelled()) break;
            ++out.tried;
            const Result<Fit> fit = image ? refiner.fit(*mark, *image) : Result<Fit>(image.error());
            if (!fit) {
                out.refusals.push_back({mark->id, fit.error().sentence()});
            } else {
                Mark next = *mark;
                next.origin = survey::MarkOrigin::Fitted;
                next.points.clear();
                for (const FitPoint& p : fit->points) next.points.push_back({p.px, p.sigma_px});
                out.edit.changes.push_back(survey::Put<Mark>{next});
                ++out.fitted;
            }
            if (progress)
                progress->report(static_cast<double>(++done) / static_cast<double>(survey.marks.size()));
        }
    }
    return out;
}

}  // namespace trammel::fit
