// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/render/Scene.h"

#include <Eigen/Geometry>
#include <cmath>
#include <numbers>

#include "core/math/Rotation.h"

namespace trammel::render {
namespace {

bool heldUpright(const SceneCamera& camera) { return camera.orientation >= 5; }

/// Camera standing at azimuth and off-axis angle, looking at the aim, its x axis level.
Mat3 obliqueRotation(double azimuth, double offAxis) {
    const Vec3 towards(std::sin(offAxis) * std::cos(azimuth), std::sin(offAxis) * std::sin(azimuth),
                       std::cos(offAxis));
    Mat3 r;
    const Vec3 forward = -towards;
    const Vec3 right = forward.cross(Vec3::UnitZ()).normalized();
    r.row(0) = right;
    r.row(1) = forward.cross(right);
    r.row(2) = forward;
    return r;
}

}  // namespace

namespace {

/// Anticlockwise from the beginning of the side on the right of from → to.
OnFeature alongSlot(const SceneFeature& f, double s) {
    const Vec3 run = f.to - f.from, u = run.normalized(), n(-u.y(), u.x(), 0.0);
    const double side = run.norm(), end = std::numbers::pi * f.radius;
    double at = s * 2.0 * (side + end);
    if (at < side) return {f.from + at * u - f.radius * n, u};
    at -= side;
    const auto round = [&](const Vec3& centre, const Vec3& start, double angle) -> OnFeature {
        const Vec3 across(-start.y(), start.x(), 0.0);
        const Vec3 out = std::cos(angle) * start + std::sin(angle) * across;
        return {centre + f.radius * out, Vec3(-out.y(), out.x(), 0.0)};
    };
    if (at < end) return round(f.to, -n, at / f.radius);
    at -= end;
    if (at < side) return {f.to - at * u + f.radius * n, -u};
    return round(f.from, n, (at - side) / f.radius);
}

/// By length.
OnFeature alongCourse(const SceneFeature& f, double s) {
    const std::size_t n = f.course.size();
    const auto length = [&](std::size_t i) { return (f.course[(i + 1) % n] - f.course[i]).norm(); };
    double whole = 0.0;
    for (std::size_t i = 0; i < n; ++i) whole += length(i);
    double left = (s - std::floor(s)) * whole;
    std::size_t i = 0;
    while (i + 1 < n && left > length(i)) left -= length(i++);
    const Vec3 u = (f.course[(i + 1) % n] - f.course[i]).normalized();
    return {f.course[i] + left * u, u};
}

}  // namespace

OnFeature along(const SceneFeature& feature, double s) {
    if (feature.kind == survey::FeatureKind::Slot) return alongSlot(feature, s);
    if (feature.kind == survey::FeatureKind::Curve) return alongCourse(feature, s);
    if (feature.kind == survey::FeatureKind::Edge)
        return {feature.from + s * (feature.to - feature.from), (feature.to - feature.from).normalized()};
    if (feature.kind == survey::FeatureKind::Corner) return {feature.point, Vec3::UnitX()};
    const double angle = feature.startAngle + s * feature.sweep;
    const Vec3 outward(std::cos(angle), std::sin(angle), 0.0);
    return {feature.point + feature.radius * outward, Vec3(-outward.y(), outward.x(), 0.0)};
}

camera::Pose poseOf(const SceneCamera& camera) {
    const Mat3 square = camera.view == survey::View::Oblique ? obliqueRotation(camera.azimuth, camera.offAxis)
                                                             : survey::squareRotation(camera.view);
    camera::Pose pose;
    pose.R = rotationExp(Vec3(0, 0, camera.roll)) * rotationExp(Vec3(0, camera.tiltY, 0)) *
             rotationExp(Vec3(camera.tiltX, 0, 0)) * square;
    const Vec3 centre = camera.aim - camera.standOff_mm * pose.R.row(2).transpose();
    pose.t = -pose.R * centre;
    return pose;
}

FrameSize frameOf(const Scene& scene, const SceneCamera& camera) {
    const SceneLens& lens = scene.lenses[static_cast<std::size_t>(camera.lens)];
    if (heldUpright(camera)) return {lens.frameHeight, lens.frameWidth};
    return {lens.frameWidth, lens.frameHeight};
}

camera::Constants constantsOf(const Scene& scene, const SceneCamera& camera) {
    const SceneLens& lens = scene.lenses[static_cast<std::size_t>(camera.lens)];
    camera::Constants k = lens.truth;
    const Vec2 centre(0.5 * (lens.frameWidth - 1), 0.5 * (lens.frameHeight - 1));
    const Vec2 off = k.pp - centre;
    const FrameSize frame = frameOf(scene, camera);
    const Vec2 uprightCentre(0.5 * (frame.width - 1), 0.5 * (frame.height - 1));
    Vec2 turned = off;  // orientation 6: stored x runs down the upright picture, stored y to its left
    if (camera.orientation == 3) turned = -off;
    if (camera.orientation == 6) turned = Vec2(-off.y(), off.x());
    if (camera.orientation == 8) turned = Vec2(off.y(), -off.x());
    k.pp = uprightCentre + turned;
    return k;
}

std::optional<int> featureIndex(const Scene& scene, const std::string& name) {
    for (std::size_t i = 0; i < scene.features.size(); ++i)
        if (scene.features[i].name == name) return static_cast<int>(i);
    return std::nullopt;
}

}  // namespace trammel::render
