// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/render/Surface.h"

#include <Eigen/Geometry>

#include <algorithm>
#include <cmath>
#include <cstdint>

namespace trammel::render {
namespace {

constexpr double kLightRadius = 0.075;  // of the disc, as seen from the part, rad
constexpr double kLift = 1e-4;          // mm: shadows start just above the surface

/// Scrambled bits of a lattice point as a number in 0..1.
double lattice(int x, int y, int salt) {
    std::uint32_t h = static_cast<std::uint32_t>(x) * 0x8da6b343u ^
                      static_cast<std::uint32_t>(y) * 0xd8163841u ^
                      static_cast<std::uint32_t>(salt) * 0xcb1ab31fu;
    h ^= h >> 15;
    h *= 0x2c1b3c6du;
    h ^= h >> 12;
    h *= 0x297a2d39u;
    h ^= h >> 15;
    return h / 4294967295.0;
}

/// Smooth noise in -1..1 with features of about 1 in the units of x and y.
double grain(double x, double y, int salt) {
    const double fx = std::floor(x), fy = std::floor(y);
    const int ix = static_cast<int>(fx), iy = static_cast<int>(fy);
    const auto ease = [](double t) { return t * t * (3 - 2 * t); };
    const double u = ease(x - fx), v = ease(y - fy);
    const double low = lattice(ix, iy, salt) * (1 - u) + lattice(ix + 1, iy, salt) * u;
    const double high = lattice(ix, iy + 1, salt) * (1 - u) + lattice(ix + 1, iy + 1, salt) * u;
    return 2 * (low * (1 - v) + high * v) - 1;
}

/// Coordinates on the surface, mm: along and up on a wall, x and y on a face.
Vec2 unrolled(const Hit& hit) {
    if (hit.face == Face::Top || hit.face == Face::Bottom) return hit.point.head<2>();
    return {hit.point.y() * hit.normal.x() - hit.point.x() * hit.normal.y(), hit.point.z()};
}

double brightness(Texture texture, const Vec2& p, int salt) {
    switch (texture) {
        case Texture::Plain:
            return 1.0 + 0.015 * grain(p.x() / 0.8, p.y() / 0.8, salt);
        case Texture::SolderMask:
            return 1.0 + 0.05 * grain(p.x() / 0.45, p.y() / 0.45, salt) +
                   0.06 * grain(p.x() / 7, p.y() / 7, salt + 1);
        case Texture::Metal:
            return 1.0 + 0.05 * grain(p.x() / 6, p.y() / 0.35, salt) +
                   0.04 * grain(p.x() / 12, p.y() / 12, salt + 1);
        case Texture::Plastic:
            return 1.0 + 0.02 * grain(p.x() / 0.4, p.y() / 0.4, salt) +
                   0.02 * grain(p.x() / 5, p.y() / 5, salt + 1);
        case Texture::Print:
            return 1.0 + 0.01 * grain(p.x() / 1.2, p.y() / 1.2, salt);
        case Texture::Rule:
            return 1.0 + 0.03 * grain(p.x() / 8, p.y() / 0.4, salt);
    }
    return 1.0;
}

double toSegment(const Vec2& p, const Vec2& a, const Vec2& b) {
    const Vec2 d = b - a;
    const double s = std::clamp((p - a).dot(d) / d.squaredNorm(), 0.0, 1.0);
    return (p - a - s * d).squaredNorm();
}

bool covers(const Paint& paint, const Vec2& p) {
    if (paint.line.empty()) {
        const double r = (p - paint.centre).norm();
        return r > paint.inner && r < paint.outer;
    }
    const double reach = 0.25 * paint.width * paint.width;
    for (std::size_t i = 1; i < paint.line.size(); ++i)
        if (toSegment(p, paint.line[i - 1], paint.line[i]) < reach) return true;
    return false;
}

/// Lines of 0.18 mm, longer at every fifth and tenth.
bool onGraduation(const Graduations& g, const Vec2& p) {
    const Vec2 run = g.to - g.from;
    const Vec2 u = run.normalized(), right(u.y(), -u.x());
    const double step = run.norm() / g.count, along = (p - g.from).dot(u), depth = (p - g.from).dot(right);
    const int nearest = static_cast<int>(std::lround(along / step));
    if (nearest < 0 || nearest > g.count || std::abs(along - nearest * step) > 0.09) return false;
    return depth < (nearest % 10 == 0 ? 9.0 : nearest % 5 == 0 ? 6.5 : 4.5);
}

bool onChecker(const Checker& c, const Vec2& p) {
    const double x = (p.x() - c.corner.x()) / c.pitchX, y = (c.corner.y() - p.y()) / c.pitchY;
    if (x < 0.0 || y < 0.0 || x >= c.columns || y >= c.rows) return false;
    const int column = static_cast<int>(x), row = static_cast<int>(y);
    const bool dark = ((column + row) & 1) == 0;
    const auto n = static_cast<std::size_t>(row * c.columns + column);
    if (n >= c.dots.size() || !c.dots[n]) return dark;
    const Vec2 off((x - column - 0.5) * c.pitchX, (y - row - 0.5) * c.pitchY);
    return (off.norm() < 0.5 * c.dotDiameter) != dark;
}

}  // namespace

Shader::Shader(const Scene& scene, const SceneCamera& camera, bool texture)
    : scene_(scene), camera_(camera), world_(scene, camera), texture_(texture) {
    const Mat3 r = poseOf(camera).R;
    const Vec3 towards = Vec3(-0.45, -0.62, -0.64).normalized();
    const Vec3 across = towards.unitOrthogonal(), up = towards.cross(across);
    for (std::size_t i = 0; i < keys_.size(); ++i) {  // a spiral of equal areas; neighbours lie far apart
        const double radius = kLightRadius * std::sqrt((i + 0.5) / keys_.size()), angle = 2.39996323 * i;
        const Vec3 point = towards + radius * (std::cos(angle) * across + std::sin(angle) * up);
        keys_[i] = r.transpose() * point.normalized();
    }
    axis_ = r.row(2);
}

Vec3 Shader::ownColour(const Hit& hit, int& mark) const {
    if (hit.solid < 0) {
        const Vec3 across = hit.normal.unitOrthogonal(), up = hit.normal.cross(across);
        const Vec2 cloth(hit.point.dot(across) / 0.9, hit.point.dot(up) / 0.9);
        return (texture_ ? 1.0 + 0.10 * grain(cloth.x(), cloth.y(), 5) : 1.0) * camera_.backdrop.colour;
    }
    const Solid& solid = scene_.solids[static_cast<std::size_t>(hit.solid)];
    Vec3 colour = hit.face == Face::Wall     ? solid.wallColour
                  : hit.face == Face::Inside ? solid.insideColour
                                             : solid.colour;
    const Vec2 at = hit.point.head<2>();
    if (hit.face == Face::Top) {
        for (std::size_t i = 0; i < solid.paint.size(); ++i)
            if (covers(solid.paint[i], at)) {
                colour = solid.paint[i].colour;
                mark = static_cast<int>(i) + 2;
            }
        if (solid.checker && onChecker(*solid.checker, at)) {
            colour = solid.checker->colour;
            mark = 500;
        }
        if (solid.graduations && onGraduation(*solid.graduations, at)) {
            colour = Vec3(0.03, 0.03, 0.03);
            mark = 1;
        }
    }
    return texture_ ? Vec3(brightness(solid.texture, unrolled(hit), hit.solid * 7 + hit.surface) * colour)
                    : colour;
}

double Shader::keyLight(const Hit& hit, int number) const {
    double light = 0.0;
    for (const int i : {number & 3, (number & 3) + 4}) {
        const Vec3& key = keys_[static_cast<std::size_t>(i)];
        const double facing = hit.normal.dot(key);
        if (facing > 0.0 && !world_.blocked({hit.point + kLift * hit.normal, key})) light += 0.5 * facing;
    }
    return light;
}

Look Shader::look(const Ray& ray, int number) const {
    const auto hit = world_.cast(ray);
    if (!hit) return {Vec3::Zero(), -1};
    int mark = 0;
    const Vec3 colour = ownColour(*hit, mark);
    const double sky = 0.55 + 0.45 * std::max(0.0, -hit->normal.dot(axis_));  // less on turned-away faces
    const double light = 0.46 * sky + 0.66 * keyLight(*hit, number);
    return {light * colour, (hit->solid + 1) * 65536 + hit->surface * 512 + mark};
}

}  // namespace trammel::render
