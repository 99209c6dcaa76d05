// SPDX-License-Identifier: GPL-3.0-or-later
// Lines, circles and ellipses by the adjustment engine against published fits.
#include <fmt/core.h>

#include <Eigen/Geometry>

#include <cstdlib>
#include <fstream>
#include <map>
#include <sstream>

#include "Cases.h"
#include "Equations.h"

using namespace trammel;
using namespace trammel::estimate;
using namespace trammel::test;

namespace {

VecX start(std::initializer_list<double> values) {
    VecX v(static_cast<Eigen::Index>(values.size()));
    std::copy(values.begin(), values.end(), v.data());
    return v;
}

Vec2 centroid(const std::vector<Vec2>& points) {
    Vec2 sum = Vec2::Zero();
    for (const Vec2& p : points) sum += p;
    return sum / static_cast<double>(points.size());
}

/// Distances from the line with normal angle φ at distance d from `origin`: unknowns φ, d.
Equations orthogonalLine(const std::vector<Vec2>& points, const Vec2& origin, double angle) {
    return {start({angle, 0.0}), 0, points.size(), [=](const VecX& x, std::vector<Rows>& rows) {
                const Vec2 n(-std::sin(x[0]), std::cos(x[0])), t(n.y(), -n.x());
                for (std::size_t i = 0; i < points.size(); ++i) {
                    const Vec2 p = points[i] - origin;
                    rows[i].e[0] = x[1] - n.dot(p);
                    rows[i].add(0, -t.dot(p));
                    rows[i].add(1, -1.0);
                }
            }};
}

/// Distances from a circle: unknowns centre, radius.
Equations circle(const std::vector<Vec2>& points, const VecX& from) {
    return {from, 0, points.size(), [=](const VecX& x, std::vector<Rows>& rows) {
                for (std::size_t i = 0; i < points.size(); ++i) {
                    const Vec2 d = points[i] - x.head<2>();
                    rows[i].e[0] = x[2] - d.norm();
                    rows[i].add(0, -d.x() / d.norm());
                    rows[i].add(1, -d.y() / d.norm());
                    rows[i].add(2, -1.0);
                }
            }};
}

/// Gander, Golub and Strebel's own form: each point observes in x and y a point of the ellipse whose
/// parameter t is unknown too. Unknowns: one t a point (eliminated), then centre, a, b, angle.
Equations ellipse(const std::vector<Vec2>& points, const VecX& shape) {
    const auto n = static_cast<Eigen::Index>(points.size());
    VecX from(n + 5);
    from.tail(5) = shape;
    for (Eigen::Index i = 0; i < n; ++i) {
        const Vec2 d =
            Eigen::Rotation2Dd(-shape[4]) * (points[static_cast<std::size_t>(i)] - shape.head<2>());
        from[i] = std::atan2(d.y() / shape[3], d.x() / shape[2]);
    }
    return {from, static_cast<int>(n), points.size(), [=](const VecX& x, std::vector<Rows>& rows) {
                const VecX s = x.tail(5);
                const Mat2 R = Eigen::Rotation2Dd(s[4]).toRotationMatrix();
                for (Eigen::Index i = 0; i < n; ++i) {
                    Rows& row = rows[static_cast<std::size_t>(i)];
                    row.components = 2;
                    const double c = std::cos(x[i]), k = std::sin(x[i]);
                    const Vec2 arm = R * Vec2(s[2] * c, s[3] * k),
                               off = points[static_cast<std::size_t>(i)] - arm;
                    row.e = {off.x() - s[0], off.y() - s[1]};
                    const Vec2 along = R * Vec2(-s[2] * k, s[3] * c);
                    const int at = static_cast<int>(n);
                    row.add(static_cast<int>(i), along.x(), along.y());
                    row.add(at, 1.0, 0.0);
                    row.add(at + 1, 0.0, 1.0);
                    row.add(at + 2, R(0, 0) * c, R(1, 0) * c);
                    row.add(at + 3, R(0, 1) * k, R(1, 1) * k);
                    row.add(at + 4, -arm.y(), arm.x());
                }
            }};
}

/// Errors in both coordinates: each point's true abscissa is an unknown (eliminated), then intercept, slope.
Equations weightedLine(const std::vector<Vec2>& points, const std::vector<Vec2>& weights) {
    const auto n = static_cast<Eigen::Index>(points.size());
    VecX from = VecX::Zero(n + 2);
    for (Eigen::Index i = 0; i < n; ++i) from[i] = points[static_cast<std::size_t>(i)].x();
    from[n] = 5.0;
    return {from, static_cast<int>(n), points.size(), [=](const VecX& x, std::vector<Rows>& rows) {
                for (Eigen::Index i = 0; i < n; ++i) {
                    const auto p = static_cast<std::size_t>(i);
                    const Vec2 root = weights[p].cwiseSqrt();
                    rows[p].components = 2;
                    rows[p].e = {root.x() * (points[p].x() - x[i]),
                                 root.y() * (points[p].y() - x[n] - x[n + 1] * x[i])};
                    rows[p].add(static_cast<int>(i), root.x(), root.y() * x[n + 1]);
                    rows[p].add(static_cast<int>(n), 0.0, root.y());
                    rows[p].add(static_cast<int>(n) + 1, 0.0, root.y() * x[i]);
                }
            }};
}

std::vector<Vec2> gander(const std::string& set) {
    std::vector<Vec2> out;
    const Cases cases("fits-conic-points");
    for (const auto& row : cases.rows())
        if (row.text("set") == set) out.emplace_back(row.number("x"), row.number("y"));
    return out;
}

}  // namespace

TEST_CASE("the engine's circle and ellipse are those of Gander, Golub and Strebel") {
    const Cases cases("fits-conic-solutions");
    const auto& c = cases.rows()[0];
    const auto& l = cases.rows()[1];
    for (const Engine engine : kEngines) {
        Equations round = circle(gander("circle"), start({5, 5, 3}));
        const Solved r = solved(round, engine);
        CHECK(round.x(0) == Approx(c.number("x")).margin(1e-7));
        CHECK(round.x(1) == Approx(c.number("y")).margin(1e-7));
        CHECK(round.x(2) == Approx(c.number("a")).margin(1e-7));
        // s0 and formal standard deviations: recomputed with another solver.
        compare(r.s0, "0.63969");
        compare(r.s0 * r.sigma(0), "0.478");
        compare(r.s0 * r.sigma(1), "1.543");
        compare(r.s0 * r.sigma(2), "1.224");

        const std::vector<Vec2> points = gander("ellipse");
        // From the best circle of these points: an algebraic start lies in the valley of a flat minimum.
        Equations first = circle(points, start({5, 5, 3}));
        solved(first, engine);
        Equations oval = ellipse(points, start({first.x(0), first.x(1), first.x(2), 0.9 * first.x(2), 0.3}));
        const Solved e = solved(oval, engine);
        const int at = static_cast<int>(points.size());
        CHECK(oval.x(at) == Approx(l.number("x")).margin(2e-6));
        CHECK(oval.x(at + 1) == Approx(l.number("y")).margin(2e-6));
        CHECK(oval.x(at + 2) == Approx(l.number("a")).margin(2e-6));
        CHECK(oval.x(at + 3) == Approx(l.number("b")).margin(2e-6));
        CHECK(oval.x(at + 4) == Approx(l.number("angle")).margin(2e-6));
        CHECK(std::sqrt(e.sum) == Approx(l.number("residual_norm")).margin(1e-7));
    }
}

TEST_CASE("Pearson's line with York's weights comes out as Williamson prints it") {
    std::vector<Vec2> points, weights;
    const Cases cases("fits-line-both-errors");
    for (const auto& row : cases.rows()) {
        points.emplace_back(row.number("x"), row.number("y"));
        weights.emplace_back(row.number("weight_x"), row.number("weight_y"));
    }
    const int n = static_cast<int>(points.size());
    for (const Engine engine : kEngines) {
        Equations york = weightedLine(points, weights);
        const Solved s = solved(york, engine);
        CHECK(york.x(n) == Approx(5.47991022403).epsilon(1e-10));
        CHECK(york.x(n + 1) == Approx(-0.48053340745).epsilon(1e-10));
        compare(s.sum, "11.8663532");
        CHECK(s.freedom == 8);
        // A priori, recomputed with another solver; the papers that scale by s0 print 0.359 and 0.0706.
        compare(s.sigma(n), "0.29497", 1e-4);
        compare(s.sigma(n + 1), "0.05799", 1e-4);
        compare(s.s0 * s.sigma(n), "0.359");
        compare(s.s0 * s.sigma(n + 1), "0.0706");

        Equations pearson = orthogonalLine(points, centroid(points), -0.4);
        solved(pearson, engine);
        const double slope = std::tan(pearson.x(0));
        compare(slope, "-0.54556");
        const Vec2 c = centroid(points);
        compare(c.y() - slope * c.x() + pearson.x(1) / std::cos(pearson.x(0)), "5.78404");
    }
}

TEST_CASE("lines, circles and ellipses with an exactly known solution are met to 1e-6 of their size") {
    // Made by the null-space method of Forbes and Minh (2012): the residuals are orthogonal to the Jacobian.
    const char* folder = std::getenv("TRAMMEL_REFERENCE");
    if (!folder) {
        fmt::print("skipped: the reference pairs need TRAMMEL_REFERENCE (folder fits)\n");
        return;
    }
    const auto table = [&](const char* name) {
        std::ifstream in(std::string(folder) + "/fits/" + name);
        REQUIRE(in);
        std::map<std::string, std::vector<std::vector<std::string>>> out;
        for (std::string line; std::getline(in, line);) {
            std::vector<std::string> cells;
            std::istringstream fields(line);
            for (std::string cell; std::getline(fields, cell, ',');) cells.push_back(cell);
            if (cells[0] != "set") out[cells[0]].push_back(cells);
        }
        return out;
    };
    const auto points = table("reference-pairs-points.csv"),
               solutions = table("reference-pairs-solutions.csv");
    REQUIRE(solutions.size() == 9);
    for (const auto& [name, lines] : solutions) {
        std::vector<double> truth;
        for (std::size_t i = 2; i < 7 && !lines[0][i].empty(); ++i) truth.push_back(std::stod(lines[0][i]));
        const double s0 = std::stod(lines[0][8]);
        std::vector<Vec2> p;
        for (const auto& cells : points.at(name)) p.emplace_back(std::stod(cells[1]), std::stod(cells[2]));
        for (const Engine engine : kEngines) {
            CAPTURE(name);
            const bool line = name[0] == 'l', round = name[0] == 'c';
            const VecX shape = Eigen::Map<const VecX>(truth.data(), static_cast<Eigen::Index>(truth.size()));
            const double size = line ? 1.0 : truth[2];
            VecX off = VecX::Zero(shape.size());
            if (!line) off.head(3) = size * Eigen::Vector3d(0.02, -0.02, 0.03);
            if (shape.size() == 5) off.tail(2) << -0.03 * truth[3], truth[2] - truth[3] > 1 ? 0.05 : 0.3;
            Equations problem = line    ? orthogonalLine(p, centroid(p), truth[2] + 0.1)
                                : round ? circle(p, shape + off)
                                        : ellipse(p, shape + off);
            const Solved s = solved(problem, engine);
            CHECK(s.s0 == Approx(s0).epsilon(1e-6));
            if (line) {
                CHECK(problem.x(0) == Approx(truth[2]).margin(1e-9));
                const Vec2 n(-std::sin(truth[2]), std::cos(truth[2]));
                CHECK(problem.x(1) == Approx(n.dot(Vec2(truth[0], truth[1]) - centroid(p))).margin(1e-7));
                continue;
            }
            const int at = problem.layout().eliminatedColumns;
            for (int i = 0; i < 2 + (round ? 1 : 2); ++i)
                CHECK(problem.x(at + i) == Approx(truth[static_cast<std::size_t>(i)]).margin(1e-6 * size));
            if (!round) CHECK(problem.x(at + 4) == Approx(truth[4]).margin(1e-5));
        }
    }
}
