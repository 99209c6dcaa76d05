// SPDX-License-Identifier: GPL-3.0-or-later
// A height from one photograph alone, by projective geometry, beside the adjustment's.
#include <Eigen/SVD>
#include <catch2/catch.hpp>
#include <random>

#include "SmallSurvey.h"

using namespace trammel;
using trammel::test::SmallSurvey;

namespace {

Vec3 homogeneous(const Vec2& p) { return {p.x(), p.y(), 1.0}; }

/// The point that lines are nearest to: least singular vector of the lines, each of unit normal.
Vec3 meeting(const std::vector<Vec3>& lines) {
    MatX L(std::max<Eigen::Index>(3, static_cast<Eigen::Index>(lines.size())), 3);
    L.setZero();
    for (std::size_t i = 0; i < lines.size(); ++i)
        L.row(static_cast<Eigen::Index>(i)) = lines[i].transpose() / lines[i].head<2>().norm();
    const Eigen::JacobiSVD<MatX> svd(L, Eigen::ComputeFullV);
    return svd.matrixV().col(2);
}

/// α Z of A. Criminisi, I. Reid, A. Zisserman, Single View Metrology, Int. J. Computer Vision 40 (2000),
/// section 3.1: α Z = −‖b × t‖ / ((l · b) ‖v × t‖) with the foot b and the head t, the vanishing point v of
/// the vertical and the vanishing line l of the plane. One known height gives α.
double scaledHeight(const Vec2& foot, const Vec2& head, const Vec3& v, const Vec3& l) {
    const Vec3 b = homogeneous(foot), t = homogeneous(head);
    return -b.cross(t).norm() / (l.dot(b) * v.cross(t).norm());
}

/// Height of the block from the oblique photograph, with the post as reference. Coordinates are taken about
/// the middle of the photograph, in units of its width, so that the lines are of one size.
double heightOf(const survey::Survey& s, const std::string& station) {
    const auto at = [&](const std::string& corner) {
        return Vec2((SmallSurvey::seen(s, station, corner) - Vec2(1500, 1000)) / 3000);
    };
    const auto line = [&](const std::string& a, const std::string& b) {
        return Vec3(homogeneous(at(a)).cross(homogeneous(at(b))));
    };
    const Vec3 along =
        meeting({line("A foot", "B foot"), line("D foot", "C foot"), line("A", "B"), line("D", "C")});
    const Vec3 across =
        meeting({line("A foot", "D foot"), line("B foot", "C foot"), line("A", "D"), line("B", "C")});
    const Vec3 up = meeting({line("A foot", "A"), line("B foot", "B"), line("C foot", "C"),
                             line("D foot", "D"), line("post foot", "post head")});
    const Vec3 horizon = along.cross(across).normalized();
    const double post = scaledHeight(at("post foot"), at("post head"), up, horizon);
    double sum = 0.0;
    for (const std::string corner : {"A", "B", "C", "D"})
        sum += SmallSurvey::kPost * scaledHeight(at(corner + " foot"), at(corner), up, horizon) / post;
    return sum / 4;
}

double adjustedHeight(const survey::Survey& s, double& plusMinus) {
    const auto solution = adjust::adjust(s);
    if (!solution) FAIL(solution.error().sentence());
    survey::Dimension d;
    d.quantity = survey::Quantity::Height;
    d.objects = {"L2"};
    const auto measured = solution->measure(d);
    REQUIRE(measured);
    plusMinus = measured->plusMinus;
    return measured->value;
}

}  // namespace

TEST_CASE("the height of a level is the one that single view metrology finds in one oblique photograph") {
    SmallSurvey small(0.3);
    small.post();
    double plusMinus = 0.0;
    CHECK(adjustedHeight(small.survey(), plusMinus) == Approx(SmallSurvey::kStep).epsilon(1e-9));
    for (const char* station : {"oblique A", "oblique B"})
        CHECK(heightOf(small.survey(), station) == Approx(SmallSurvey::kStep).epsilon(1e-9));
    // With noise both scatter about the same height, and the adjustment, which uses all there is, the less.
    std::mt19937_64 engine(4);
    std::normal_distribution<double> normal(0.0, 0.3);
    const int draws = 60;
    double view = 0.0, viewSquares = 0.0, adjustment = 0.0, adjustmentSquares = 0.0;
    for (int i = 0; i < draws; ++i) {
        survey::Survey s = small.survey();
        for (survey::Mark& m : s.marks)
            for (survey::MarkPoint& p : m.points) p.px += Vec2(normal(engine), normal(engine));
        const double one = heightOf(s, "oblique A") - SmallSurvey::kStep;
        const double all = adjustedHeight(s, plusMinus) - SmallSurvey::kStep;
        view += one / draws, viewSquares += one * one / draws;
        adjustment += all / draws, adjustmentSquares += all * all / draws;
    }
    CAPTURE(std::sqrt(viewSquares), std::sqrt(adjustmentSquares), plusMinus);
    CHECK(std::abs(view) < 3 * std::sqrt(viewSquares / draws));
    CHECK(std::abs(adjustment) < 3 * std::sqrt(adjustmentSquares / draws));
    CHECK(adjustmentSquares < viewSquares);
    CHECK(2 * std::sqrt(adjustmentSquares) == Approx(plusMinus).epsilon(4 / std::sqrt(2.0 * draws)));
}

TEST_CASE("a step that only a depth without sign shows is said to go either way") {
    const SmallSurvey small(0.3);
    survey::Survey s = small.survey();
    const survey::Id block = small.id("block"), plate = small.id("plate");
    s.readings.push_back({"R9", "step", survey::Quantity::Depth, {plate, block}, {SmallSurvey::kStep, 0.05}});
    const auto said = [&](const survey::Survey& x) {
        const auto solution = adjust::adjust(x);
        if (!solution) FAIL(solution.error().sentence());
        return std::count_if(solution->limits.begin(), solution->limits.end(), [](const std::string& l) {
            return l.find("lies above or below") != std::string::npos;
        });
    };
    CHECK(said(s) == 0);  // the oblique photographs show the side
    s.stations[1].excluded = s.stations[2].excluded = true;
    s.stations[0].squareSigma_rad = 0.0175;
    s.readings[1].measured.sigma = 1.0;  // a bore too rough to show how near its rim lies
    CHECK(said(s) == 1);
    s.readings.back().quantity = survey::Quantity::Height;
    s.readings.back().objects = {block};
    CHECK(said(s) == 0);  // a height has its sign
}
