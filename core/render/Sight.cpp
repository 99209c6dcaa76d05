// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/render/Sight.h"

#include <array>
#include <cmath>
#include <limits>
#include <numbers>

namespace trammel::render {
namespace {

using survey::FeatureKind;

/// A surface as the eye tells it apart.
struct Seen {
    int solid = -2, face = 0, piece = 0;
    double distance = 0.0;
    bool sameFace(const Seen& o) const { return solid == o.solid && face == o.face; }
    bool samePiece(const Seen& o) const { return sameFace(o) && piece == o.piece; }
};

constexpr double kGrace_mm = 0.05;    // a ray that grazes its own edge may pass it by this much
constexpr double kOwnDepth_mm = 3.0;  // a side belongs to the feature when it lies about as far away

class Eye {
  public:
    Eye(const Scene& scene, const SceneCamera& camera, const SightOptions& options)
        : solids_(scene.solids),
          camera_(camera),
          options_(options),
          world_(scene, camera),
          k_(constantsOf(scene, camera)),
          pose_(poseOf(camera)),
          centre_(pose_.centre()) {}

    std::optional<Vec2> project(const Vec3& x) const { return camera::project(k_, pose_, x); }

    bool inPicture(const Vec2& px) const {
        const double m = options_.margin_px;
        const Vec2 p = px - Vec2(camera_.cropX, camera_.cropY);
        return p.x() > m && p.y() > m && p.x() < camera_.cropWidth - 1 - m &&
               p.y() < camera_.cropHeight - 1 - m;
    }

    Seen at(const Vec2& px) const {
        const auto ray = camera::rayDirection(k_, px);
        if (!ray) return {};
        const auto hit = world_.cast({centre_, pose_.R.transpose() * *ray});
        if (!hit) return {};
        return {hit->solid, static_cast<int>(hit->face), hit->surface, hit->distance};
    }

    bool reached(const Vec3& x) const {
        const Vec3 d = x - centre_;
        const auto hit = world_.cast({centre_, d.normalized()});
        return !hit || hit->distance > d.norm() - kGrace_mm;
    }

    double rimSlant(const Vec3& x) const { return std::abs((x - centre_).normalized().z()); }
    double distanceTo(const Vec3& x) const { return (x - centre_).norm(); }
    double clear() const { return options_.clear_px; }
    bool levelIsTop(const SceneFeature& f) const {
        const Solid& solid = solidOf(f);
        return f.point.z() > 0.5 * (solid.top + solid.bottom);
    }
    Vec3 twinOf(const SceneFeature& f) const {
        return {f.point.x(), f.point.y(), levelIsTop(f) ? solidOf(f).bottom : solidOf(f).top};
    }

  private:
    const Solid& solidOf(const SceneFeature& f) const { return solids_[static_cast<std::size_t>(f.solid)]; }
    const std::vector<Solid>& solids_;
    const SceneCamera& camera_;
    const SightOptions& options_;
    World world_;
    camera::Constants k_;
    camera::Pose pose_;
    Vec3 centre_;
};

/// The surface on one side of an edge, if it is one surface as far as `reach`.
std::optional<Seen> side(const Eye& eye, const Vec2& px, const Vec2& step, double reach) {
    const Seen first = eye.at(px + 0.3 * step);
    for (const double d : {0.6, 1.0, 1.6, 2.3, 3.0, 3.8, 4.5, 6.0, 8.0}) {
        if (d > reach + 1e-9) break;
        if (!eye.at(px + d * step).sameFace(first)) return std::nullopt;
    }
    return first;
}

/// A surface of the feature's own solid that borders on it: a wall close by, or the face in its level.
bool own(const Eye& eye, const Seen& s, const SceneFeature& f, const Vec3& x) {
    if (s.solid != f.solid || std::abs(s.distance - eye.distanceTo(x)) > kOwnDepth_mm) return false;
    const bool faceAbove = eye.levelIsTop(f),
               wall = s.face == static_cast<int>(Face::Wall) || s.face == static_cast<int>(Face::Inside);
    return wall || s.face == static_cast<int>(faceAbove ? Face::Top : Face::Bottom);
}

bool isRing(const SceneFeature& f) {
    return f.kind == FeatureKind::Hole || f.kind == FeatureKind::Slot || f.kind == FeatureKind::Curve;
}

/// Whether the edge or rim is a clear change of surface at fraction s. Within a hole only the first pixel
/// counts: what lies behind may be its wall or anything beneath.
bool clearAt(const Eye& eye, const SceneFeature& f, double s) {
    const OnFeature on = along(f, s);
    const auto px = eye.project(on.point), ahead = eye.project(on.point + 0.05 * on.tangent);
    if (!px || !ahead || !eye.inPicture(*px) || !eye.reached(on.point)) return false;
    const Vec2 t = (*ahead - *px).normalized();
    Vec2 n(-t.y(), t.x());
    if (isRing(f)) {  // n points to the outer side
        const auto out = eye.project(on.point + 0.05 * Vec3(on.tangent.y(), -on.tangent.x(), 0.0));
        if (out && n.dot(*out - *px) < 0.0) n = -n;
        const auto plate = side(eye, *px, n, eye.clear());
        const Seen within = eye.at(*px - 0.6 * n);
        return plate && own(eye, *plate, f, on.point) && !within.sameFace(*plate);
    }
    const auto a = side(eye, *px, n, eye.clear()), b = side(eye, *px, -n, eye.clear());
    return a && b && !a->sameFace(*b) && (own(eye, *a, f, on.point) || own(eye, *b, f, on.point));
}

/// Directions (rad) at which the surface changes on a ring around the corner; empty when the owner is absent.
std::vector<double> changesOnRing(const Eye& eye, const SceneFeature& f, const Vec2& px, double radius) {
    constexpr int kRays = 48;
    std::array<Seen, kRays> seen;
    bool owner = false;
    for (int i = 0; i < kRays; ++i) {
        const double angle = 2 * std::numbers::pi * (i + 0.37) / kRays;
        seen[i] = eye.at(px + radius * Vec2(std::cos(angle), std::sin(angle)));
        owner = owner || own(eye, seen[i], f, f.point);
    }
    // A sliver that only one ray of the ring meets is too thin to be seen.
    for (int i = 0; i < kRays; ++i) {
        const Seen &before = seen[(i + kRays - 1) % kRays], &after = seen[(i + 1) % kRays];
        if (!seen[i].samePiece(before) && !seen[i].samePiece(after)) seen[i] = before;
    }
    std::vector<double> changes;
    for (int i = 0; i < kRays && owner; ++i)
        if (!seen[i].samePiece(seen[(i + 1) % kRays]))
            changes.push_back(2 * std::numbers::pi * (i + 0.87) / kRays);
    return changes;
}

/// The corner at the other end of the same upright is nearer and falls on the same place in the picture.
bool hidesBehindTwin(const Eye& eye, const SceneFeature& f, const Vec2& px) {
    const Vec3 twin = eye.twinOf(f);
    const auto other = eye.project(twin);
    return other && (*other - px).norm() < eye.clear() && eye.distanceTo(twin) < eye.distanceTo(f.point);
}

bool cornerClear(const Eye& eye, const SceneFeature& f) {
    const auto px = eye.project(f.point);
    if (!px || !eye.inPicture(*px) || !eye.reached(f.point) || hidesBehindTwin(eye, f, *px)) return false;
    const auto inner = changesOnRing(eye, f, *px, 2.0), outer = changesOnRing(eye, f, *px, eye.clear());
    if (f.painted) return inner.size() >= 2;
    if (inner.size() < 2 || inner.size() != outer.size()) return false;
    for (std::size_t i = 0; i < inner.size(); ++i)
        if (std::abs(inner[i] - outer[i]) > 0.5) return false;  // another edge comes in between
    if (inner.size() > 2) return true;
    const double turn = std::abs(inner[1] - inner[0]);
    return std::abs(turn - std::numbers::pi) > 0.35;
}

/// The longest run of neighbouring samples that are clear.
std::vector<double> longestRun(const std::vector<double>& s, const std::vector<bool>& clear) {
    std::vector<double> best, run;
    for (std::size_t i = 0; i < s.size(); ++i) {
        if (clear[i])
            run.push_back(s[i]);
        else
            run.clear();
        if (run.size() > best.size()) best = run;
    }
    return best;
}

std::vector<double> lookAlong(const Eye& eye, const SceneFeature& f, const SightOptions& options) {
    constexpr int kSamples = 60;
    std::vector<double> s, all;
    std::vector<bool> clear;
    for (int i = 0; i < kSamples; ++i) {
        s.push_back((i + 0.5) / kSamples);
        clear.push_back(clearAt(eye, f, s.back()));
        if (clear.back()) all.push_back(s.back());
    }
    if (f.kind == FeatureKind::Edge) {
        const auto run = longestRun(s, clear);
        if (run.size() < 4) return {};
        const auto a = eye.project(along(f, run.front()).point), b = eye.project(along(f, run.back()).point);
        return (*a - *b).norm() >= options.shortest_px ? run : std::vector<double>{};
    }
    const bool enough = static_cast<double>(all.size()) >= options.leastRimPart * kSamples;
    return enough && eye.rimSlant(f.point) > options.flattestRim ? all : std::vector<double>{};
}

}  // namespace

std::vector<Sighting> sightings(const Scene& scene, const SightOptions& options) {
    std::vector<Sighting> out;
    for (std::size_t c = 0; c < scene.cameras.size(); ++c) {
        const Eye eye(scene, scene.cameras[c], options);
        for (std::size_t i = 0; i < scene.features.size(); ++i) {
            const SceneFeature& f = scene.features[i];
            Sighting sighting{static_cast<int>(c), static_cast<int>(i), {}};
            if (f.kind != FeatureKind::Corner)
                sighting.where = lookAlong(eye, f, options);
            else if (cornerClear(eye, f))
                sighting.where = {0.0};
            if (!sighting.where.empty()) out.push_back(sighting);
        }
    }
    return out;
}

Vec2 pictureOf(const Scene& scene, const SceneCamera& camera, const Vec3& point) {
    const auto px = camera::project(constantsOf(scene, camera), poseOf(camera), point);
    if (!px) return Vec2::Constant(std::numeric_limits<double>::quiet_NaN());
    return *px - Vec2(camera.cropX, camera.cropY);
}

}  // namespace trammel::render
