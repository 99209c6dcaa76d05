// SPDX-License-Identifier: GPL-3.0-or-later
// Networks of surveying textbooks with the answers printed for them.
#include <fmt/core.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <cstdlib>

#include "Cases.h"
#include "Equations.h"
#include "KrummFile.h"

using namespace trammel;
using namespace trammel::estimate;
using trammel::test::compare;
using trammel::test::kEngines;
using trammel::test::KrummFile;
using trammel::test::PointNetwork;
using trammel::test::Printed;

namespace {

/// An adjusted network: standard deviations scaled by s0, as the books print them.
struct Adjusted {
    double s0 = 0.0;
    int freedom = 0;
    std::vector<double> sigma;                      ///< of each coordinate, m
    std::vector<double> residual, redundancy, tau;  ///< of each observation; residual = adjusted − observed
    std::vector<double> w;
};

Adjusted adjusted(PointNetwork& network, Engine engine) {
    const test::Solved s = test::solved(network, engine);
    Adjusted out{s.s0, s.freedom, {}, {}, s.redundancy, {}, {}};
    const int coordinates = static_cast<int>(network.names().size()) * network.dimensions();
    for (int i = 0; i < coordinates; ++i) out.sigma.push_back(s.s0 * s.sigma(network.gradient(i)));
    for (std::size_t i = 0; i < s.e.size(); ++i) {
        out.residual.push_back(-s.e[i] * network.observations[i].sigma);
        out.tau.push_back(s.tau(i));
        out.w.push_back(s.tau(i) * s.s0);
    }
    return out;
}

/// Every coordinate and standard deviation to its last printed decimal. Books take the derivatives at
/// approximate coordinates (1e-4 of a length away), we at the adjusted ones: that moves a standard deviation
/// by up to 3e-5 of itself.
void comparePrinted(const PointNetwork& network, const Adjusted& a, const std::vector<Printed>& printed) {
    REQUIRE_FALSE(printed.empty());
    for (const Printed& p : printed) {
        const int c = network.coordinate(network.point(p.point), p.axis);
        CAPTURE(p.point, p.axis);
        compare(network.value(c), p.value);
        compare(a.sigma[static_cast<std::size_t>(c)] / p.unit, p.sigma, 3e-5);
    }
}

std::filesystem::path krumm(const std::string& name) {
    return std::filesystem::path(std::getenv("TRAMMEL_REFERENCE")) / "networks/krumm" / name;
}

/// True, and one line, when other people's files are not at hand.
bool skipped(const char* what) {
    if (std::getenv("TRAMMEL_REFERENCE")) return false;
    fmt::print("skipped: {} need TRAMMEL_REFERENCE (folder networks)\n", what);
    return true;
}

/// The networks of tests/cases/network-*.csv, by name.
PointNetwork typed(const std::string& name, std::vector<Printed>& printed) {
    const test::Cases points("network-points"), observed("network-observations");
    const bool heights = name.rfind("levelling", 0) == 0;
    PointNetwork network(heights ? 1 : 2);
    std::vector<bool> fixed;
    for (const auto& row : points.rows()) {
        if (row.text("network") != name) continue;
        network.addPoint(row.text("point"), {row.number("x"), heights ? 0.0 : row.number("y")});
        for (int axis = 0; axis < network.dimensions(); ++axis) {
            const std::string suffix = axis == 0 ? "x" : "y";
            fixed.push_back(!row.has("adjusted_" + suffix));
            if (!fixed.back())
                printed.push_back({row.text("point"), axis, row.text("adjusted_" + suffix), "",
                                   row.text("sigma_" + suffix), heights ? 0.001 : 0.01});
        }
    }
    for (const auto& row : observed.rows())
        if (row.text("network") == name)
            network.observations.push_back({heights ? PointNetwork::Kind::Rise : PointNetwork::Kind::Distance,
                                            network.point(row.text("from")), network.point(row.text("to")), 0,
                                            row.number("observed"), row.number("sigma")});
    network.fix(fixed);
    return network;
}

}  // namespace

TEST_CASE("small networks of textbooks, figures kept in the repository") {
    const test::Cases observed("network-observations");
    for (const char* name : {"levelling Ghilani", "distances Strang Borre", "distances Benning"})
        for (const Engine engine : kEngines) {
            CAPTURE(name, observed.source());
            std::vector<Printed> printed;
            PointNetwork network = typed(name, printed);
            const Adjusted a = adjusted(network, engine);
            comparePrinted(network, a, printed);
            std::size_t i = 0;
            for (const auto& row : observed.rows()) {
                if (row.text("network") != name) continue;
                CAPTURE(row.line());
                compare(a.redundancy[i], row.text("redundancy"));
                if (row.has("w")) compare(a.w[i], row.text("w"));
                ++i;
            }
            REQUIRE(i == network.observations.size());
        }
}

// Left out of the collection, and why: LotherStrehle_Height_1..6, Mittermayer, Hoepke_Distance_fix,
// Leick53..56, JaegerEtAl, Wolf_Direction_fix_with_cond, Benning83_.._Mb, Wolf_PosAngle_and_Dist (no answer
// stored); Krumm_Traverse1..4 (bearings to points without coordinates); Ghilani21_1 (the answer's point names
// are mangled); networks of zenith or vertical angles and of satellite baselines (another kind of
// observation).
TEST_CASE("networks of textbooks come out as they are printed") {
    if (skipped("the networks of textbooks")) return;
    for (const char* name : {"1D/Baumann_Height_fix",
                             "1D/Ghilani12_6_Height_fix",
                             "1D/Krumm_Height_dyn",
                             "1D/Krumm_Height_fix",
                             "1D/Niemeier_Height_fix1",
                             "1D/Niemeier_Height_free",
                             "2D/Benning82_Distance_fix",
                             "2D/Benning83_DistanceDirection_fix",
                             "2D/Benning85",
                             "2D/Benning88_Distance_fix",
                             "2D/Carosio_DistanceDirection_fix",
                             "2D/Ghilani14_5_Distance_fix",
                             "2D/Ghilani15_4_Angle_fix",
                             "2D/Ghilani15_5_Angle_fix",
                             "2D/Ghilani16_1_Traverse",
                             "2D/Ghilani16_2_DistanceAngleAzimuth_fix",
                             "2D/Ghilani21_10_DistanceAngle_fix",
                             "2D/Ghilani_Wolf_Distance_Angle",
                             "2D/Grossmann_Direction_fix",
                             "2D/Hoepke_Distance_free",
                             "2D/LotherStrehle_Direction1",
                             "2D/LotherStrehle_Direction2",
                             "2D/LotherStrehle_Direction3",
                             "2D/LotherStrehle_Direction4",
                             "2D/LotherStrehle_Direction5",
                             "2D/LotherStrehle_Direction6",
                             "2D/LotherStrehle_Direction7",
                             "2D/Niemeier_DistanceDirection_fix",
                             "2D/StrangBorre_Distance_fix",
                             "2D/StrangBorre_Distance_free",
                             "2D/WeissEtAl_Distance_fix",
                             "2D/Wolf_DistanceDirectionAngle_free",
                             "3D/BlankenbachWillert3D_Distance_fix",
                             "3D/Wolf_3D_Distance_fix"})
        for (const Engine engine : kEngines) {
            CAPTURE(name);
            KrummFile file(krumm(name));
            const Adjusted a = adjusted(file.network, engine);
            comparePrinted(file.network, a, file.printed);
            double redundancy = 0.0;
            for (const double r : a.redundancy) redundancy += r;
            CHECK(redundancy == Approx(a.freedom).epsilon(1e-7));
        }
}

TEST_CASE("residuals, redundancy numbers and w of distance networks equal an independent adjuster's") {
    if (skipped("the distance networks")) return;
    // Computed with numpy (README-networks.md beside the file), 4 to 6 decimals.
    std::ifstream in(krumm("").parent_path().parent_path() / "distance-network-results-computed.csv");
    REQUIRE(in);
    std::map<std::string, std::vector<std::vector<std::string>>> lines;
    for (std::string line; std::getline(in, line);) {
        std::vector<std::string> cells;
        std::istringstream fields(line);
        for (std::string cell; std::getline(fields, cell, ',');) cells.push_back(cell);
        if (cells[0] != "file") lines[cells[0].substr(0, cells[0].size() - 4)].push_back(cells);
    }
    REQUIRE(lines.size() == 8);
    for (const auto& [name, rows] : lines)
        for (const Engine engine : kEngines) {
            CAPTURE(name);
            KrummFile file(krumm(name));
            const Adjusted a = adjusted(file.network, engine);
            REQUIRE(rows.size() == a.w.size());
            for (std::size_t i = 0; i < rows.size(); ++i) {
                CAPTURE(i);
                compare(a.residual[i] * 1000, rows[i][5], 2e-5);
                compare(a.redundancy[i], rows[i][6], 2e-5);
                compare(a.w[i], rows[i][7], 2e-5);
                compare(a.tau[i], rows[i][8], 2e-5);
            }
            compare(a.s0, rows[0].at(10), 2e-5);
        }
}

TEST_CASE("a blunder of a textbook is found by w, and not where one degree of freedom cannot say") {
    if (skipped("the networks with a blunder")) return;
    // Höpke 1980, ex. 35.5: the computation uses 1789.449, the list prints 1789.499: 5 cm.
    KrummFile file(krumm("2D/Hoepke_Distance_free"));
    auto& observations = file.network.observations;
    std::size_t wrong = 0;
    while (observations[wrong].value != 1789.449) ++wrong;
    observations[wrong].value = 1789.499;
    const Adjusted a = adjusted(file.network, Engine::Normal);
    const auto worst = std::max_element(a.w.begin(), a.w.end(),
                                        [](double x, double y) { return std::abs(x) < std::abs(y); });
    CHECK(static_cast<std::size_t>(worst - a.w.begin()) == wrong);
    CHECK(a.s0 == Approx(10.411).margin(0.0005).epsilon(0));
    CHECK(std::abs(*worst) == Approx(34.26).margin(0.005).epsilon(0));
    CHECK(a.redundancy[wrong] == Approx(0.4672).margin(5e-5).epsilon(0));
    CHECK(-a.residual[wrong] / a.redundancy[wrong] * 1000 == Approx(50.12).margin(0.005).epsilon(0));
    // Ghilani 2010, ex. 14.5: one degree of freedom, every |w| the same.
    KrummFile one(krumm("2D/Ghilani14_5_Distance_fix"));
    for (const double w : adjusted(one.network, Engine::Normal).w)
        CHECK(std::abs(w) == Approx(13.5905).margin(1e-4).epsilon(0));
}
