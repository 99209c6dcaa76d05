// SPDX-License-Identifier: GPL-3.0-or-later
// Fillets marked as arcs: a short part of a rim that runs into an edge at either end (Outlines.h).
#include <catch2/catch.hpp>

#include "Outlines.h"
#include "core/fit/Conic.h"
#include "core/fit/EdgeFit.h"

using namespace trammel;
using namespace pictures;

TEST_CASE("Fillets of 8 to 40 px radius and 60 to 90 degrees are fitted between their edges") {
    std::mt19937 random(61);
    std::uniform_real_distribution<double> uniform(0.0, 1.0);
    std::normal_distribution<double> gauss;
    int refused = 0, tried = 0, points = 0, covered = 0, radii = 0, near = 0;
    double worst = 0.0;
    std::string why;
    for (int k = 0; k < 60; ++k) {
        const double radius = 8.0 + 32.0 * uniform(random),
                     turn = (60.0 + 30.0 * uniform(random)) * std::numbers::pi / 180;
        const double direction = 2.0 * std::numbers::pi * uniform(random),
                     back = radius * std::tan(0.5 * turn);
        // Corner at `meet`, its middle towards `in`; both edges 70 px past the arc.
        const Vec2 meet = Vec2(110, 110) - 40.0 * Vec2(std::cos(direction), std::sin(direction));
        const auto ray = [&](double a) { return Vec2(std::cos(direction + a), std::sin(direction + a)); };
        const double open = 0.5 * (std::numbers::pi - turn);
        const Vec2 a = ray(-open), b = ray(open);
        const Vec2 centre = meet + radius / std::cos(0.5 * turn) * ray(0.0);
        Chain chain;
        chain.vertices = {{meet + (back + 70.0) * b, 0.0},
                          {meet + back * b, std::tan(0.25 * turn)},
                          {meet + back * a, 0.0},
                          {meet + (back + 70.0) * a, 0.0}};
        const auto on =
            geometry::arcOf(chain.vertices[1].point, chain.vertices[2].point, chain.vertices[1].bulge);
        if ((on.centre - centre).norm() > 1e-6) chain.vertices[1].bulge *= -1.0;
        const geometry::Piece arc(chain.vertices[1].point, chain.vertices[2].point, chain.vertices[1].bulge);
        REQUIRE((arc.circle.centre - centre).norm() < 1e-6);
        const auto image =
            photograph(chain, 220, 220,
                       {0.05, 0.45, 0.6 + 0.8 * uniform(random), 0.006, 0, static_cast<unsigned>(random())});
        std::vector<Vec2> hand;
        for (int i = 0; i < 4; ++i) {
            const double t = arc.startAngle + arc.sweep * (0.08 + 0.28 * i);
            hand.push_back(centre + radius * Vec2(std::cos(t), std::sin(t)) +
                           1.0 * Vec2(gauss(random), gauss(random)));
        }
        ++tried;
        const auto f = fit::fitRim(image, hand, false, {4.0, 1.0, 4});
        if (!f) {
            ++refused;
            why += f.error().sentence() + " ";
            continue;
        }
        std::vector<Vec2> found;
        std::vector<double> weights;
        for (const auto& p : f->points) {
            const double d = geometry::distance(arc, p.px);
            worst = std::max(worst, std::abs(d));
            covered += std::abs(d) < 2.0 * p.sigma_px;
            ++points;
            found.push_back(p.px);
            weights.push_back(1.0 / (p.sigma_px * p.sigma_px));
        }
        if (const auto c = fit::fitCircle(found, weights)) {
            ++radii;
            near += std::abs(c->shape(0, 0) - radius) < 0.1 * radius;
        }
    }
    INFO("refused " << refused << " of " << tried << " (" << why << "), worst " << worst << " px, covered "
                    << 1.0 * covered / points << ", radius within a tenth " << near << " of " << radii);
    CHECK(refused <= 0.1 * tried);
    CHECK(covered >= 0.92 * points);
    CHECK(near >= 0.9 * radii);
}
