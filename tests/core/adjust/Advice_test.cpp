// SPDX-License-Identifier: GPL-3.0-or-later
// What is forecast against what an adjustment with the reading or photograph in it says.
#include "core/adjust/Advice.h"

#include <set>

#include "Sample.h"
#include "core/adjust/AdviceMarks.h"
#include "core/adjust/AdvicePlan.h"
#include "core/adjust/AdviceViews.h"
#include "core/estimate/Normal.h"
#include "core/estimate/Solver.h"
#include "core/survey/Edit.h"

using namespace trammel;
using namespace trammel::adjust;
using survey::Quantity;

namespace {

Options plain() {
    Options o;
    o.findSuspects = false;
    return o;
}

Solution adjusted(const survey::Survey& s) {
    auto r = adjust::adjust(s, plain());
    if (!r) throw std::runtime_error(r.error().sentence());
    return *r;
}

VecX nowOf(const Goal& goal, const Solution& s) {
    return variancesOf(goal, estimate::Planned(s.covariance->factor()));
}

/// Variances of the goal's dimensions at `start`, or where an adjustment that begins there settles. From its
/// own start it would settle on the same lines, but call other points their ends, and where a distance from
/// edge to edge is taken shifts with them.
struct Again {
    VecX variances;
    double varianceFactor = 0.0;
};
Again readjusted(const survey::Survey& s, const State& start, const Goal& goal, bool settle = true) {
    auto network = Network::compile(s);
    REQUIRE(network);
    network->state() = start;
    network->forgetFeet();
    if (settle) REQUIRE(estimate::solve(*network));
    std::vector<estimate::Rows> rows;
    REQUIRE(network->linearise(rows, true));
    estimate::Normal normal(network->layout(), rows);
    normal.assemble(rows);
    estimate::RankDefect defect;
    const estimate::CovarianceFactor factor(normal, defect);
    REQUIRE(factor.valid());
    Again again;
    again.variances.resize(static_cast<Eigen::Index>(goal.wanted().size()));
    for (Eigen::Index i = 0; i < again.variances.size(); ++i) {
        const survey::Dimension& d = goal.wanted()[static_cast<std::size_t>(i)].dimension;
        const auto term = resolve(s, d.quantity, d.objects, d.id);
        REQUIRE(term);
        again.variances[i] = factor.variance(evaluate(*term, network->state(), network->columns()).gradient);
    }
    int components = 0;
    for (const estimate::Rows& row : rows) components += row.active ? row.components : 0;
    again.varianceFactor = estimate::sumOfSquares(rows) / (components - network->layout().columns);
    return again;
}

/// The reading that was proposed, as it would be if it found exactly what the adjustment says.
survey::Reading agreeing(const survey::Survey& s, const Solution& solution, const AdvisedReading& a) {
    survey::Dimension d;
    d.quantity = a.quantity;
    d.objects = a.objects;
    const auto value = solution.measure(d);
    REQUIRE(value);
    survey::Reading r;
    r.id = survey::freshId(s, 'R');
    r.quantity = a.quantity;
    r.objects = a.objects;
    r.measured = {value->value, a.sigma};
    return r;
}

double largestApart(const VecX& forecast, const VecX& then) {
    return ((forecast.array() / then.array()).sqrt() - 1).abs().maxCoeff();
}

}  // namespace

TEST_CASE("a reading's forecast equals the adjustment with that reading in it") {
    for (const bool fitted : {false, true}) {
        const survey::Survey s = test::draw(fitted, 21);
        const Solution before = adjusted(s);
        const auto goal = Goal::of(before);
        REQUIRE(goal);
        const PossibleReadings readings(before, {});
        const estimate::Planned planned(before.covariance->factor());
        std::set<std::pair<Instrument, Quantity>> kinds;
        const std::size_t step = readings.size() / 17;
        for (std::size_t i = 0; i < readings.size(); ++i) {
            const AdvisedReading a = readings.reading(i);
            if (!kinds.insert({a.instrument, a.quantity}).second && i % step != 0) continue;
            CAPTURE(fitted, i, instrumentName(a.instrument), a.objects);
            const VecX forecast = rankReading(readings, *goal, planned, i).variances;
            survey::Survey with = s;
            with.readings.push_back(agreeing(s, before, a));
            CHECK(largestApart(forecast, readjusted(with, before.covariance->state(), *goal).variances) <
                  1e-6);
        }
        CHECK(kinds.size() == 5);  // diameter, distance, depth, tape, angle
    }
}

TEST_CASE("a photograph's forecast equals the adjustment with that photograph in it") {
    // Without its obliques the sample has room for views that see what no other does.
    for (const bool obliques : {true, false}) {
        render::ObserveOptions o = test::marks(false, 5);
        if (!obliques) o.onlyStations = {"top", "front", "oblique A"};
        const survey::Survey s = test::observer().draw(o);
        const Solution before = adjusted(s);
        const auto goal = Goal::of(before);
        REQUIRE(goal);
        const auto views = possibleViews(before, *goal);
        REQUIRE(views.size() > 15);
        std::set<survey::View> kinds;
        for (std::size_t i = 0; i < views.size(); ++i) {
            if (!kinds.insert(views[i].view.view).second && i % 7 != 0) continue;
            CAPTURE(obliques, survey::viewName(views[i].view.view), views[i].view.azimuth_rad,
                    views[i].view.elevation_rad, views[i].view.marks);
            const survey::Survey with = withView(before, views[i].view);
            const Solution after = adjusted(with);
            REQUIRE(after.stations.size() == before.stations.size() + 1);
            State start = before.covariance->state();
            start.stations.push_back(after.covariance->state().stations.back());
            CHECK(largestApart(views[i].variances, readjusted(with, start, *goal).variances) < 1e-6);
            CHECK(largestApart(nowOf(*goal, before), views[i].variances) > 1e-3);
        }
        CHECK(kinds.size() >= 3);  // top, front, oblique at the least
    }
}

TEST_CASE("the best readings are those of an exhaustive search") {
    for (const bool fitted : {false, true}) {
        const survey::Survey s = test::draw(fitted, 3);
        const Solution solution = adjusted(s);
        const auto goal = Goal::of(solution);
        REQUIRE(goal);
        const PossibleReadings readings(solution, {});
        REQUIRE(readings.size() > 1000);
        estimate::Planned planned(solution.covariance->factor());
        for (int taken = 0; taken < 2; ++taken) {
            std::vector<double> all;
            for (std::size_t i = 0; i < readings.size(); ++i) {
                estimate::Planned with = planned;
                with.observe(readings.gradient(i), readings.sigma(i));
                all.push_back(goal->score(variancesOf(*goal, with)));
            }
            std::sort(all.begin(), all.end());
            const auto best = bestReadings(readings, *goal, planned, 8);
            REQUIRE(best.size() == 8);
            for (std::size_t k = 0; k < best.size(); ++k)
                CHECK(best[k].score == Approx(all[k]).epsilon(1e-9));
            planned.observe(readings.gradient(best[0].reading), readings.sigma(best[0].reading));
        }
    }
}

TEST_CASE("what a plan leaves equals its readings taken up one after the other") {
    const Solution solution = adjusted(test::draw(false, 9));
    const auto goal = Goal::of(solution);
    REQUIRE(goal);
    const PossibleReadings readings(solution, {});
    const estimate::Planned planned(solution.covariance->factor());
    const auto best = bestReadings(readings, *goal, planned, 1);
    const ReadingPlan held = planReadings(readings, *goal, planned, 4, best[0].reading);
    for (const ReadingPlan& plan : {planReadings(readings, *goal, planned, 4), held}) {
        REQUIRE(plan.readings.size() == 4);
        estimate::Planned chain = planned;
        for (const std::size_t i : plan.readings) chain.observe(readings.gradient(i), readings.sigma(i));
        CHECK(largestApart(plan.variances, variancesOf(*goal, chain)) < 1e-7);
        CHECK(std::set<std::size_t>(plan.readings.begin(), plan.readings.end()).size() == 4);
    }
    CHECK(std::count(held.readings.begin(), held.readings.end(), best[0].reading) == 1);
}

TEST_CASE("finer marks are worth what the normal equations with them say at the same state") {
    survey::Survey s = test::draw(false, 1);
    const Solution before = adjusted(s);
    const auto goal = Goal::of(before);
    REQUIRE(goal);
    const auto finer = withFinerMarks(before, *goal, 0.5);
    REQUIRE(finer);
    for (survey::Mark& m : s.marks)
        for (survey::MarkPoint& p : m.points) p.sigma_px /= 2;
    CHECK(largestApart(*finer, readjusted(s, before.covariance->state(), *goal, false).variances) < 1e-6);
}

TEST_CASE("after a failed global test the forecast keeps the factor by which every ± is widened") {
    survey::Survey s = test::draw(false, 4);
    for (survey::Mark& m : s.marks)
        for (survey::MarkPoint& p : m.points) p.sigma_px /= 2;
    const Solution before = adjusted(s);
    REQUIRE(before.covariance->inflation() > 1.5);
    AdviceOptions options;
    options.views = false;
    const auto advice = advise(before, options);
    REQUIRE(advice);
    const auto now = before.measure(advice->worst.dimension);
    REQUIRE(now);
    CHECK(advice->worst.plusMinus == Approx(now->plusMinus).epsilon(1e-9));
    const Proposal& p = advice->proposals.at(0);
    s.readings.push_back(agreeing(s, before, std::get<AdvisedReading>(p.what)));
    const auto goal = Goal::of(before);
    REQUIRE(goal);
    const Again then = readjusted(s, before.covariance->state(), *goal);
    const double widen = std::sqrt(then.varianceFactor);
    for (std::size_t i = 0; i < goal->wanted().size(); ++i)
        if (goal->wanted()[i].dimension.id == p.same.dimension.id)
            CHECK(p.same.plusMinus ==
                  Approx(2 * widen * std::sqrt(then.variances[static_cast<Eigen::Index>(i)])).epsilon(0.001));
    CHECK(widen == Approx(before.covariance->inflation()).epsilon(0.001));  // one more in 776
}

TEST_CASE("what is read, withheld, out of reach or beside the part is not offered") {
    survey::Survey s = test::draw(false, 2);
    const Solution solution = adjusted(s);
    const auto offers = [](const Solution& with, const survey::Reading& r) {
        AdviceOptions wide;
        wide.caliperReach_mm = 1000;
        const PossibleReadings all(with, wide);
        for (std::size_t i = 0; i < all.size(); ++i) {
            const AdvisedReading a = all.reading(i);
            if (a.quantity == r.quantity && std::set<Id>(a.objects.begin(), a.objects.end()) ==
                                                std::set<Id>(r.objects.begin(), r.objects.end()))
                return true;
        }
        return false;
    };
    int offered = 0;
    for (const survey::Reading& r : s.readings) {
        CAPTURE(r.name);
        CHECK_FALSE(offers(solution, r));
        // Taken out of the survey it is possible again, except on the rule and card.
        survey::Survey without = s;
        for (survey::Reading& other : without.readings) other.excluded = other.id == r.id;
        const bool again = offers(adjusted(without), r);
        CHECK(again == !r.reference);
        offered += again;
    }
    CHECK(offered >= 8);
    const auto beside = besideThePart(s);
    const std::set<Id> ofRule(beside.begin(), beside.end());
    CHECK(ofRule.size() >= 4);
    AdviceOptions small;
    small.caliperReach_mm = 60;
    const PossibleReadings all(solution, {}), few(solution, small);
    CHECK(few.size() < all.size());
    for (std::size_t i = 0; i < all.size(); ++i)
        for (const Id& id : all.reading(i).objects) CHECK_FALSE(ofRule.contains(id));
    for (std::size_t i = 0; i < few.size(); ++i) {
        const AdvisedReading a = few.reading(i);
        survey::Dimension d;
        d.quantity = a.quantity, d.objects = a.objects;
        if (a.instrument == Instrument::Caliper) CHECK(solution.measure(d)->value <= 60);
    }
}

TEST_CASE("it stops when every wanted ± is met, and goes on while one is not") {
    survey::Survey s = test::draw(false, 6);
    for (survey::Dimension& d : s.dimensions) d.target = 0;
    survey::Dimension& first = test::named(s.dimensions, "diameter H1");
    for (survey::Dimension& d : s.dimensions) d.important = d.id == first.id || d.name == "diameter H7";
    const double now = adjusted(s).measure(first)->plusMinus;
    first.target = 1.05 * now;  // the other, important but without a wish, is not judged
    const auto enough = advise(adjusted(s));
    REQUIRE(enough);
    CHECK(enough->goodEnough);
    CHECK(enough->proposals.empty());
    CHECK(enough->sentence.find("Good enough, stop here") == 0);
    CHECK(enough->worst.figure == Approx(1 / 1.05));
    first.target = 0.95 * now;
    const auto more = advise(adjusted(s));
    REQUIRE(more);
    CHECK_FALSE(more->goodEnough);
    CHECK(more->worst.dimension.id == first.id);
    REQUIRE(more->helps);
    CHECK(more->proposals.front().worst.figure < 1);
    CHECK(more->sentence.find("(wanted ± ") != std::string::npos);
}

TEST_CASE("important dimensions decide; without any, all do; an angle counts at the end of its edge") {
    survey::Survey s = test::draw(false, 6);
    for (survey::Dimension& d : s.dimensions) d.important = false;
    const auto all = Goal::of(adjusted(s));
    REQUIRE(all);
    CHECK(all->wanted().size() + 1 == s.dimensions.size());  // y of H2 is fixed by the datum
    s.dimensions.at(3).important = true;
    const auto one = Goal::of(adjusted(s));
    REQUIRE(one);
    REQUIRE(one->wanted().size() == 1);
    CHECK(one->wanted()[0].dimension.id == s.dimensions[3].id);
    for (survey::Dimension& d : s.dimensions) d.important = d.quantity == Quantity::Angle;
    const Solution solution = adjusted(s);
    const auto angle = Goal::of(solution);
    REQUIRE(angle);
    const survey::Dimension& d = angle->wanted().at(0).dimension;
    REQUIRE(d.quantity == Quantity::Angle);
    double shortest = INFINITY;
    for (const Id& id : d.objects)
        shortest =
            std::min(shortest, (solution.features.at(id).spanTo - solution.features.at(id).spanFrom).norm());
    const Judged j = angle->judged(0, nowOf(*angle, solution));
    CHECK(j.figure == Approx(j.plusMinus * shortest));
    CHECK(j.plusMinus == Approx(solution.measure(d)->plusMinus));
}

TEST_CASE("when nothing helps it says so, and what finer marks would do") {
    AdviceOptions none;
    none.readings = none.views = false;
    const auto advice = advise(adjusted(test::draw(false, 6)), none);
    REQUIRE(advice);
    CHECK_FALSE(advice->helps);
    CHECK(advice->proposals.empty());
    CHECK(advice->sentence.find("No single reading or photograph would shrink the worst dimension, ") == 0);
    CHECK(advice->sentence.find("marks of half their σ") != std::string::npos);
}

TEST_CASE("the first proposal comes first in the plan, and both kinds are among the proposals") {
    const auto advice = advise(adjusted(test::draw(false, 8)));
    REQUIRE(advice);
    REQUIRE(advice->helps);
    CHECK(advice->proposals.size() >= 5);
    CHECK(advice->proposals.size() <= 6);
    int readings = 0;
    const AdvisedReading* first = nullptr;
    for (const Proposal& p : advice->proposals)
        if (const auto* r = std::get_if<AdvisedReading>(&p.what)) {
            if (!first) first = r;
            ++readings;
        }
    CHECK(readings >= 1);
    CHECK(readings < static_cast<int>(advice->proposals.size()));
    REQUIRE(first);
    REQUIRE(advice->plan.size() == 2);
    CHECK(advice->plan[0].objects == first->objects);
    CHECK(advice->afterPlan.figure < advice->worst.figure);
    CHECK(advice->sentence.find("the worst dimension, ") != std::string::npos);
}

TEST_CASE("advice without ± or dimensions, or with a useless σ, is refused in one sentence") {
    Options without = plain();
    without.withCovariance = false;
    survey::Survey s = test::draw(false, 6);
    const auto bare = adjust::adjust(s, without);
    REQUIRE(bare);
    CHECK(advise(*bare).error().sentence() == "advice: has no ± yet; adjust the survey first.");
    const Solution solution = adjusted(s);
    AdviceOptions o;
    o.caliperHole_mm = 0;
    CHECK(advise(solution, o).error().code == ErrorCode::BadValue);
    o = {};
    o.caliperReach_mm = std::nan("");
    CHECK(advise(solution, o).error().code == ErrorCode::BadValue);
    o = {};
    o.leastGain = 1.0;
    CHECK(advise(solution, o).error().code == ErrorCode::BadValue);
    o = {};
    o.listed = 0;
    o.ahead = 0;
    CHECK(advise(solution, o));
    s.dimensions.clear();
    CHECK(advise(adjusted(s)).error().sentence() ==
          "survey: names no dimension that a reading could sharpen; add the dimensions you need.");
}
