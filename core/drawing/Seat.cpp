// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/drawing/Seat.h"

#include <Eigen/QR>
#include <cmath>

namespace trammel::drawing {
namespace {

using geometry::Circle;

/// Below this sine of their angle two lines hold a circle between them only with a radius of their own.
constexpr double kNearlyParallel = 0.2;
constexpr double kSettled = 1e-11;  // mm

Vec2 leftOf(const geometry::Line& line) {
    const Vec2 u = line.direction.normalized();
    return {-u.y(), u.x()};
}

struct Row {
    double value = 0.0;
    Vec2 byCentre = Vec2::Zero(), byOtherCentre = Vec2::Zero();
    double byRadius = -1.0, byOtherRadius = 0.0;
};

Row evaluate(const std::vector<Circle>& circles, const Contact& c) {
    const Circle& a = circles[c.arc];
    Row row;
    if (c.kind == Contact::Kind::Line) {
        const double d = signedDistance(c.line, a.centre), side = d < 0 ? -1.0 : 1.0;
        row.value = side * d - a.radius;
        row.byCentre = side * leftOf(c.line);
        return row;
    }
    const bool point = c.kind == Contact::Kind::Point;
    const Vec2 from = a.centre - (point ? c.point : circles[c.other].centre);
    const double d = from.norm();
    const Vec2 u = d > 0 ? Vec2(from / d) : Vec2(1, 0);
    row.byCentre = u;
    row.value = d - a.radius;
    if (point) return row;
    row.byOtherCentre = -u;
    const double other = circles[c.other].radius;
    if (c.kind == Contact::Kind::Outside) {
        row.value -= other;
        row.byOtherRadius = -1.0;
    } else {
        const double sign = a.radius >= other ? 1.0 : -1.0;
        row.value = d - sign * (a.radius - other);
        row.byRadius = -sign;
        row.byOtherRadius = sign;
    }
    return row;
}

bool solve(std::vector<Circle>& circles, const std::vector<Contact>& contacts,
           const std::vector<bool>& free) {
    const auto n = static_cast<Eigen::Index>(circles.size());
    const auto m = static_cast<Eigen::Index>(contacts.size());
    for (int step = 0; step < 30; ++step) {
        MatX j = MatX::Zero(m, 3 * n);
        VecX f(m);
        for (Eigen::Index i = 0; i < m; ++i) {
            const Contact& c = contacts[static_cast<std::size_t>(i)];
            const Row row = evaluate(circles, c);
            const auto a = static_cast<Eigen::Index>(c.arc), b = static_cast<Eigen::Index>(c.other);
            f[i] = row.value;
            j.block<1, 2>(i, 3 * a) += row.byCentre.transpose();
            if (free[c.arc]) j(i, 3 * a + 2) += row.byRadius;
            if (c.kind != Contact::Kind::Outside && c.kind != Contact::Kind::Inside) continue;
            j.block<1, 2>(i, 3 * b) += row.byOtherCentre.transpose();
            if (free[c.other]) j(i, 3 * b + 2) += row.byOtherRadius;
        }
        if (f.cwiseAbs().maxCoeff() < kSettled) return true;
        Eigen::CompleteOrthogonalDecomposition<MatX> qr;
        qr.setThreshold(1e-9);
        const VecX dx = qr.compute(j).solve(-f);
        for (Eigen::Index k = 0; k < n; ++k) {
            Circle& c = circles[static_cast<std::size_t>(k)];
            c.centre += dx.segment<2>(3 * k);
            c.radius += dx[3 * k + 2];
            if (!(c.radius > 0)) return false;
        }
    }
    double worst = 0.0;
    for (const Contact& c : contacts) worst = std::max(worst, std::abs(miss(circles, c)));
    return worst < 1e-10;
}

double largestMove(const std::vector<Circle>& a, const std::vector<Circle>& b) {
    double most = 0.0;
    for (std::size_t i = 0; i < a.size(); ++i) most = std::max(most, (a[i].centre - b[i].centre).norm());
    return most;
}

}  // namespace

double miss(const std::vector<Circle>& circles, const Contact& contact) {
    return evaluate(circles, contact).value;
}

bool seat(std::vector<Circle>& circles, const std::vector<Contact>& contacts) {
    if (contacts.empty()) return true;
    std::vector<bool> free(circles.size(), false);
    for (const Contact& c : contacts)
        for (const Contact& d : contacts)
            if (&c != &d && c.arc == d.arc && c.kind == Contact::Kind::Line &&
                d.kind == Contact::Kind::Line && std::sin(angleBetween(c.line, d.line)) < kNearlyParallel)
                free[c.arc] = true;
    double worst = 0.0;
    for (const Contact& c : contacts) worst = std::max(worst, std::abs(miss(circles, c)));
    std::vector<Circle> attempt = circles;
    // A sound seat moves the centres by a few times the miss; more means that the radii stand in the way.
    if (solve(attempt, contacts, free) && largestMove(attempt, circles) <= 10 * worst) {
        circles = attempt;
        return true;
    }
    attempt = circles;
    if (!solve(attempt, contacts, std::vector<bool>(circles.size(), true))) return false;
    circles = attempt;
    return true;
}

}  // namespace trammel::drawing
