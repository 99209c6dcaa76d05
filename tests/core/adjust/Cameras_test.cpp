// SPDX-License-Identifier: GPL-3.0-or-later
// What is told of cameras besides their marks: a mirror, a crop of unknown place, a refocused lens, the
// entrance pupil; on the invented bracket, whose cameras are known.
#include <catch2/catch.hpp>

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
