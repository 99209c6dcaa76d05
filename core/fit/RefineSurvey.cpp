// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/fit/RefineSurvey.h"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <atomic>
#include <cmath>
#include <future>
#include <map>
#include <optional>
#include <thread>

#include "core/fit/CornerRays.h"
#include "core/fit/CurveFit.h"
#include "core/fit/EdgeFit.h"
#include "core/fit/ShapeFit.h"
#include "core/fit/TransitionSide.h"
#include "core/survey/ObjectCheck.h"

namespace trammel::fit {
namespace {

using survey::FeatureKind;
using survey::Mark;

std::vector<Vec2> placesOf(const Mark& mark) {
    std::vector<Vec2> out;
    for (const auto& p : mark.points) out.push_back(p.px);
    return out;
}

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

/// Anywhere in it with even chance is a σ of 10 px: no hand errs by as much.
constexpr double kWidestRounding_px = 35.0;

class Refiner {
  public:
    Refiner(const survey::Survey& survey, const RefineOptions& options)
        : survey_(survey), options_(options) {}

    Result<Fit> fit(const Mark& mark, const photo::LinearImage& image, std::vector<Rival>& rivals) const {
        const survey::Feature* feature = survey::find(survey_.features, mark.feature);
        if (!feature) return Error{ErrorCode::NotFound, "its feature is missing", mark.feature, ""};
        // A fit would replace a σ or place that cannot be meant by one that looks sound.
        if (const auto wrong = survey::checkObject(survey_, mark); !wrong.empty())
            return Error{wrong.front().code, wrong.front().what, "", wrong.front().remedy};
        FitOptions o;
        o.handSigma_px = mark.points.empty() ? 1.5 : mark.points.front().sigma_px;
        o.searchRadius_px = std::clamp(options_.searchSigmas * o.handSigma_px, 3.0, 12.0);
        if (const auto no = takeTransition(mark, *feature, o)) return *no;
        if (const auto c = options_.chosen.find(mark.id); c != options_.chosen.end()) o.chosen = c->second;
        switch (feature->kind) {
            case FeatureKind::Corner:
                return corner(mark, *feature, image, o, rivals);
            case FeatureKind::Edge: {
                if (mark.points.size() < 2)
                    return Error{ErrorCode::BadValue, "an edge needs two points", "", "place another one"};
                o.stretches = options_.edgePoints;
                const auto [a, b] = strokeOf(mark);
                return fitEdge(image, a, b, o, &rivals);
            }
            case FeatureKind::Slot:
                return fitSlot(image, placesOf(mark), o, options_.slotPoints, &rivals);
            case FeatureKind::Curve:
                return fitCurve(image, placesOf(mark), o);
            case FeatureKind::Hole:
            case FeatureKind::Arc:
                break;
        }
        o.stretches = std::max(1, options_.rimPoints / 3);
        return fitRim(image, placesOf(mark), feature->kind == FeatureKind::Hole, o, &rivals);
    }

    /// Scale of a photograph, px/mm.
    std::optional<double> scale(const survey::Id& station) const {
        const auto given = options_.scale_px_per_mm.find(station);
        return given != options_.scale_px_per_mm.end() ? given->second : scaleIn(survey_, station);
    }

  private:
    std::optional<Error> takeTransition(const Mark& mark, const survey::Feature& feature,
                                        FitOptions& o) const {
        o.transition = feature.transition;
        if (feature.transition == survey::Transition::Sharp) return std::nullopt;
        if (feature.transition != survey::Transition::Round) {
            o.inside = insideOf(survey_, mark);
            return std::nullopt;
        }
        if (!(feature.transition_mm > 0.0))
            return refuse("how wide its rounding is has not been entered", "enter it in mm");
        const auto px = scale(mark.station);
        if (!px)
            return refuse("how many px its rounding is wide cannot be told yet",
                          "mark a known length in this photograph, or adjust first");
        o.transition_px = *px * feature.transition_mm;
        if (o.transition_px > kWidestRounding_px)
            return refuse(
                fmt::format("a rounding {:g} mm wide is {:.0f} px here, too wide to tell a place in it",
                            feature.transition_mm, o.transition_px),
                "check the width, or name the inner or outer line as the meant one");
        return std::nullopt;
    }

    Result<Fit> corner(const Mark& mark, const survey::Feature& feature, const photo::LinearImage& image,
                       const FitOptions& o, std::vector<Rival>& rivals) const {
        if (mark.points.empty()) return Error{ErrorCode::BadValue, "the corner has no point", "", "place it"};
        const Vec2 at = mark.points.front().px;
        if (const auto given = options_.cornerLegs.find(mark.id); given != options_.cornerLegs.end())
            return fitCorner(image, at, given->second[0], given->second[1], o, &rivals);
        if (const auto legs = markedLegs(mark, feature, at, o.handSigma_px)) {
            std::array<Vec2, 2> ends;
            for (int k = 0; k < 2; ++k)
                ends[k] = at + std::min((*legs)[k].reach, options_.cornerLeg_px) * (*legs)[k].along;
            return fitCorner(image, at, ends[0], ends[1], o, &rivals);
        }
        if (arcEndsAt(mark, feature, at, o.handSigma_px))
            return refuse("an arc ends at this corner",
                          "its edge and arc locate it; keep the corner by hand");
        RayOptions rays;
        rays.handSigma_px = o.handSigma_px;
        const auto ends = edgesAround(image, at, rays);
        if (!ends) return ends.error();
        return fitCorner(image, at, (*ends)[0], (*ends)[1], o, &rivals);
    }

    /// Whether an arc of the corner's level is marked in this photograph with an end near the corner.
    bool arcEndsAt(const Mark& mark, const survey::Feature& feature, const Vec2& at, double sigma) const {
        for (const Mark& other : survey_.marks) {
            if (other.station != mark.station || other.excluded || other.points.empty()) continue;
            const survey::Feature* f = survey::find(survey_.features, other.feature);
            if (!f || f->kind != FeatureKind::Arc || f->level != feature.level) continue;
            const double length = (other.points.back().px - other.points.front().px).norm();
            for (const auto& p : {other.points.front(), other.points.back()})
                if ((p.px - at).norm() < 4.0 * sigma + 0.25 * length) return true;
        }
        return false;
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

namespace {

constexpr std::size_t kMarksPerThread = 12;  ///< fewer are not worth another thread

/// A mark of one photograph and what came of it.
struct Outcome {
    const Mark* mark;
    Result<Fit> fit;
    bool asked;  ///< else it only tells how sharp its photograph is
    std::vector<Rival> rivals{};
};

/// Median and relative spread of the blur of well-told fits; nothing for fewer than five.
struct Usual {
    double blur = 0.0, spread = 0.0;
};

std::optional<Usual> usualBlur(const std::vector<const Outcome*>& outcomes) {
    const auto median = [](std::vector<double>& v) {
        std::nth_element(v.begin(), v.begin() + static_cast<std::ptrdiff_t>(v.size() / 2), v.end());
        return v[v.size() / 2];
    };
    std::vector<double> blurs;
    for (const Outcome* o : outcomes)
        if (o->fit && o->fit->blurSigma_px < 0.1) blurs.push_back(o->fit->blur_px);
    if (blurs.size() < 5) return std::nullopt;
    const double middle = median(blurs);
    for (double& b : blurs) b = std::abs(b - middle);
    return Usual{middle, 1.4826 * median(blurs) / middle};
}

constexpr double kEvenSharpness = 0.06;  ///< relative spread of the blur of a photograph with clean edges

/// Edges in one photograph are as sharp as each other. Where one looks blurrier or crisper than usual, the
/// step is not one step: a sliver of a wall or a chamfer, too thin to be told apart, lies beside it. Two
/// steps of shares p and 1 − p that lie w apart change the apparent variance by p(1 − p)w² and move the
/// apparent edge by (1 − p)w: the root of that change is taken as the doubt where in the transition the meant
/// edge lies. A photograph whose own edges disagree (a side view shows slivers everywhere) is held against
/// all those of its camera group.
void addTransitionDoubt(const survey::Survey& survey, std::vector<Outcome>& outcomes) {
    std::map<survey::Id, std::vector<const Outcome*>> byStation, byGroup;
    const auto groupOf = [&](const Outcome& o) {
        const survey::Station* s = survey::find(survey.stations, o.mark->station);
        return s ? s->group : survey::Id();
    };
    for (const Outcome& o : outcomes) {
        byStation[o.mark->station].push_back(&o);
        byGroup[groupOf(o)].push_back(&o);
    }
    std::map<survey::Id, std::optional<Usual>> station, group;
    for (const auto& [id, list] : byStation) station[id] = usualBlur(list);
    for (const auto& [id, list] : byGroup) group[id] = usualBlur(list);
    for (Outcome& o : outcomes) {
        if (!o.fit) continue;
        const std::optional<Usual>& own = station[o.mark->station];
        const std::optional<Usual>& all = group[groupOf(o)];
        const std::optional<Usual> usual = own && (own->spread < kEvenSharpness || !all) ? own : all;
        if (!usual) continue;
        const double blur = o.fit->blur_px, change = std::abs(blur * blur - usual->blur * usual->blur);
        const double chance = 2.0 * (2.0 * blur * o.fit->blurSigma_px + 0.04 * usual->blur * usual->blur);
        const double doubt = std::sqrt(std::max(0.0, change - chance));
        for (FitPoint& p : o.fit->points) p.sigma_px = std::hypot(p.sigma_px, doubt);
    }
}

/// Adds the doubts that a mark's points share. The points are handed on as independent, so each takes the
/// doubt times √n: their mean then still carries it.
void addSharedDoubt(const survey::Survey& survey, const RefineOptions& options, const Refiner& refiner,
                    std::vector<Outcome>& outcomes) {
    using survey::View;
    for (Outcome& o : outcomes) {
        const survey::Station* station = survey::find(survey.stations, o.mark->station);
        const survey::Feature* feature = survey::find(survey.features, o.mark->feature);
        if (!o.fit || !station || !feature) continue;
        const bool side = station->view == View::Front || station->view == View::Rear ||
                          station->view == View::Left || station->view == View::Right;
        const bool rim = feature->kind == FeatureKind::Hole || feature->kind == FeatureKind::Arc ||
                         feature->kind == FeatureKind::Slot;
        // Anywhere in a rounding with even chance (GUM 4.3.7).
        const double width = feature->transition == survey::Transition::Round
                                 ? feature->transition_mm * refiner.scale(station->id).value_or(0.0)
                                 : 0.0;
        const double doubt = std::hypot(side ? options.sideDoubt_px : 0.0, rim ? options.rimDoubt_px : 0.0,
                                        width / std::sqrt(12.0));
        const double share = doubt * std::sqrt(static_cast<double>(o.fit->points.size()));
        for (FitPoint& p : o.fit->points) p.sigma_px = std::hypot(p.sigma_px, share);
    }
}

/// The marks of a survey fitted photograph by photograph.
struct Looking {
    const survey::Survey& survey;
    const PhotographProvider& photographs;
    const RefineOptions& options;
    const Progress* progress;
    const Refiner refiner{survey, options};
    std::vector<Outcome> outcomes{};
    std::vector<Error> problems{};

    bool asked(const Mark& m) const {
        return !m.excluded && m.origin == survey::MarkOrigin::Hand &&
               (options.onlyMarks.empty() || options.onlyMarks.contains(m.id));
    }

    bool cancelled() const { return progress && progress->cancelled(); }

    void look(const survey::Station& station) {
        std::vector<const Mark*> marks;
        std::size_t others = 0;
        for (const Mark& m : survey.marks)
            if (m.station == station.id && !m.excluded && (asked(m) || others++ < options.mostOthers))
                marks.push_back(&m);
        if (marks.empty() || cancelled()) return;
        const Result<photo::LinearImage> image = photographs(station);
        if (!image) problems.push_back(image.error());
        std::vector<std::optional<Outcome>> found(marks.size());
        std::atomic<std::size_t> next = 0, done = 0;
        const auto work = [&](bool reports) {
            for (std::size_t i = next++; i < marks.size() && !cancelled(); i = next++) {
                std::vector<Rival> rivals;
                Result<Fit> fit = image ? refiner.fit(*marks[i], *image, rivals) : Result<Fit>(image.error());
                found[i] = Outcome{marks[i], std::move(fit), asked(*marks[i]), std::move(rivals)};
                ++done;
                if (progress && reports)
                    progress->report(static_cast<double>(outcomes.size() + done) /
                                     static_cast<double>(survey.marks.size()));
            }
        };
        // Each mark is fitted by itself. Progress is told on the caller's thread only.
        std::vector<std::future<void>> helpers;
        const unsigned threads = std::min(4u, std::thread::hardware_concurrency());
        for (unsigned k = 1; k < threads && marks.size() > kMarksPerThread * k; ++k)
            helpers.push_back(std::async(std::launch::async, work, false));
        work(true);
        for (auto& helper : helpers) helper.get();
        for (std::optional<Outcome>& o : found)
            if (o) outcomes.push_back(std::move(*o));
    }

    /// Whether the photograph's own edges tell how sharp an edge is, without its camera's other ones.
    bool tellsSharpness(const survey::Station& station) const {
        std::vector<const Outcome*> own;
        for (const Outcome& o : outcomes)
            if (o.mark->station == station.id) own.push_back(&o);
        const auto usual = usualBlur(own);
        return usual && usual->spread < kEvenSharpness;
    }
};

void lookEverywhere(Looking& looking) {
    std::set<survey::Id> seen, groups;  // groups: photographs of these cameras are needed for comparison
    for (const survey::Station& station : looking.survey.stations) {
        if (std::ranges::none_of(looking.survey.marks,
                                 [&](const Mark& m) { return m.station == station.id && looking.asked(m); }))
            continue;
        looking.look(station);
        seen.insert(station.id);
        if (!looking.tellsSharpness(station)) groups.insert(station.group);
    }
    if (looking.options.onlyMarks.empty() || looking.options.mostOthers < 12) return;
    for (const survey::Station& station : looking.survey.stations)
        if (groups.contains(station.group) && !seen.contains(station.id)) looking.look(station);
}

}  // namespace

RefineResult refine(const survey::Survey& survey, const PhotographProvider& photographs,
                    const RefineOptions& options, const Progress* progress) {
    RefineResult out;
    out.edit.name = "fit marks to the photographs";
    Looking looking{survey, photographs, options, progress};
    lookEverywhere(looking);
    out.photographs = looking.problems;
    std::vector<Outcome>& outcomes = looking.outcomes;
    addTransitionDoubt(survey, outcomes);
    addSharedDoubt(survey, options, looking.refiner, outcomes);
    for (const Outcome& o : outcomes) {
        if (!o.asked) continue;
        ++out.tried;
        if (!o.fit) {
            Error error = o.fit.error();
            if (!o.rivals.empty()) error.what += ": " + tellAll(o.rivals);
            out.refusals.push_back({o.mark->id, error.sentence(), o.rivals});
            continue;
        }
        Mark next = *o.mark;
        next.origin = survey::MarkOrigin::Fitted;
        next.points.clear();
        for (const FitPoint& p : o.fit->points) next.points.push_back({p.px, p.sigma_px, p.growth_px});
        out.edit.changes.push_back(survey::Put<Mark>{next});
        ++out.fitted;
    }
    return out;
}

}  // namespace trammel::fit
