// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/render/Prism.h"

#include <algorithm>
#include <cmath>

namespace trammel::render {
namespace {

double cross(const Vec2& a, const Vec2& b) { return a.x() * b.y() - a.y() * b.x(); }

/// 1 / direction; a component of nought becomes a huge number, never an infinity that could give NaN.
Vec3 inverseOf(const Ray& ray) {
    const auto one = [](double d) { return 1.0 / (std::abs(d) > 1e-150 ? d : 1e-150); };
    return {one(ray.direction.x()), one(ray.direction.y()), one(ray.direction.z())};
}

constexpr double kNearest = 1e-6;  // mm: a ray never meets what it starts on

}  // namespace

Prism::Prism(const Solid& solid, int index) : index_(index), bottom_(solid.bottom), top_(solid.top) {
    addLoop(solid.outline, false);
    const Loop& outline = loops_.front();
    low_ = Vec3(outline.low.x(), outline.low.y(), bottom_);
    high_ = Vec3(outline.high.x(), outline.high.y(), top_);
    for (const Opening& opening : solid.openings) {
        if (opening.circle)
            addCircle(*opening.circle);
        else
            addLoop(opening.chain, true);
    }
}

void Prism::addLoop(const geometry::Chain& chain, bool inside) {
    Loop loop;
    loop.first = walls_.size();
    loop.count = chain.vertices.size();
    const geometry::Bounds box = geometry::bounds(chain);
    loop.low = box.low;
    loop.high = box.high;
    for (std::size_t i = 0; i < chain.vertices.size(); ++i) {
        const geometry::Vertex& v = chain.vertices[i];
        Wall wall;
        wall.inside = inside;
        wall.a = v.point;
        wall.b = chain.vertices[(i + 1) % chain.vertices.size()].point;
        wall.bulge = v.bulge;
        wall.arc = v.bulge != 0.0;
        if (wall.arc) {
            const geometry::Circle circle = geometry::arcOf(wall.a, wall.b, v.bulge);
            wall.centre = circle.centre;
            wall.radius = circle.radius;
        }
        walls_.push_back(wall);
    }
    loops_.push_back(loop);
}

void Prism::addCircle(const geometry::Circle& circle) {
    Wall wall;
    wall.arc = wall.full = wall.inside = true;
    wall.centre = circle.centre;
    wall.radius = circle.radius;
    const Vec2 reach(circle.radius, circle.radius);
    loops_.push_back({walls_.size(), 1, circle.centre - reach, circle.centre + reach});
    walls_.push_back(wall);
}

bool Prism::missesBox(const Ray& ray, const Vec3& inverse, double limit) const {
    const Vec3 t1 = (low_ - ray.origin).cwiseProduct(inverse),
               t2 = (high_ - ray.origin).cwiseProduct(inverse);
    const double enter = std::max(0.0, t1.cwiseMin(t2).maxCoeff());
    const double leave = std::min(limit, t1.cwiseMax(t2).minCoeff());
    return enter > leave + 1e-9;
}

// The arc lies to the right of its chord a → b when it runs anticlockwise, to the left otherwise.
bool Prism::onArcSide(const Wall& wall, const Vec2& p) {
    if (wall.full) return true;
    const double side = cross(wall.b - wall.a, p - wall.a);
    return wall.bulge > 0.0 ? side <= 0.0 : side >= 0.0;
}

// Even-odd over the chords, flipped once for every circular segment that holds the point.
bool Prism::inLoop(const Loop& loop, const Vec2& p) const {
    if ((p.array() < loop.low.array()).any() || (p.array() > loop.high.array()).any()) return false;
    bool inside = false;
    for (std::size_t i = loop.first; i < loop.first + loop.count; ++i) {
        const Wall& w = walls_[i];
        if (!w.full && (w.a.y() > p.y()) != (w.b.y() > p.y())) {
            const double x = w.a.x() + (p.y() - w.a.y()) / (w.b.y() - w.a.y()) * (w.b.x() - w.a.x());
            if (x > p.x()) inside = !inside;
        }
        if (w.arc && (p - w.centre).squaredNorm() < w.radius * w.radius && onArcSide(w, p)) inside = !inside;
    }
    return inside;
}

bool Prism::inFace(const Vec2& p) const {
    if (!inLoop(loops_.front(), p)) return false;
    for (std::size_t i = 1; i < loops_.size(); ++i)
        if (inLoop(loops_[i], p)) return false;
    return true;
}

void Prism::meetFaces(const Ray& ray, Hit& best, bool& found) const {
    if (std::abs(ray.direction.z()) < 1e-15) return;
    for (const bool top : {true, false}) {
        const double t = ((top ? top_ : bottom_) - ray.origin.z()) / ray.direction.z();
        if (t < kNearest || t >= best.distance) continue;
        const Vec3 point = ray.origin + t * ray.direction;
        if (!inFace(point.head<2>())) continue;
        best = {t, index_, top ? Face::Top : Face::Bottom, top ? 0 : 1, Vec3(0, 0, top ? 1 : -1), point};
        found = true;
    }
}

void Prism::meetStraight(const Ray& ray, std::size_t i, Hit& best, bool& found) const {
    const Wall& w = walls_[i];
    const Vec2 o = ray.origin.head<2>(), d = ray.direction.head<2>(), e = w.b - w.a;
    const double den = cross(d, e);
    if (std::abs(den) < 1e-15) return;
    const double t = cross(w.a - o, e) / den, s = cross(w.a - o, d) / den;
    if (t < kNearest || t >= best.distance || s < 0.0 || s > 1.0) return;
    const Vec3 point = ray.origin + t * ray.direction;
    if (point.z() < bottom_ || point.z() > top_) return;
    const Vec2 n = Vec2(e.y(), -e.x()).normalized();
    best = {
        t,    index_, w.inside ? Face::Inside : Face::Wall, 2 + static_cast<int>(i), Vec3(n.x(), n.y(), 0),
        point};
    found = true;
}

void Prism::meetRound(const Ray& ray, std::size_t i, Hit& best, bool& found) const {
    const Wall& w = walls_[i];
    const Vec2 o = ray.origin.head<2>() - w.centre, d = ray.direction.head<2>();
    const double a = d.squaredNorm(), b = o.dot(d), c = o.squaredNorm() - w.radius * w.radius;
    const double inner = b * b - a * c;
    if (a < 1e-30 || inner < 0.0) return;
    for (const double sign : {-1.0, 1.0}) {
        const double t = (-b + sign * std::sqrt(inner)) / a;
        if (t < kNearest || t >= best.distance) continue;
        const Vec3 point = ray.origin + t * ray.direction;
        if (point.z() < bottom_ || point.z() > top_ || !onArcSide(w, point.head<2>())) continue;
        const Vec2 n = (point.head<2>() - w.centre) / w.radius;
        best = {t,
                index_,
                w.inside ? Face::Inside : Face::Wall,
                2 + static_cast<int>(i),
                Vec3(n.x(), n.y(), 0),
                point};
        found = true;
    }
}

std::optional<Hit> Prism::meet(const Ray& ray, double limit) const {
    Hit best;
    best.distance = limit;
    bool found = false;
    meetFaces(ray, best, found);
    // From above or below nothing of this solid can come before the face that the ray meets from outside.
    const bool first = found && ((best.face == Face::Top && ray.origin.z() > top_) ||
                                 (best.face == Face::Bottom && ray.origin.z() < bottom_));
    for (std::size_t i = 0; i < walls_.size() && !first; ++i) {
        if (walls_[i].arc)
            meetRound(ray, i, best, found);
        else
            meetStraight(ray, i, best, found);
    }
    if (!found) return std::nullopt;
    if (best.normal.dot(ray.direction) > 0.0) best.normal = -best.normal;
    return best;
}

World::World(const Scene& scene, const SceneCamera& camera) : backdrop_(camera.backdrop) {
    for (std::size_t i = 0; i < scene.solids.size(); ++i) {
        const Solid& solid = scene.solids[i];
        const bool shown = solid.onlyIn.empty() || std::find(solid.onlyIn.begin(), solid.onlyIn.end(),
                                                             camera.name) != solid.onlyIn.end();
        if (shown) prisms_.emplace_back(solid, static_cast<int>(i));
    }
}

std::optional<Hit> World::cast(const Ray& ray) const {
    std::optional<Hit> best;
    double limit = 1e9;
    const double slope = backdrop_.normal.dot(ray.direction);
    if (std::abs(slope) > 1e-12) {
        const double t = (backdrop_.offset - backdrop_.normal.dot(ray.origin)) / slope;
        if (t > 0.0) {
            Hit hit;
            hit.distance = limit = t;
            hit.normal = slope > 0.0 ? Vec3(-backdrop_.normal) : backdrop_.normal;
            hit.point = ray.origin + t * ray.direction;
            best = hit;
        }
    }
    const Vec3 inverse = inverseOf(ray);
    for (const Prism& prism : prisms_) {
        if (prism.missesBox(ray, inverse, limit)) continue;
        if (const auto hit = prism.meet(ray, limit)) {
            best = hit;
            limit = hit->distance;
        }
    }
    return best;
}

bool World::blocked(const Ray& ray) const {
    constexpr double kFar = 1e9;
    const Vec3 inverse = inverseOf(ray);
    for (const Prism& prism : prisms_)
        if (!prism.missesBox(ray, inverse, kFar) && prism.meet(ray, kFar)) return true;
    return false;
}

}  // namespace trammel::render
