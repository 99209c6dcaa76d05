// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/plan/Plan.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "core/plan/Views.h"

namespace trammel::plan {
namespace {

constexpr double kNearlyEqual = 1.05;
constexpr std::size_t kLeastPhotographs = 3;  // with fewer hardly any mistake would show
constexpr double kMostUnseen = 0.1;           // of the dimensions: more, and the views do not serve
const std::vector<std::string> kAllReferences = {kAlongX, kAlongY, kRaised};

/// Sees once what a setup shows, and judges any part of it.
class Judge {
  public:
    Judge(const Task& task, const Lens& lens, const LensUse& use)
        : task_(task),
          lens_(lens),
          use_(use),
          observer_(standIn(task_, use_.setup), planSight()),
          truth_(render::truthOf(observer_.scene())) {}

    Kept kept(const std::vector<std::string>& views) const {
        Kept k;
        k.views = views;
        k.referenceLengths = kAllReferences;
        k.squaring = task_.squaring;
        k.markSigma_px = task_.markSigma();
        for (const auto& [view, blur] : refocused(task_, lens_, use_, views).blur_px)
            k.factors[view] = blurFactor(blur);
        k.fitted = task_.marking == Marking::Fitted;
        return k;
    }
    Trial trial(const std::string& name, const Kept& kept) const {
        Trial t;
        t.name = name;
        const auto s = plannedSurvey(observer_, kept);
        const std::size_t wanted = observer_.scene().dimensions.size(), seen = s.dimensions.size();
        if (static_cast<double>(seen) < (1.0 - kMostUnseen) * static_cast<double>(wanted)) {
            t.reason =
                fmt::format("only {} of {} dimensions would be seen clearly in these views", seen, wanted);
            return t;
        }
        auto e = expect(s, truth_);
        if (!e) {
            t.reason = e.error().sentence();
            return t;
        }
        t.expected = *e;
        t.expected->unseen = static_cast<int>(wanted - seen);
        t.meets = e->meets(task_);
        return t;
    }

  private:
    Task task_;
    Lens lens_;
    LensUse use_;
    render::Observer observer_;
    render::Truth truth_;
};

std::vector<double> focalLengths(const Lens& lens) {
    if (lens.shortest_mm == lens.longest_mm) return {lens.shortest_mm};
    const double middle = std::clamp(std::round(std::sqrt(lens.shortest_mm * lens.longest_mm)),
                                     lens.shortest_mm, lens.longest_mm);
    return {lens.shortest_mm, middle, lens.longest_mm};
}

LensTrial tryLens(const Task& task, const Lens& lens, double focal) {
    LensTrial out;
    out.lens = lens;
    out.focal_mm = focal;
    out.trial.name = lens.shortest_mm == lens.longest_mm ? lens.title()
                                                         : fmt::format("{} at {:g} mm", lens.title(), focal);
    const auto use = useLens(task, lens, focal, standardViews());
    if (!use) {
        out.trial.reason = use.error().sentence();
        return out;
    }
    out.use = *use;
    const Judge judge(task, lens, *use);
    out.trial = judge.trial(out.trial.name, judge.kept(standardViews()));
    return out;
}

/// Index of the set of views with the smallest ± over what is wanted; nothing where none serves.
std::optional<std::size_t> smallestSet(const Task& task, const std::vector<Trial>& trials) {
    std::optional<std::size_t> best;
    for (std::size_t i = 0; i < trials.size(); ++i)
        if (trials[i].expected && viewSets()[i].size() >= kLeastPhotographs &&
            (!best || trials[i].expected->share(task) * kNearlyEqual < trials[*best].expected->share(task)))
            best = i;
    return best;
}

std::optional<std::size_t> chooseLens(const Task& task, const std::vector<LensTrial>& lenses) {
    double least = 1e300;
    for (const LensTrial& l : lenses)
        if (l.trial.expected) least = std::min(least, l.trial.expected->share(task));
    std::optional<std::size_t> best;
    for (std::size_t i = 0; i < lenses.size(); ++i) {
        const LensTrial& l = lenses[i];
        if (!l.trial.expected || l.trial.expected->share(task) > kNearlyEqual * least) continue;
        if (!best || l.use->setup.standOff_mm > lenses[*best].use->setup.standOff_mm) best = i;
    }
    return best;
}

void trySets(const Judge& judge, Plan& plan) {
    for (const auto& views : viewSets()) plan.sets.push_back(judge.trial(joined(views), judge.kept(views)));
    auto chosen = smallestSet(plan.task, plan.sets);
    for (std::size_t i = plan.sets.size(); i-- > 0;)
        if (plan.sets[i].meets && viewSets()[i].size() >= kLeastPhotographs) chosen = i;
    if (!chosen) return;
    plan.sets[*chosen].chosen = true;
    plan.views = viewSets()[*chosen];
    plan.expected = *plan.sets[*chosen].expected;
    plan.reachable = plan.sets[*chosen].meets;
}

void tryReferenceLengths(const Judge& judge, Plan& plan) {
    const std::vector<std::pair<const char*, std::vector<std::string>>> ways = {
        {"none", {}},
        {"one, along x at the datum level", {kAlongX}},
        {"two at right angles at the datum level", {kAlongX, kAlongY}},
        {"one at the datum level, one at another height", {kAlongX, kRaised}},
        {"two at right angles, one more at another height", kAllReferences},
    };
    for (const auto& [name, lengths] : ways) {
        Kept kept = judge.kept(plan.views);
        kept.referenceLengths = lengths;
        plan.referenceLengths.push_back(judge.trial(name, kept));
    }
    plan.referenceLengths.back().chosen = true;
}

std::vector<Trial> trySquaring(const Judge& judge, const Task& task, const std::vector<std::string>& views) {
    const std::vector<std::pair<const char*, Squaring>> ways = {
        {"by eye, within 2°", Squaring::Eye},
        {"spirit level or plumb line, within 0.5°", Squaring::Level},
        {"mirror on the part, within 0.1° (top view)", Squaring::Mirror},
    };
    std::vector<Trial> out;
    for (const auto& [name, squaring] : ways) {
        Kept kept = judge.kept(views);
        kept.squaring = squaring;
        out.push_back(judge.trial(name, kept));
        out.back().chosen = squaring == task.squaring;
    }
    return out;
}

/// What would help, each tried with the chosen lens and views.
void tryHelp(const Judge& judge, Plan& plan) {
    const auto with = [&](const std::string& name, const Task& task) {
        const Judge other(task, plan.lens, plan.use);
        plan.help.push_back(other.trial(name, other.kept(plan.views)));
    };
    if (plan.task.marking == Marking::Clicked) {
        Task fitted = plan.task;
        fitted.marking = Marking::Fitted;
        fitted.markSigma_px.reset();
        with("marks fitted to the edges instead of clicked", fitted);
    }
    if (!plan.task.caliper || !plan.task.depthRod) {
        Task read = plan.task;
        read.caliper = read.depthRod = true;
        with("caliper and depth readings", read);
    }
    const double longer = std::max(plan.task.sizeX_mm, plan.task.sizeY_mm);
    if (plan.task.caliperReach_mm < longer) {
        Task reaching = plan.task;
        reaching.caliper = true;
        reaching.caliperReach_mm = longer;
        with("a caliper that reaches over the whole part", reaching);
    }
    Task finer = plan.task;
    finer.reference.sigma_mm = std::min(0.01, plan.task.reference.sigma_mm);
    with("reference lengths good to 0.01 mm (a gauge block, a calibrated rule)", finer);
    Kept half = judge.kept(plan.views);
    half.markSigma_px *= 0.5;
    plan.help.push_back(
        judge.trial("pixels of half the size (photographs in pieces, or a finer sensor)", half));
}

Error cancelled() { return {ErrorCode::Cancelled, "was stopped", "the plan", ""}; }

}  // namespace

const std::vector<std::string>& standardViews() {
    static const std::vector<std::string> views = {"top", "oblique front", "oblique right"};
    return views;
}

Result<Plan> makePlan(const Task& task, const Progress* progress) {
    if (auto sound = check(task); !sound) return sound.error();
    Plan plan;
    plan.task = task;
    const auto stopped = [&](double share) {
        if (progress) progress->report(share);
        return progress && progress->cancelled();
    };
    for (std::size_t i = 0; i < task.lenses.size(); ++i)
        for (const double focal : focalLengths(task.lenses[i])) {
            if (stopped(0.6 * static_cast<double>(i) / static_cast<double>(task.lenses.size())))
                return cancelled();
            plan.lenses.push_back(tryLens(task, task.lenses[i], focal));
        }
    const auto best = chooseLens(task, plan.lenses);
    if (!best) return plan;
    plan.lenses[*best].trial.chosen = true;
    plan.lens = plan.lenses[*best].lens;
    plan.use = *plan.lenses[*best].use;
    const Judge judge(task, plan.lens, plan.use);
    if (stopped(0.6)) return cancelled();
    trySets(judge, plan);
    if (!plan.served()) return plan;
    plan.use = refocused(task, plan.lens, plan.use, plan.views);
    if (stopped(0.75)) return cancelled();
    tryReferenceLengths(judge, plan);
    if (stopped(0.85)) return cancelled();
    plan.squaring = trySquaring(judge, task, plan.views);
    plan.squaringAlone = trySquaring(judge, task, {"top", "front", "right"});
    if (!plan.reachable) tryHelp(judge, plan);
    if (stopped(1.0)) return cancelled();
    return plan;
}

}  // namespace trammel::plan
