// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/drawing/Build.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>

#include "Boards.h"
#include "core/geometry/Piece.h"

using namespace trammel;
using namespace trammel::boards;
using drawing::build;

namespace {

constexpr double kPi = std::numbers::pi;

std::string sentence(const Board& b) {
    const auto d = build(b.survey, b.solution);
    return d ? "" : d.error().sentence();
}

bool has(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

/// Change of direction at every joint of a chain, rad.
double sharpestJoint(const geometry::Chain& chain) {
    const auto list = geometry::pieces(chain);
    double most = 0;
    const auto heading = [](const geometry::Piece& p, bool end) {
        const Vec2 d = p.to - p.from;
        return std::atan2(d.y(), d.x()) + (end ? 0.5 : -0.5) * p.sweep;
    };
    for (std::size_t i = 0; i < list.size(); ++i)
        most = std::max(most,
                        std::abs(std::remainder(
                            heading(list[(i + 1) % list.size()], false) - heading(list[i], true), 2 * kPi)));
    return most;
}

}  // namespace

// Areas and places below follow from the invented board's own figures by school geometry.
TEST_CASE("the demo board becomes closed chains of the right size and sense") {
    const Board b = demoBoard();
    const auto d = build(b.survey, b.solution);
    REQUIRE(d);
    REQUIRE(d->chains.size() == 3);
    CHECK(signedArea(d->chains[0].chain) == Approx(120 * 80 - 200 - 3 * (1 - kPi / 4) * 25).epsilon(1e-12));
    CHECK(signedArea(d->chains[1].chain) == Approx(-(60 + 9 * kPi)).epsilon(1e-12));
    CHECK(signedArea(d->chains[2].chain) == Approx(-600).epsilon(1e-12));
    for (const auto& c : d->chains) CHECK(isSimple(c.chain));
    CHECK(sharpestJoint(d->chains[1].chain) < 1e-9);
    CHECK((d->part.low - Vec2(0, 0)).norm() < 1e-12);
    CHECK((d->part.high - Vec2(120, 80)).norm() < 1e-12);
    CHECK(d->holes.size() == 5);
    REQUIRE(d->levels.size() == 2);
    CHECK(d->levels[1].height == 12.5);
    CHECK(d->remarks.empty());
}

TEST_CASE("dimensions carry value and ± and are laid out without overlap") {
    const Board b = demoBoard();
    const auto d = build(b.survey, b.solution);
    REQUIRE(d);
    REQUIRE(d->rows.size() == 11);
    REQUIRE(d->figures.size() == 9);
    CHECK(d->figures[0].text == "120.000 ±0.034");
    CHECK(d->figures[5].text == "⌀6.00 ±0.10");
    CHECK(d->figures[6].text == "R5.00 ±0.11");
    CHECK_FALSE(d->rows[7].drawn);
    CHECK(d->rows[7].text == "12.500 ±0.018");
    CHECK(d->rows[10].text == "90.000 ±0.029");  // 0.0005 rad
    for (const auto& f : d->figures)
        if (f.dimension != "D5")
            CHECK(f.measured() ==
                  Approx(f.dimension == "D6"
                             ? 6.0
                             : b.solution
                                   .dimensions[static_cast<std::size_t>(std::stoi(f.dimension.substr(1)) - 1)]
                                   .value)
                      .margin(1e-9));
    const auto box = [&](const drawing::Figure& f) {
        const double w = drawing::textWidth(f.text, d->textHeight), h = d->textHeight;
        const double c = std::abs(std::cos(f.textAngle)), s = std::abs(std::sin(f.textAngle));
        const Vec2 half(0.5 * (w * c + h * s), 0.5 * (w * s + h * c));
        return geometry::Bounds{f.textMiddle - half, f.textMiddle + half};
    };
    for (std::size_t i = 0; i < d->figures.size(); ++i)
        for (std::size_t j = i + 1; j < d->figures.size(); ++j) {
            const auto p = box(d->figures[i]), q = box(d->figures[j]);
            const bool apart =
                (p.low.array() > q.high.array()).any() || (q.low.array() > p.high.array()).any();
            INFO(d->figures[i].text << " / " << d->figures[j].text);
            CHECK(apart);
        }
    // Overall sizes stand outside the part.
    CHECK((d->figures[0].linePoint.y() < -1 || d->figures[0].linePoint.y() > 81));
    CHECK((d->figures[1].linePoint.x() < -1 || d->figures[1].linePoint.x() > 121));
    CHECK((d->extents.low.array() <= d->part.low.array()).all());
}

// The adjustment's definition of the distance of two edges: the mean of either middle's distance from the
// other.
TEST_CASE("the distance of edges that are not quite parallel is drawn as long as it is printed") {
    for (const double tilt : {0.0, 0.002, 0.02, -0.02}) {
        Board b;
        b.edge("E6", {0, 10}, {0, 70});
        b.edge("E2", {120, 10}, {120, 60});
        b.hole("H1", {50, 50}, 5);
        b.dimension("D1", Quantity::Distance, {"E6", "E2"}, 0, 0.03);
        auto &a = b.solution.features.at("E6"), &e = b.solution.features.at("E2");
        e.direction = Vec2(std::sin(tilt), std::cos(tilt));
        const auto off = [](const auto& line, const auto& other) {
            const Vec2 d = other.point.template head<2>() - line.point.template head<2>();
            return std::abs(line.direction.x() * d.y() - line.direction.y() * d.x());
        };
        b.solution.dimensions[0].value = 0.5 * (off(a, e) + off(e, a));
        const auto d = build(b.survey, b.solution);
        REQUIRE(d);
        REQUIRE(d->rows[0].drawn);
        CHECK(d->figures[0].measured() == Approx(b.solution.dimensions[0].value).epsilon(1e-12));
        CHECK(std::abs(std::sin(d->figures[0].angle)) < 0.02);
    }
}

TEST_CASE("notes say units, face, revision, heights and that the data are invented") {
    const Board b = demoBoard();
    const auto d = build(b.survey, b.solution, {drawing::Face::Bottom, "C", {}, {}});
    REQUIRE(d);
    std::string all;
    for (const auto& t : d->text) all += t.text + "\n";
    for (const char* part :
         {"Demo board", "no. 1", "revision C", "Invented demo data.", "millimetres", "bottom, mirrored",
          "Level shelf: z = 12.500 mm", "D8 (height of level shelf): 12.500 ±0.018 mm"})
        CHECK(has(all, part));
}

TEST_CASE("the bottom face is the top face mirrored in x") {
    const Board b = demoBoard();
    const auto top = build(b.survey, b.solution);
    const auto bottom = build(b.survey, b.solution, {drawing::Face::Bottom, "A", {}, {}});
    REQUIRE(top);
    REQUIRE(bottom);
    for (std::size_t i = 0; i < top->chains.size(); ++i)
        CHECK(signedArea(bottom->chains[i].chain) == Approx(signedArea(top->chains[i].chain)).epsilon(1e-12));
    CHECK((bottom->part.low - Vec2(-120, 0)).norm() < 1e-12);
    CHECK((bottom->holes[1].circle.centre - Vec2(-112, 8)).norm() < 1e-12);
    for (std::size_t i = 0; i < top->figures.size(); ++i)
        CHECK(bottom->figures[i].text == top->figures[i].text);
}

TEST_CASE("random outlines close, keep their area and stay smooth") {
    int arcs = 0;
    for (unsigned seed = 1; seed <= 200; ++seed) {
        double truth = 0;
        const Board b = randomBoard(seed, truth);
        INFO("seed " << seed);
        const auto d = build(b.survey, b.solution);
        if (!d) FAIL(d.error().sentence());
        CHECK(signedArea(d->chains[0].chain) == Approx(truth).epsilon(1e-9));
        CHECK(isSimple(d->chains[0].chain));
        for (const auto& v : d->chains[0].chain.vertices) arcs += v.bulge != 0;
    }
    CHECK(arcs > 400);
}

TEST_CASE("a chain built from noisy features is exactly tangent and says what moved") {
    for (unsigned seed = 1; seed <= 100; ++seed) {
        Board b = demoBoard();
        std::mt19937 rng(seed);
        std::normal_distribution<double> noise(0, 0.01);
        for (auto& [id, g] : b.solution.features) {
            if (g.kind != FeatureKind::Arc && g.kind != FeatureKind::Edge) continue;
            const Vec2 shift(noise(rng), noise(rng));
            g.point.head<2>() += shift;
            g.spanFrom += shift, g.spanTo += shift;
            if (g.kind == FeatureKind::Arc) g.radius += noise(rng);
        }
        INFO("seed " << seed);
        drawing::Options o;
        o.chain.tangency_mm = 0.1;
        const auto d = build(b.survey, b.solution, o);
        if (!d) FAIL(d.error().sentence());
        CHECK(sharpestJoint(d->chains[1].chain) < 1e-8);
        CHECK(signedArea(d->chains[0].chain) ==
              Approx(120 * 80 - 200 - 3 * (1 - kPi / 4) * 25).epsilon(2e-3));
        // Three fillets keep their radius; the slot's ends lie between parallel edges and cannot.
        const auto outer = geometry::pieces(d->chains[0].chain);
        for (const auto& p : outer)
            if (p.isArc()) {
                bool kept = false;
                for (const char* a : {"A1", "A2", "A3"})
                    kept = kept || std::abs(b.solution.features.at(a).radius - p.circle.radius) < 1e-9;
                CHECK(kept);
            }
        REQUIRE(d->remarks.size() >= 4);
        CHECK(has(d->remarks[0], "centre moved by"));
        CHECK(has(d->remarks[0], "its ± is not known"));
    }
}

TEST_CASE("remarks compare the move with the ± when it is known") {
    Board b = demoBoard();
    b.survey.datum.origin = "H1";
    b.solution.features.at("A1").point += Vec3(0.03, 0.03, 0);
    drawing::Options o;
    o.chain.plusMinus = [](const survey::Dimension&) { return std::optional<double>(0.02); };
    const auto d = build(b.survey, b.solution, o);
    if (!d) FAIL(d.error().sentence());
    REQUIRE(d->remarks.size() == 1);
    CHECK(has(d->remarks[0],
              "arc A1: centre moved by 0.042 mm to join edge E1 and edge E2 exactly (MORE than its ±0.028)"));
}

TEST_CASE("arcs that are not tangent meet their edges at the crossing near the marks") {
    // A D: a circle of radius 10 cut by the line x = 6 (3-4-5: y = ±8), and a mushroom on a stem.
    Board d;
    d.edge("E1", {6, 5}, {6, -5});
    d.arc("A1", {0, 0}, 10, 70, 290);
    d.outline("O1", OutlinePurpose::Outline, {"E1", "A1"});
    const auto r = build(d.survey, d.solution);
    if (!r) FAIL(r.error().sentence());
    const double half = std::atan2(8, 6);
    CHECK(signedArea(r->chains[0].chain) == Approx(100 * (kPi - half) + 48).epsilon(1e-12));
    Board m;
    m.edge("E1", {6, -12}, {6, -20});
    m.arc("A1", {0, 0}, 10, -40, 220);
    m.edge("E2", {-6, -20}, {-6, -12});
    m.edge("E3", {-5, -30}, {5, -30});
    m.outline("O1", OutlinePurpose::Outline, {"E1", "A1", "E2", "E3"});
    const auto s = build(m.survey, m.solution);
    if (!s) FAIL(s.error().sentence());
    // Stem 12 wide from −30 to −8, and the circle less the cap below y = −8.
    const double cap = std::asin(0.6);
    CHECK(signedArea(s->chains[0].chain) == Approx(12 * 22 + 100 * (kPi - cap) + 48).epsilon(1e-12));
}

TEST_CASE("arcs join arcs: an S of two, a lens, and a bay bitten out of an edge") {
    Board s;  // a step of 10 by two tangent arcs of radius 5: from (0,0) up to (10,10)
    s.edge("E1", {-20, 0}, {-5, 0});
    s.arc("A1", {0, 5}, 5, -80, -10);
    s.arc("A2", {10, 5}, 5, 100, 170);
    s.edge("E2", {15, 10}, {25, 10});
    s.edge("E3", {30, 12}, {30, 38});
    s.edge("E4", {25, 40}, {-15, 40});
    s.edge("E5", {-20, 35}, {-20, 5});
    s.outline("O1", OutlinePurpose::Outline, {"E1", "A1", "A2", "E2", "E3", "E4", "E5"});
    const auto d = build(s.survey, s.solution);
    if (!d) FAIL(d.error().sentence());
    // Under the step: 25 − 25π/4 and 25 + 25π/4 below its two arcs, then 20 × 10.
    CHECK(signedArea(d->chains[0].chain) == Approx(50 * 40 - 250).epsilon(1e-12));
    CHECK(sharpestJoint(d->chains[0].chain) == Approx(kPi / 2).epsilon(1e-9));
    Board lens;
    lens.arc("A1", {-3, 0}, 5, -50, 50);
    lens.arc("A2", {3, 0}, 5, 130, 230);
    lens.outline("O1", OutlinePurpose::Outline, {"A1", "A2"});
    const auto l = build(lens.survey, lens.solution);
    if (!l) FAIL(l.error().sentence());
    CHECK(signedArea(l->chains[0].chain) == Approx(2 * (25 * std::atan2(4, 3) - 12)).epsilon(1e-12));
    Board bay;  // concave half circle of radius 5 in the lower edge, the edge used on both sides of it
    bay.edge("E1", {-15, 0}, {15, 0});
    bay.arc("A1", {0, 0}, 5, 10, 170);
    bay.edge("E2", {20, 5}, {20, 15});
    bay.edge("E3", {10, 20}, {-10, 20});
    bay.edge("E4", {-20, 15}, {-20, 5});
    bay.outline("O1", OutlinePurpose::Outline, {"E4", "E1", "A1", "E1", "E2", "E3"});
    CHECK(
        !build(bay.survey, bay.solution));  // one mark for both sides cannot tell which crossing comes first
    bay.edge("E5", {-15, 0}, {-8, 0});
    bay.edge("E6", {8, 0}, {15, 0});
    bay.survey.outlines[0].chain = {"E4", "E5", "A1", "E6", "E2", "E3"};
    const auto y = build(bay.survey, bay.solution);
    if (!y) FAIL(y.error().sentence());
    CHECK(signedArea(y->chains[0].chain) == Approx(800 - 12.5 * kPi).epsilon(1e-12));
}

TEST_CASE("corners join edges and arcs, and a hole may be an outline") {
    Board b;
    b.corner("C1", {0, 0});
    b.edge("E1", {5, 0.01}, {15, 0.01});
    b.corner("C2", {20, 0});
    b.arc("A1", {20, 10}, 10.02, -80, 80);
    b.corner("C3", {20, 20});
    b.corner("C4", {0, 20});
    b.outline("O1", OutlinePurpose::Outline, {"C1", "E1", "C2", "A1", "C3", "C4"});
    b.hole("H1", {10, 10}, 4);
    b.outline("O2", OutlinePurpose::Cutout, {"H1"});
    const auto d = build(b.survey, b.solution);
    if (!d) FAIL(d.error().sentence());
    CHECK(d->chains[0].chain.vertices.size() == 4);
    CHECK(signedArea(d->chains[0].chain) == Approx(400 + 50 * kPi).epsilon(2e-3));
    CHECK((d->chains[0].chain.vertices[1].point - Vec2(20, 0)).norm() < 1e-12);
    REQUIRE(d->chains.size() == 1);  // a cutout that is one hole is drilled
    REQUIRE(d->holes.size() == 1);
    b.survey.outlines[1].purpose = OutlinePurpose::KeepOut;
    const auto k = build(b.survey, b.solution);
    if (!k) FAIL(k.error().sentence());
    CHECK(k->holes.empty());
    CHECK(signedArea(k->chains[1].chain) == Approx(4 * kPi).epsilon(1e-12));
}

TEST_CASE("what cannot be drawn is one sentence that names the features") {
    Board empty;
    CHECK(sentence(empty) ==
          "survey Demo board: holds no outline and no hole to draw; put features into an "
          "outline, or mark a hole.");
    Board b = demoBoard();
    b.solution.features.at("H3").point = Vec3(110, 75, 0);
    b.survey.outlines.push_back({"O9", "", OutlinePurpose::Cutout, "L1", {"H3"}});
    CHECK(sentence(b) ==
          "hole H3: does not lie inside outline O1; check its marks and its level, or the "
          "outline's.");
    b = demoBoard();
    b.solution.features.at("H3").point = Vec3(55, 63, 0);
    CHECK(has(sentence(b), "cutout O2: touches hole H3"));
    b = demoBoard();
    b.solution.features.at("H3") = b.solution.features.at("H4");
    CHECK(has(sentence(b), "hole H3: touches hole H4"));
    b = demoBoard();
    b.solution.features.at("H3").point = Vec3(55, 60, 0);
    b.solution.features.at("H3").radius = 1;
    CHECK(has(sentence(b), "hole H3: lies within cutout O2"));
    b = demoBoard();
    std::swap(b.survey.outlines[2].chain[0], b.survey.outlines[2].chain[1]);
    CHECK(has(sentence(b), "outline O3: crosses or touches itself"));
    b = demoBoard();
    std::swap(b.survey.outlines[0].chain[1], b.survey.outlines[0].chain[6]);
    CHECK(has(sentence(b), "edge E1 and arc A2: do not meet: 70.00 mm lie between them"));
    b = demoBoard();
    b.survey.outlines[0].chain = {"E1", "E5", "E2"};
    CHECK(has(sentence(b), "edge E1 and edge E5: are parallel within 1° and do not meet"));
    b = demoBoard();
    b.survey.outlines[0].chain = {"E1", "E2"};
    CHECK(has(sentence(b), "outline O1: too few features to enclose an area"));
    b = demoBoard();
    b.solution.features.erase("E3");
    CHECK(has(sentence(b), "outline O1: edge E3 has no adjusted place"));
    b = demoBoard();
    b.solution.features.at("A1").radius = std::nan("");
    CHECK(has(sentence(b), "arc A1: has no usable shape"));
    b = demoBoard();
    b.solution.features.at("A1").radius = 5.2;
    b.solution.features.at("A1").point += Vec3(0.8, 0.8, 0);
    CHECK(has(sentence(b), "A1"));
    b = demoBoard();
    b.survey.outlines[0].level = "L9";
    CHECK(has(sentence(b), "outline O1: has no level"));
    b = demoBoard();
    b.survey.outlines[0].chain.push_back("C1");
    CHECK(has(sentence(b), "arc A3 and corner C1: do not meet"));
}

TEST_CASE("a hole is cut where it is a cutout, or inside an outline and on its level, and nowhere else") {
    auto b = boards::demoBoard();
    b.level("LB", "underside", -1.6);
    b.hole("below", {8.02, 8.01}, 3.2, "LB");  // the lower rim of H1
    b.hole("ear", {130, 40}, 4);               // on the outline's level, beside the part
    b.hole("boss", {40, 50}, 2, "L2");         // a level with an opening and no outline
    const auto d = build(b.survey, b.solution);
    REQUIRE(d);
    const auto why = [](const drawing::Drawing& drawn, const std::string& id) {
        for (const auto& h : drawn.holes)
            if (h.feature == id) return h.cut ? std::string("cut") : h.notCutBecause;
        return std::string("missing");
    };
    for (const char* id : {"H1", "H2", "H3", "H4", "H5"}) CHECK(why(*d, id) == "cut");
    CHECK(why(*d, "below") == "its level has no outline");
    CHECK(why(*d, "boss") == "its level has no outline");
    CHECK(why(*d, "ear") == "it lies outside the outline of its level");
    std::string notes;
    for (const auto& line : drawing::noteLines(*d)) notes += line + "\n";
    CHECK(has(notes, "To be cut: outline O1; openings O2, O3; holes H1, H2, H3, H4, H5."));
    CHECK(has(notes, "Only drawn, not to be cut: hole ear (it lies outside the outline of its level)."));
    CHECK(has(notes, "Only drawn, not to be cut: hole below, hole boss (its level has no outline)."));

    drawing::Options options;
    options.holes = drawing::HoleChoice::Chosen;
    const auto chosen = build(b.survey, b.solution, options);
    REQUIRE(chosen);
    CHECK(why(*chosen, "H1") == "it is no cutout");
    CHECK(why(*chosen, "H5") == "cut");

    b.survey.outlines.clear();  // nobody said anything of what is cut
    const auto none = build(b.survey, b.solution);
    REQUIRE(none);
    for (const auto& h : none->holes) CHECK_FALSE(h.cut);
    notes.clear();
    for (const auto& line : drawing::noteLines(*none)) notes += line + "\n";
    CHECK(has(notes, "Nothing is to be cut: make what is to be cut an outline or a cutout."));
}

// Areas by school geometry: a slot is a rectangle and a circle.
TEST_CASE("a slot or closed curve of its own becomes a cutout, and is told of where it is none") {
    Board b = demoBoard();
    const survey::Id level = b.survey.outlines.front().level;
    b.survey.features.push_back({"F901", "long hole", survey::FeatureKind::Slot, level});
    adjust::FeatureGeometry slot;
    slot.kind = survey::FeatureKind::Slot;
    slot.spanFrom = {40, 60}, slot.spanTo = {52, 69}, slot.radius = 2;
    slot.point = {46, 64.5, 0};
    b.solution.features["F901"] = slot;
    b.survey.features.push_back({"F902", "egg", survey::FeatureKind::Curve, level});
    adjust::FeatureGeometry egg;
    egg.kind = survey::FeatureKind::Curve, egg.closed = true, egg.point = {70, 62, 0};
    for (int i = 0; i <= 360; ++i)
        egg.course.emplace_back(70 + 3 * std::cos(i * kPi / 180), 62 + 3 * std::sin(i * kPi / 180), 0);
    b.solution.features["F902"] = egg;
    const auto told = build(b.survey, b.solution);
    REQUIRE(told);
    REQUIRE(told->remarks.size() == 2);
    CHECK(has(told->remarks[0], "slot long hole: not drawn"));
    b.survey.outlines.push_back({"O901", "", survey::OutlinePurpose::Cutout, level, {"F901"}});
    b.survey.outlines.push_back({"O902", "", survey::OutlinePurpose::Cutout, level, {"F902"}});
    for (const drawing::Face face : {drawing::Face::Top, drawing::Face::Bottom}) {
        drawing::Options options;
        options.face = face;
        const auto d = build(b.survey, b.solution, options);
        if (!d) FAIL(d.error().sentence());
        CHECK(d->remarks.empty());
        REQUIRE(d->chains.size() == 5);
        CHECK(signedArea(d->chains[3].chain) == Approx(-(15 * 4 + 4 * kPi)).epsilon(1e-12));
        CHECK(sharpestJoint(d->chains[3].chain) < 1e-9);
        CHECK(signedArea(d->chains[4].chain) == Approx(-9 * kPi).epsilon(1e-3));
    }
    b.survey.outlines.back().chain = {"F901", "F902"};
    CHECK(has(sentence(b), "cannot be joined"));
}
