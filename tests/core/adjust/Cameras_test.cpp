// SPDX-License-Identifier: GPL-3.0-or-later
// What is told of cameras besides their marks: a mirror, a crop of unknown place, a refocused lens, the
// entrance pupil; on the invented bracket, whose cameras are known.
#include <catch2/catch.hpp>
#include <cmath>
#include <opencv2/calib3d.hpp>
#include <random>

#include "Bracket.h"
#include "core/adjust/Adjust.h"
#include "core/math/Rotation.h"

using namespace trammel;
using namespace trammel::adjust;
using test::Bracket;

namespace {

/// The top view alone, with its levels flat: nothing but square prior or mirror holds its tilt.
survey::Survey topOnly(const Bracket& b, double square) {
    survey::Survey s = b.survey;
    for (survey::Level& l : s.levels) l.form = survey::LevelForm::Flat;
    for (std::size_t i = 1; i < s.stations.size(); ++i) s.stations[i].excluded = true;
    s.stations[0].squareSigma_rad = square;
    std::erase_if(s.marks, [&](const survey::Mark& m) { return find(s.features, m.feature)->level != "L1"; });
    std::erase_if(s.readings, [](const survey::Reading& r) { return r.id != "R1"; });
    return s;
}

double tiltError(const survey::Survey& s, const Bracket& b) {
    const auto solution = adjust::adjust(s);
    if (!solution) FAIL(solution.error().sentence());
    const Mat3 R = solution->stations.at("S1").pose.R, truth = b.poses.at("S1").R;
    return std::acos(std::clamp(R.row(2).dot(truth.row(2)), -1.0, 1.0));
}

double doubtOf(const survey::Survey& s, const survey::Dimension& d) {
    const auto solution = adjust::adjust(s);
    if (!solution) FAIL(solution.error().sentence());
    const auto m = solution->measure(d);
    REQUIRE(m);
    return m->plusMinus;
}

}  // namespace

TEST_CASE("a mirror mark shows a camera's tilt, which nothing else of one photograph does") {
    const Bracket b(0.0, 1);
    survey::Survey s = topOnly(b, 0.05);
    const double before = tiltError(s, b);
    // Law of reflection: the lens appears where the line through the lens square to the mirror is seen.
    const Vec3 down = b.poses.at("S1").R * Vec3(0, 0, -1);
    const Vec2 px = b.constants.pp + b.constants.c * down.head<2>() / down.z();
    s.stations[0].mirror = survey::MirrorMark{px, 1.0, 0.0005};
    const double after = tiltError(s, b);
    INFO(before << " " << after);
    CHECK(before > 0.0015);  // perspective tells a little
    CHECK(after < 0.0005);
    CHECK(after < 0.25 * before);
}

TEST_CASE("a mirror that did not lie flat is accused") {
    const Bracket b(0.2, 2);
    survey::Survey s = b.survey;
    const Vec3 down = b.poses.at("S1").R * rotationExp(Vec3(0.03, 0, 0)) * Vec3(0, 0, -1);
    s.stations[0].mirror =
        survey::MirrorMark{b.constants.pp + b.constants.c * down.head<2>() / down.z(), 1.0, 0.001};
    s.stations[0].squareSigma_rad = 0.0;  // the mirror is the better word on it
    const auto solution = adjust::adjust(s);
    REQUIRE(solution);
    REQUIRE_FALSE(solution->suspects.empty());
    CHECK(solution->suspects.front().sentence.find("mirror") != std::string::npos);
}

TEST_CASE("a crop of unknown place costs next to nothing from far away, and counts once for each direction") {
    const Bracket b(0.2, 3);
    const survey::Dimension d{"D9", "", survey::Quantity::Distance, {b.id("base 1"), b.id("base 2")}};
    const double whole = doubtOf(b.survey, d);
    survey::Survey s = b.survey;
    // Stored as cut out of a frame larger by 2000 × 1000 px at (1500, 200), and nobody remembers where.
    s.stations[0].photo.crop = {8000, 5000, 1000, 500, false};
    const auto solution = adjust::adjust(s);
    REQUIRE(solution);
    CHECK(solution->suspects.empty());
    CHECK(doubtOf(s, d) < 1.1 * whole);
    survey::Survey one = s;  // no room downwards: one unknown, one observation
    one.stations[0].photo.crop = {8000, 4000, 1000, 0, false};
    CHECK(adjust::adjust(one)->global.degreesOfFreedom == solution->global.degreesOfFreedom);
    bool said = false;
    for (const std::string& limit : solution->limits)
        said = said || limit.find("Where the picture") != std::string::npos;
    CHECK(said);
}

TEST_CASE("a lens refocused between photographs shares its focal length, and a wrong one is accused") {
    const Bracket b(0.2, 3);
    survey::Survey s = b.survey;
    survey::CameraGroup other = s.groups[0];
    other.id = "G2", other.refocusedFrom = "G1", other.focusSigma = 0.02;
    other.principalDistance = {0, 0, survey::ConstantMode::Free};
    s.groups.push_back(other);
    for (const std::size_t i : {4UL, 5UL}) s.stations[i].group = "G2";
    survey::Survey apart = s;
    apart.groups[1].refocusedFrom.clear();
    const auto alone = adjust::adjust(apart), shared = adjust::adjust(s);
    if (!alone) FAIL(alone.error().sentence());
    if (!shared) FAIL(shared.error().sentence());
    const double off = std::abs(std::log(shared->groups.at("G2").c / shared->groups.at("G1").c));
    CHECK(off < 0.05);
    CHECK(off <= std::abs(std::log(alone->groups.at("G2").c / alone->groups.at("G1").c)));
    s.groups[1].pixelPitch_mm *= 1.6;  // as if it were another zoom: the focal lengths no longer agree
    s.groups[1].focusSigma = 0.001;
    s.groups[0].principalDistance.sigma = 100;
    s.groups[1].principalDistance = {30000, 100, survey::ConstantMode::Prior};
    const auto wrong = adjust::adjust(s);
    REQUIRE(wrong);
    REQUIRE_FALSE(wrong->suspects.empty());
    bool named = false;
    for (const Suspect& one : wrong->suspects)
        named = named || one.sentence.find("focal length") != std::string::npos;
    CHECK(named);
    s.groups[1].pixelPitch_mm = 0.0;
    const auto refused = adjust::adjust(s);
    REQUIRE_FALSE(refused);
    CHECK(refused.error().sentence().find("pixel pitch") != std::string::npos);
}

TEST_CASE("the doubt of the entrance pupil enters every tape of a lens alike") {
    const Bracket b(0.0, 3);
    survey::Survey s = b.survey;
    s.groups[0].principalDistance = {0, 0, survey::ConstantMode::Free};  // only the tape tells the distance
    s.groups[0].pupil = {60, 20, survey::ConstantMode::Prior};
    const auto taped = [&](std::size_t station) {
        const double far = b.poses.at(s.stations[station].id).t.norm();
        survey::Reading r;
        r.id = "R" + std::to_string(50 + station);
        r.quantity = survey::Quantity::Tape, r.objects = {s.stations[station].id}, r.measured = {far - 60, 1};
        return r;
    };
    s.readings.push_back(taped(0));
    const survey::Dimension d{"D9", "", survey::Quantity::Tape, {s.stations[1].id}};
    const auto solution = adjust::adjust(s);
    REQUIRE(solution);
    const auto m = solution->measure(d);
    REQUIRE(m);
    CHECK(m->value == Approx(b.poses.at("S2").t.norm() - 60).epsilon(0.01));
    for (std::size_t i = 1; i < 6; ++i) s.readings.push_back(taped(i));
    const auto more = adjust::adjust(s);
    REQUIRE(more);
    // Six tapes are six times one lens: its pupil stays as doubtful as it was.
    const double relative = 2.0 * 20.0 / b.poses.at("S1").t.norm();
    const auto standOff = more->stations.at("S1").standOff_mm;
    CHECK(standOff == Approx(b.poses.at("S1").t.norm()).epsilon(relative));
}

namespace {

/// A plate of 120 × 80 mm whose four sides and two inner lines are straight, with four holes, in one
/// photograph by OpenCV's projectPoints, whose distortion moves the plate's corners by some 30 px.
survey::Survey straightPlate(double noise_px, unsigned seed, Vec2 k) {
    survey::Survey s;
    s.levels = {{"L1", "plate"}};
    s.groups.resize(1);
    s.groups[0].id = "G1";
    s.groups[0].principalDistance = {3000.0, 0.0, survey::ConstantMode::Fixed};
    s.groups[0].principalX.value = 1500.0, s.groups[0].principalY.value = 1000.0;
    s.groups[0].k1 = s.groups[0].k2 = {0.0, 0.0, survey::ConstantMode::Free};
    survey::Station st;
    st.id = "S1", st.group = "G1", st.view = survey::View::Oblique, st.squareSigma_rad = 0.0;
    st.photo.width = 3001, st.photo.height = 2001;
    s.stations = {st};
    std::mt19937 random(seed);
    std::normal_distribution<double> noise(0.0, noise_px);
    const cv::Mat camera = (cv::Mat_<double>(3, 3) << 3000, 0, 1500, 0, 3000, 1000, 0, 0, 1);
    const std::vector<double> distortion = {k.x(), k.y(), 0, 0, 0};
    // Looking down from 130 mm, leant over by 8° and 5°.
    cv::Mat turn;
    cv::Rodrigues(cv::Vec3d(CV_PI + 0.14, 0.09, 0.0), turn);
    const auto add = [&](const std::string& name, survey::FeatureKind kind, const std::vector<Vec2>& places) {
        std::vector<cv::Point3d> points;
        for (const Vec2& p : places) points.emplace_back(p.x() - 60, p.y() - 40, 0.0);
        std::vector<cv::Point2d> px;
        cv::projectPoints(points, turn, cv::Vec3d(0, 0, 130), camera, distortion, px);
        const std::string n = std::to_string(s.features.size() + 1);
        s.features.push_back({"F" + n, name, kind, "L1"});
        survey::Mark m{"M" + n, "S1", "F" + n, {}};
        for (const auto& p : px)
            m.points.push_back({{p.x + noise(random), p.y + noise(random)}, std::max(noise_px, 0.02)});
        s.marks.push_back(m);
    };
    const auto edge = [&](const std::string& name, const Vec2& a, const Vec2& b) {
        std::vector<Vec2> places;
        for (int i = 0; i <= 20; ++i) places.emplace_back(a + (b - a) * i / 20.0);
        add(name, survey::FeatureKind::Edge, places);
    };
    const std::vector<Vec2> holes = {{6, 6}, {114, 6}, {114, 74}, {6, 74}};
    for (std::size_t h = 0; h < holes.size(); ++h) {
        std::vector<Vec2> rim;
        for (int i = 0; i < 12; ++i)
            rim.emplace_back(holes[h] + 3 * Vec2(std::cos(i / 1.91), std::sin(i / 1.91)));
        add("hole " + std::to_string(h + 1), survey::FeatureKind::Hole, rim);
    }
    edge("front", {0, 0}, {120, 0}), edge("right", {120, 0}, {120, 80});
    edge("rear", {120, 80}, {0, 80}), edge("left", {0, 80}, {0, 0});
    edge("rib", {10, 25}, {110, 30}), edge("groove", {30, 5}, {25, 75});
    s.datum = {"L1", "F1", "F2"};
    s.readings = {{"R1", "rule", survey::Quantity::Distance, {"F1", "F2"}, {108.0, 0.01}, true}};
    s.dimensions = {{"D1", "diagonal", survey::Quantity::Distance, {"F1", "F3"}, true}};
    return s;
}

}  // namespace

TEST_CASE("straight edges of the part tell the distortion of the lens") {
    const Vec2 k(-0.12, 0.06);
    const double r = std::hypot(60.0, 40.0) / 130.0,
                 shift = 3000 * r * (k.x() * r * r + k.y() * r * r * r * r);
    REQUIRE(std::abs(shift) > 30.0);
    int inside = 0;
    const int draws = 20;
    double worst = 0.0;
    for (int seed = 1; seed <= draws; ++seed) {
        const auto solution = adjust::adjust(straightPlate(0.1, static_cast<unsigned>(seed), k));
        INFO("seed " << seed << (solution ? "" : solution.error().sentence()));
        REQUIRE(solution);
        const auto& found = solution->groups.at("G1");
        const double off = 3000 * r * (found.k1 * r * r + found.k2 * r * r * r * r) - shift;
        worst = std::max(worst, std::abs(off));
        REQUIRE_FALSE(solution->dimensions.empty());
        const auto& d = solution->dimensions.front();
        inside += std::abs(d.value - std::hypot(108.0, 68.0)) <= d.plusMinus ? 1 : 0;
    }
    CHECK(worst < 0.5);   // of more than 30 px, at the corners of the plate
    CHECK(inside >= 17);  // binomial: 95 % of 20 draws falls below 17 once in 60
    survey::Survey blind = straightPlate(0.1, 1, k);
    blind.groups[0].k1 = blind.groups[0].k2 = {};
    const auto bent = adjust::adjust(blind);
    CHECK_FALSE((bent && bent->global.passed && bent->suspects.empty()));  // no part is so bent unnoticed
}
