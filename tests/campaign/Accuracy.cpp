// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <map>
#include <optional>

#include "Campaign.h"
#include "FitPhotographs.h"
#include "OutlineCorners.h"
#include "TrueImages.h"
#include "core/adjust/Adjust.h"

namespace trammel::campaign {
namespace {

using survey::FeatureKind;

struct Errors {
    double planSquares = 0.0, planVariances = 0.0, planWorst = 0.0;  // per coordinate
    double heightSquares = 0.0, heightVariances = 0.0, heightWorst = 0.0;
    int plan = 0, heights = 0, covered = 0;

    void addPlan(double error, double plusMinus) {
        planSquares += error * error;
        planVariances += plusMinus * plusMinus / 4;
        planWorst = std::max(planWorst, std::abs(error));
        covered += std::abs(error) <= plusMinus;
        ++plan;
    }
    void addHeight(double error, double plusMinus) {
        heightSquares += error * error;
        heightVariances += plusMinus * plusMinus / 4;
        heightWorst = std::max(heightWorst, std::abs(error));
        covered += std::abs(error) <= plusMinus;
        ++heights;
    }
    double planRms() const { return std::sqrt(planSquares / std::max(plan, 1)); }
    double heightRms() const { return std::sqrt(heightSquares / std::max(heights, 1)); }
    double ratio() const {
        return std::sqrt((planSquares + heightSquares) / std::max(planVariances + heightVariances, 1e-300));
    }
};

/// Levels of the part itself; rule and card lie beside it and are scale, not result.
bool ofPart(const survey::Survey& s, const survey::Id& level) {
    const survey::Level* l = find(s.levels, level);
    return l && l->name != "rule" && l->name != "card";
}

/// Corners and holes of the part.
bool judged(const survey::Survey& s, const survey::Feature& f) {
    return (f.kind == FeatureKind::Corner || f.kind == FeatureKind::Hole) && ofPart(s, f.level);
}

/// Compares what the adjustment says with the truth: hole centres, outline corners and heights in `e`; in
/// `all` also every corner that is marked for itself, however roughly.
bool adjusted(const survey::Survey& s, const render::Truth& truth, Errors& e, Errors& all) {
    const auto r = adjust::adjust(s);
    if (!r) {
        fmt::print("{}\n", r.error().sentence());
        return false;
    }
    const auto one = [&](Errors& errors, survey::Quantity q, std::vector<survey::Id> objects) {
        survey::Dimension d;
        d.quantity = q;
        d.objects = std::move(objects);
        const auto m = r->measure(d);
        const auto t = truth.value(d.quantity, d.objects);
        if (!m || !t) return;
        if (q == survey::Quantity::Height)
            errors.addHeight(m->value - *t, m->plusMinus);
        else
            errors.addPlan(m->value - *t, m->plusMinus);
    };
    for (const survey::Feature& f : s.features) {
        if (!judged(s, f) || f.id == s.datum.origin) continue;
        for (Errors* errors : {&e, &all}) {
            if (errors == &e && f.kind != FeatureKind::Hole) continue;
            one(*errors, survey::Quantity::OffsetX, {s.datum.origin, f.id});
            if (f.id != s.datum.direction) one(*errors, survey::Quantity::OffsetY, {s.datum.origin, f.id});
        }
    }
    for (const OutlineCorner& c : outlineCorners(s, *r, truth))
        for (Errors* errors : {&e, &all}) {
            errors->addPlan(c.found.x() - c.truth.x(), c.plusMinus.x());
            errors->addPlan(c.found.y() - c.truth.y(), c.plusMinus.y());
        }
    for (const survey::Level& l : s.levels)
        if (ofPart(s, l.id) && l.id != s.datum.level) {
            one(e, survey::Quantity::Height, {l.id});
            one(all, survey::Quantity::Height, {l.id});
        }
    return true;
}

/// px of each corner and hole (middle of its rim) in one photograph, straight from its marks.
std::map<survey::Id, Vec2> pointsIn(const survey::Survey& s, survey::View view) {
    std::map<survey::Id, Vec2> out;
    for (const survey::Mark& m : s.marks) {
        const survey::Station* st = find(s.stations, m.station);
        const survey::Feature* f = find(s.features, m.feature);
        if (!st || !f || st->view != view) continue;
        if (f->kind != FeatureKind::Corner && f->kind != FeatureKind::Hole) continue;
        Vec2 middle = Vec2::Zero();
        for (const auto& p : m.points) middle += p.px / static_cast<double>(m.points.size());
        out[f->id] = middle;
    }
    return out;
}

/// The two features of one level that lie farthest apart, with their true distance as a perfect caliper
/// would give it: the simple methods get the best known length there is.
struct Span {
    survey::Id a, b;
    double length = 0.0;
};
std::optional<Span> longest(const survey::Survey& s, const render::Truth& truth,
                            const std::map<survey::Id, Vec2>& px, const survey::Id& level) {
    std::optional<Span> best;
    for (const auto& [a, pa] : px)
        for (const auto& [b, pb] : px) {
            if (a >= b || find(s.features, a)->level != level || find(s.features, b)->level != level)
                continue;
            const double length = (truth.features.at(a).point - truth.features.at(b).point).norm();
            if (!best || length > best->length) best = Span{a, b, length};
        }
    return best;
}

/// Plan by scaling the top photograph: one scale from the rule, or one for each level.
void scaledPlan(const survey::Survey& s, const render::Truth& truth, bool perLevel, Errors& e) {
    const auto px = pointsIn(s, survey::View::Top);
    if (!px.contains(s.datum.origin) || !px.contains(s.datum.direction)) return;
    const Vec2 origin = px.at(s.datum.origin), along = (px.at(s.datum.direction) - origin).normalized();
    const Vec2 up(along.y(), -along.x());  // px run down, the part's y up
    std::map<survey::Id, double> scale;
    double rule = 0.0;
    for (const survey::Level& l : s.levels)
        if (const auto span = longest(s, truth, px, l.id)) {
            scale[l.id] = (px.at(span->a) - px.at(span->b)).norm() / span->length;
            if (l.name == "rule") rule = scale[l.id];
        }
    for (const survey::Feature& f : s.features) {
        if (!judged(s, f) || !px.contains(f.id) || f.id == s.datum.origin) continue;
        const double m = perLevel ? scale[f.level] : rule;
        if (!(m > 0)) continue;
        const Vec2 d = (px.at(f.id) - origin) / m;
        const Vec3 t = truth.features.at(f.id).point - truth.features.at(s.datum.origin).point;
        e.addPlan(d.dot(along) - t.x(), 0.0);
        if (f.id != s.datum.direction) e.addPlan(d.dot(up) - t.y(), 0.0);
    }
}

/// Heights by scaling the front photograph with the longest known width in it, against the mean of the datum
/// level's points.
void scaledHeights(const survey::Survey& s, const render::Truth& truth, Errors& e) {
    const auto px = pointsIn(s, survey::View::Front);
    const auto span = longest(s, truth, px, s.datum.level);
    if (!span) return;
    const double m = (px.at(span->a) - px.at(span->b)).norm() / span->length;
    std::map<survey::Id, std::pair<double, int>> rows;
    for (const auto& [id, p] : px) {
        auto& [sum, count] = rows[find(s.features, id)->level];
        sum += p.y();
        ++count;
    }
    const auto mean = [&](const survey::Id& l) { return rows[l].first / rows[l].second; };
    for (const survey::Level& l : s.levels)
        if (rows.contains(l.id) && l.id != s.datum.level && ofPart(s, l.id))
            e.addHeight((mean(s.datum.level) - mean(l.id)) / m - truth.levels.at(l.id), 0.0);
}

void print(const char* name, const Errors& e, bool predicted) {
    fmt::print("  {:<34} plan RMS {:.3f} worst {:.3f}   heights RMS {:.3f} worst {:.3f}", name, e.planRms(),
               e.planWorst, e.heightRms(), e.heightWorst);
    if (predicted)
        fmt::print("   ratio to predicted {:.2f}, ± covers {:.0f} %", e.ratio(),
                   100.0 * e.covered / std::max(e.plan + e.heights, 1));
    fmt::print("\n");
}

bool drawTable(const Sample& sample, bool fitted, int draws) {
    Errors ours, everything, single, perLevel;
    bool good = true;
    for (int seed = 1; seed <= draws; ++seed) {
        const survey::Survey s = sample.observer.draw(marks(fitted, static_cast<std::uint64_t>(seed)));
        good = adjusted(s, sample.truth, ours, everything) && good;
        scaledPlan(s, sample.truth, false, single);
        scaledPlan(s, sample.truth, true, perLevel);
        scaledHeights(s, sample.truth, single);
    }
    perLevel.heightSquares = single.heightSquares;
    perLevel.heights = single.heights;
    perLevel.heightWorst = single.heightWorst;
    fmt::print("{} marks, {} draws (mm, per coordinate)\n", fitted ? "fitted (0.1 px)" : "hand (1.5 px)",
               draws);
    print("adjusted", ours, true);
    print("the same, all corners marked", everything, true);
    print("each photograph by its one reference", single, false);
    print("one scale a level", perLevel, false);
    good = good && ours.ratio() >= 0.8 && ours.ratio() <= 1.25;
    if (fitted) return good && ours.planRms() <= 0.03 && ours.planWorst <= 0.10 && ours.heightRms() <= 0.03;
    return good && ours.planRms() <= 0.20;
}

/// Fitted marks that lie on the edge they were meant for.
int onMeantEdge(const Sample& sample, const survey::Survey& s) {
    const TrueImages images(sample, s);
    return static_cast<int>(std::count_if(s.marks.begin(), s.marks.end(), [&](const survey::Mark& m) {
        return m.origin == survey::MarkOrigin::Fitted && images.distance(m) < kMeant_px;
    }));
}

/// Clicks by hand, then the fit to the sample's own photographs, as `trammel fit` does it.
bool photographTable(const Sample& sample, const Settings& settings, int draws, double click_px) {
    const std::filesystem::path folder = std::filesystem::path(settings.scene).parent_path();
    Errors ours, everything;
    int fitted = 0, tried = 0, suspects = 0, meant = 0;
    double bundledWorst = 0.0;
    bool good = true;
    for (int seed = 1; seed <= draws; ++seed) {
        render::ObserveOptions clicks = marks(false, static_cast<std::uint64_t>(seed));
        clicks.sigma_px = click_px;
        const survey::Survey byHand = sample.observer.draw(clicks);
        const auto done = fitToPhotographs(byHand, folder);
        if (!done) {
            fmt::print("{}\n", done.error().sentence());
            return false;
        }
        const survey::Survey& s = done->survey;
        fitted += done->fitted;
        tried += done->tried;
        meant += onMeantEdge(sample, s);
        good = adjusted(s, sample.truth, ours, everything) && good;
        if (seed == 1) bundledWorst = ours.planWorst;  // the bundled survey is the first draw
        const auto solution = adjust::adjust(s);
        suspects += solution ? static_cast<int>(solution->suspects.size()) : 0;
    }
    fmt::print(
        "hand marks of {:.1f} px fitted to the photographs, {} draws: {:.0f} % fitted, of these {:.2f} % on "
        "the "
        "meant edge, {} suspects left (mm, per coordinate)\n",
        click_px, draws, 100.0 * fitted / std::max(tried, 1), 100.0 * meant / std::max(fitted, 1), suspects);
    print("adjusted", ours, true);
    print("the same, all corners marked", everything, true);
    fmt::print("  worst in plan of the bundled survey (the first draw) {:.3f}\n", bundledWorst);
    // Errors of one draw hang together (one lens, one datum): a few draws leave their ratio wide open.
    const double room = draws >= 20 ? 0.0 : 0.3;
    return good && ours.ratio() >= 0.8 - room && ours.ratio() <= 1.25 + room && ours.planRms() <= 0.03 &&
           meant >= 0.98 * fitted && bundledWorst <= 0.10 && ours.heightRms() <= 0.03;
}

}  // namespace

int accuracy(const Settings& settings) {
    const Sample sample(settings.scene);
    bool good = drawTable(sample, false, settings.draws);
    good = drawTable(sample, true, settings.draws) && good;
    // A fit reads photographs and takes seconds: a tenth of the draws.
    for (const double click_px : {1.5, 3.0})
        good = photographTable(sample, settings, std::max(1, settings.draws / 10), click_px) && good;
    return good ? 0 : 1;
}

}  // namespace trammel::campaign
