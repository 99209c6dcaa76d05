// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <Eigen/Geometry>
#include <cmath>
#include <functional>
#include <map>
#include <numbers>
#include <random>

#include "core/camera/Camera.h"
#include "core/math/Rotation.h"
#include "core/survey/Survey.h"

/// An invented bracket of every kind of feature, photographed by exact formulas from seven directions: flat
/// base, a shelf that tilts, a lid that bows, a slot, a free curve, an edge and a hole that lie in no level.
/// The truth is here in closed form; nothing of core/adjust is used to make it.
namespace trammel::test {

struct Bracket {
    using Course = std::function<Vec3(double)>;  ///< 0..1 along the feature

    survey::Survey survey;
    std::map<survey::Id, Course> truth;
    std::map<survey::Id, camera::Pose> poses;
    camera::Constants constants;
    double sigma_px = 0.2;

    static constexpr double kTiltX = 0.004, kTiltY = -0.002, kShelf = 8.0;  ///< shelf: mm/mm, mm
    static constexpr double kBow = 2e-5, kLid = 15.0;                       ///< lid: 1/mm, mm

    static double shelfZ(double x, double y) { return kShelf + kTiltX * (x - 50) + kTiltY * (y - 30); }
    static double lidZ(double x, double y) {
        return kLid + kBow * ((x - 50) * (x - 50) - (y - 30) * (y - 30));
    }

    explicit Bracket(double noise, unsigned seed) : random_(seed), noise_(noise) {
        constants.c = 30000;
        constants.pp = {2999.5, 1999.5};
        survey::CameraGroup g;
        g.id = "G1", g.focalLength_mm = 117, g.pixelPitch_mm = 0.0039;
        g.principalDistance = {29500, 3000, survey::ConstantMode::Prior};
        g.principalX = {2999.5, 0, survey::ConstantMode::Fixed};
        g.principalY = {1999.5, 0, survey::ConstantMode::Fixed};
        survey.groups.push_back(g);
        survey.title = "Invented bracket";
        survey.levels = {{"L1", "base", survey::LevelForm::Flat},
                         {"L2", "shelf", survey::LevelForm::Tilted},
                         {"L3", "lid", survey::LevelForm::Bowed}};
        survey.datum = {"L1", "F1", "F2"};
        build();
        photograph();
    }

    survey::Id add(const std::string& name, survey::FeatureKind kind, const survey::Id& level,
                   Course course) {
        const survey::Id id = "F" + std::to_string(survey.features.size() + 1);
        survey.features.push_back({id, name, kind, level});
        truth[id] = std::move(course);
        return id;
    }
    const survey::Id& id(const std::string& name) const {
        for (const auto& f : survey.features)
            if (f.name == name) return f.id;
        throw std::runtime_error("no " + name);
    }

  private:
    std::mt19937 random_;
    double noise_;

    using Height = double (*)(double, double);
    static double baseZ(double, double) { return 0.0; }

    static Course point(double x, double y, Height z) {
        return [=](double) { return Vec3(x, y, z(x, y)); };
    }
    static Course line(const Vec2& a, const Vec2& b, Height z) {
        return [=](double t) {
            const Vec2 p = a + t * (b - a);
            return Vec3(p.x(), p.y(), z(p.x(), p.y()));
        };
    }
    static Course circle(double x, double y, double r, Height z, double from = 0,
                         double sweep = 2 * std::numbers::pi) {
        return [=](double t) {
            const double a = from + sweep * t, px = x + r * std::cos(a), py = y + r * std::sin(a);
            return Vec3(px, py, z(px, py));
        };
    }
    static Course slot(const Vec2& a, const Vec2& b, double r, Height z) {
        return [=](double t) {
            const Vec2 u = (b - a).normalized(), n(-u.y(), u.x());
            const double side = (b - a).norm(), end = std::numbers::pi * r;
            double s = t * 2 * (side + end);
            Vec2 p;
            if (s < side)
                p = a + s * u - r * n;
            else if ((s -= side) < end)
                p = b + r * (std::sin(s / r) * u - std::cos(s / r) * n);
            else if ((s -= end) < side)
                p = b - s * u + r * n;
            else
                p = a + r * (-std::sin((s - side) / r) * u + std::cos((s - side) / r) * n);
            return Vec3(p.x(), p.y(), z(p.x(), p.y()));
        };
    }

    void build() {
        using K = survey::FeatureKind;
        int n = 0;
        add("origin", K::Hole, "L1", circle(0, 0, 3, baseZ));
        add("axis", K::Hole, "L1", circle(100, 0, 3, baseZ));
        for (const Vec2& p : {Vec2(0, 60), Vec2(100, 60), Vec2(30, 20), Vec2(70, 45)})
            add("base " + std::to_string(++n), K::Corner, "L1", point(p.x(), p.y(), baseZ));
        add("left", K::Edge, "L1", line({-6, -5}, {-6, 65}, baseZ));
        add("front", K::Edge, "L1", line({-6, -5}, {106, -5}, baseZ));
        add("rear", K::Edge, "L1", line({-6, 65}, {106, 65}, baseZ));
        n = 0;
        for (const Vec2& p : {Vec2(20, 10), Vec2(80, 10), Vec2(80, 50), Vec2(20, 50), Vec2(50, 30)})
            add("shelf " + std::to_string(++n), K::Corner, "L2", point(p.x(), p.y(), shelfZ));
        add("shelf edge", K::Edge, "L2", line({15, 8}, {85, 8}, shelfZ));
        add("slot", K::Slot, "L2", slot({35, 40}, {60, 44}, 4, shelfZ));
        add("fillet", K::Arc, "L2", circle(25, 45, 6, shelfZ, std::numbers::pi / 2, std::numbers::pi / 2));
        n = 0;
        for (const Vec2& p : {Vec2(10, 5), Vec2(90, 5), Vec2(90, 55), Vec2(10, 55), Vec2(50, 5), Vec2(50, 55),
                              Vec2(10, 30), Vec2(90, 30), Vec2(50, 30)})
            add("lid " + std::to_string(++n), K::Corner, "L3", point(p.x(), p.y(), lidZ));
        add("curve", K::Curve, "L1", [](double t) {  // an egg
            const double a = 2 * std::numbers::pi * t, r = 9 + 1.5 * std::cos(a);
            return Vec3(50 + r * std::cos(a), 20 + 0.8 * r * std::sin(a), 0);
        });
        add("ridge", K::Edge, "", [](double t) { return Vec3(10 + 80 * t, 12 + 30 * t, 4 + 9 * t); });
        add("bore", K::Hole, "", [](double t) {
            const double a = 2 * std::numbers::pi * t;
            const Vec3 up = Vec3(0.2, -0.4, 1).normalized(), e1 = up.unitOrthogonal(), e2 = up.cross(e1);
            return Vec3(Vec3(75, 25, 11) + 5 * (std::cos(a) * e1 + std::sin(a) * e2));
        });
        add("apex", K::Corner, "", [](double) { return Vec3(40, 33, 21); });
    }

    int pointsOf(survey::FeatureKind kind) const {
        using K = survey::FeatureKind;
        return kind == K::Corner  ? 1
               : kind == K::Edge  ? 6
               : kind == K::Slot  ? 24
               : kind == K::Curve ? 40
                                  : 12;
    }

    void photograph() {
        using survey::View;
        struct Shot {
            View view;
            Vec3 turn;  ///< rotation vector after the square view, rad
        };
        const std::vector<Shot> shots = {
            {View::Top, {0.004, -0.006, 0.01}},   {View::Top, {-0.003, 0.008, 1.55}},
            {View::Front, {0.006, 0.002, -0.01}}, {View::Right, {-0.005, 0.004, 0.01}},
            {View::Oblique, {0.5, 0.1, 0.05}},    {View::Oblique, {-0.1, -0.55, 0.2}},
            {View::Oblique, {-0.45, 0.3, 0.1}}};
        std::normal_distribution<double> gauss;
        for (const Shot& shot : shots) {
            survey::Station st;
            st.id = "S" + std::to_string(survey.stations.size() + 1);
            st.name = "view " + std::to_string(survey.stations.size() + 1);
            st.view = shot.view, st.group = "G1";
            st.photo = {"none.jpg", "", 6000, 4000, 1, {6000, 4000, 0, 0, true}};
            camera::Pose pose;
            pose.R = rotationExp(shot.turn) * survey::squareRotation(shot.view);
            pose.t = Vec3(1, -2, 1200) - pose.R * Vec3(50, 30, 8);
            survey.stations.push_back(st);
            poses[st.id] = pose;
            for (const survey::Feature& f : survey.features) {
                if (!visible(f, shot.view)) continue;
                survey::Mark m;
                m.id = "M" + std::to_string(survey.marks.size() + 1);
                m.station = st.id, m.feature = f.id;
                const int count = pointsOf(f.kind);
                for (int i = 0; i < count; ++i) {
                    const double t = f.kind == survey::FeatureKind::Edge || f.kind == survey::FeatureKind::Arc
                                         ? static_cast<double>(i) / (count - 1)
                                         : (i + 0.2) / count;
                    const Vec2 u = *camera::project(constants, pose, truth.at(f.id)(t));
                    m.points.push_back({u + noise_ * Vec2(gauss(random_), gauss(random_)), sigma_px});
                }
                survey.marks.push_back(m);
            }
        }
        const auto read = [&](const char* rid, const char* a, const char* b) {
            survey::Reading r;
            r.id = rid, r.objects = {id(a), id(b)};
            const double value = (truth.at(id(a))(0) - truth.at(id(b))(0)).norm();
            r.measured = {value + (noise_ > 0 ? 0.02 * gauss(random_) : 0.0), 0.02};
            survey.readings.push_back(r);
        };
        read("R1", "base 1", "base 2");
        read("R2", "base 3", "lid 3");
        read("R3", "base 4", "lid 1");
    }

    /// Rims and courses in a level are of no use edge on.
    static bool visible(const survey::Feature& f, survey::View view) {
        using survey::FeatureKind;
        const bool side = view == survey::View::Front || view == survey::View::Right;
        return !side || f.kind == FeatureKind::Corner || (f.kind == FeatureKind::Edge && f.name != "left");
    }
};

}  // namespace trammel::test
