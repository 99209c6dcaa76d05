// SPDX-License-Identifier: GPL-3.0-or-later
// Projector lines on the sample: they end where the neighbouring view has the feature, and their ± is the one
// that the solution gives for the same dimension.
#include "core/unfold/Projector.h"

#include "Sample.h"
#include "core/unfold/Seen.h"

using namespace trammel;
using namespace trammel::unfold;

namespace {

struct Laid {
    std::vector<Placed> features = placed(test::sampleSurvey(), test::sampleSolution());
    double turn = turnOf(test::sampleSolution());
    Arrangement first = test::arrangementOf(features, turn, Method::FirstAngle);
    Arrangement third = test::arrangementOf(features, turn, Method::ThirdAngle);
};
const Laid& laid() {
    static const Laid l;
    return l;
}

const Placed& named(const std::string& label) {
    for (const Placed& p : laid().features)
        if (p.label == label) return p;
    throw std::runtime_error("no feature " + label);
}

}  // namespace

TEST_CASE("Projectors run square, turn on the mitre line, and meet the feature in the other view") {
    for (const Arrangement* a : {&laid().first, &laid().third})
        for (const Placed& feature : laid().features) {
            const auto traces = tracesOf(test::sampleSolution(), feature, laid().turn);
            for (const View from : a->views())
                for (const Projector& p : projectors(*a, traces, from)) {
                    INFO(feature.label << " " << survey::viewName(from) << " " << survey::viewName(p.to));
                    REQUIRE(p.path.size() >= 2);
                    CHECK((p.path.front() - a->ownToSheet(from, p.trace.at)).norm() < 1e-9);
                    CHECK((p.place - a->ownToSheet(p.to, p.trace.at)).norm() < 1e-9);
                    for (std::size_t i = 1; i < p.path.size(); ++i) {
                        const Vec2 d = p.path[i] - p.path[i - 1];
                        CHECK((std::abs(d.x()) < 1e-9 || std::abs(d.y()) < 1e-9));
                    }
                    const Vec2 d = p.path.back() - p.path[p.path.size() - 2];
                    CHECK(std::abs(d.dot(p.across)) < 1e-9);
                    // the line goes through the feature's place, within the frame
                    CHECK(std::abs((p.place - p.path.back()).dot(p.across)) < 1e-9);
                    const Frame& frame = a->frame(p.to);
                    if (!feature.beside) CHECK(frame.contains(p.path.back()));
                    if (p.path.size() == 3) CHECK(p.trace.axis == 1);
                }
        }
}

TEST_CASE("Top shares x with front, front shares z with the sides, top shares y with them by the mitre") {
    const Placed& hole = named("H2");
    const auto traces = tracesOf(test::sampleSolution(), hole, laid().turn);
    std::map<std::pair<View, int>, int> met;
    for (const auto& p : projectors(laid().third, traces, View::Top)) ++met[{p.to, p.trace.axis}];
    // centre and both sides of the rim
    CHECK(met ==
          std::map<std::pair<View, int>, int>{
              {{View::Front, 0}, 3}, {{View::Bottom, 0}, 3}, {{View::Left, 1}, 3}, {{View::Right, 1}, 3}});
    met.clear();
    for (const auto& p : projectors(laid().third, traces, View::Front)) ++met[{p.to, p.trace.axis}];
    CHECK(met.at({View::Left, 2}) == 1);
    CHECK(met.at({View::Rear, 2}) == 1);
    CHECK(met.at({View::Top, 0}) == 3);
}

TEST_CASE("The plus-minus of a trace is that of the dimension from the datum") {
    // H1 is the origin (no ±); the sample's +x runs to H2, so that x and y from H1 are offsets.
    const auto& solution = test::sampleSolution();
    for (const char* label : {"H3", "H5", "C8", "sink rear left"}) {
        const Placed& p = named(label);
        for (const int axis : {0, 1}) {
            survey::Dimension d;
            d.quantity = axis == 0 ? survey::Quantity::OffsetX : survey::Quantity::OffsetY;
            d.objects = {named("H1").feature, p.feature};
            const auto measured = solution.measure(d);
            REQUIRE(measured);
            // traces in the part's own axes
            for (const Trace& t : tracesOf(solution, p, 0.0)) {
                if (t.axis != axis || t.role == Trace::Role::End) continue;
                if (p.radius > 0.0 && t.role != Trace::Role::Centre) continue;
                CHECK(t.value() == Approx(measured->value).margin(1e-9));
                CHECK(t.plusMinus() == Approx(measured->plusMinus).epsilon(1e-6));
            }
            CHECK(2.0 * std::sqrt((*p.covariance)(axis, axis)) == Approx(measured->plusMinus).epsilon(1e-6));
        }
    }
    const auto rim = tracesOf(solution, named("H3"), 0.0);
    REQUIRE(rim.size() >= 6);
    CHECK(rim[1].value() == Approx(rim[0].value() - named("H3").radius));
    CHECK(*rim[1].sigma > 0.0);
}

TEST_CASE("The plus-minus of a place is the largest over all directions") {
    Placed p;
    CHECK(p.plusMinus() == 0.0);
    Mat3 root;
    root << 0.3, 0.1, 0.0, -0.2, 0.5, 0.1, 0.0, 0.2, 0.05;
    p.covariance = root * root.transpose();
    double largest = 0.0;
    for (int i = 0; i <= 180; ++i)
        for (int k = 0; k < 360; ++k) {
            const double a = i * M_PI / 180, b = k * M_PI / 180;
            const Vec3 d(std::sin(a) * std::cos(b), std::sin(a) * std::sin(b), std::cos(a));
            largest = std::max(largest, 2.0 * std::sqrt(d.dot(*p.covariance * d)));
        }
    CHECK(p.plusMinus() == Approx(largest).epsilon(1e-3));
    p.covariance = 0.04 * Mat3::Identity();
    CHECK(p.plusMinus() == Approx(0.4));
}

TEST_CASE("What lies beside the part does not stretch the sheet") {
    const Box box = boxOf(laid().features, laid().turn);
    CHECK(named("rule 0").beside);
    CHECK(named("card front").beside);
    CHECK_FALSE(named("C1").beside);
    // the board is 300 by 228 mm, with connectors that overhang, from the coil below to the sink above
    CHECK(box.high.x() - box.low.x() < 325.0);
    CHECK(box.high.z() - box.low.z() == Approx(52.0).margin(1.0));
}

TEST_CASE("A feature is seen in the views whose photographs show it") {
    CHECK(named("H2").seenIn(View::Top));
    CHECK_FALSE(named("H2").seenIn(View::Front));
    CHECK(named("H2 below").seenIn(View::Bottom));
    CHECK_FALSE(named("H2 below").seenIn(View::Top));
    CHECK_FALSE(named("H2").seenIn(View::Oblique));
}

TEST_CASE("Marks brought onto the sheet lie on their features") {
    const auto& survey = test::sampleSurvey();
    const auto& solution = test::sampleSolution();
    double sum = 0.0;
    std::size_t count = 0, expected = 0;
    for (const auto& station : survey.stations) {
        if (station.view == View::Oblique) continue;
        const double scale = solution.stations.at(station.id).scale_px_per_mm;
        for (const Placed& p : laid().features) {
            if (p.kind == survey::FeatureKind::Edge) continue;  // many run in depth there
            for (const auto& mark : survey.marks)
                if (mark.station == station.id && mark.feature == p.feature) expected += mark.points.size();
            for (const Seen& seen : seenOn(laid().first, survey, solution, p, station.view, station.id)) {
                const auto* mark = survey::find(survey.marks, seen.mark);
                REQUIRE(mark);
                REQUIRE(seen.at.size() == mark->points.size());
                REQUIRE(seen.adjusted.size() == seen.at.size());
                for (std::size_t i = 0; i < seen.at.size(); ++i, ++count)
                    sum += std::pow((seen.at[i] - seen.adjusted[i]).norm() * scale / mark->points[i].sigma_px,
                                    2);
            }
        }
    }
    CHECK(count == expected);
    REQUIRE(count > 200);
    // in units of σ, each of one or two components: near the residuals' own size
    CHECK(std::sqrt(sum / static_cast<double>(count)) > 0.3);
    CHECK(std::sqrt(sum / static_cast<double>(count)) < 2.0);
}
