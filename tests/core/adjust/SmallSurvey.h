// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <fmt/core.h>

#include <Eigen/Geometry>
#include <cmath>
#include <functional>
#include <string>
#include <vector>

#include "core/adjust/Adjust.h"

/// A part of two levels before three cameras, small enough to be adjusted thousands of times. Projected by a
/// plain pinhole that shares no code with the program.
namespace trammel::test {

/// Pinhole without distortion, square to no axis: x right, y down, looking from `eye` to `aim`.
struct Pinhole {
    std::string name;
    survey::View view = survey::View::Oblique;
    Vec3 eye = Vec3::Zero(), aim = Vec3::Zero();
    double c = 3000.0;
    Vec2 pp = Vec2(1500.0, 1000.0);

    Vec2 image(const Vec3& X) const {
        const Vec3 z = (aim - eye).normalized();
        const Vec3 up = std::abs(z.z()) > 0.999 ? Vec3(0, 1, 0) : Vec3(0, 0, 1);
        const Vec3 x = z.cross(up).normalized(), y = z.cross(x);
        const Vec3 d = X - eye;
        return pp + c / d.dot(z) * Vec2(d.dot(x), d.dot(y));
    }
};

class SmallSurvey {
  public:
    static constexpr double kStep = 12.0;  ///< mm, of the upper level "L2"
    static constexpr double kPost = 20.0;  ///< mm, of the level "L3", which `post` adds

    explicit SmallSurvey(double sigma_px) : sigma_px_(sigma_px) {
        using survey::FeatureKind;
        s_.levels = {{"L1", "plate"}, {"L2", "block"}};
        s_.groups.resize(1);
        s_.groups[0].id = "G1";
        s_.groups[0].name = "lens";
        s_.groups[0].principalDistance = {3000.0, 30.0, survey::ConstantMode::Prior};
        s_.groups[0].principalX.value = 1500.0;
        s_.groups[0].principalY.value = 1000.0;
        for (const Pinhole& camera : cameras()) {
            survey::Station st;
            st.id = fmt::format("S{}", s_.stations.size() + 1);
            st.name = camera.name;
            st.view = camera.view;
            st.photo.width = 3001;
            st.photo.height = 2001;
            st.group = "G1";
            st.squareSigma_rad = 0.0;
            s_.stations.push_back(st);
        }
        hole("origin", "L1", {0, 0}, 4);
        hole("far", "L1", {80, 0}, 4);
        hole("rear left", "L1", {0, 50}, 3);
        hole("rear right", "L1", {80, 50}, 3);
        edge("long side", {10, -12}, {70, -12});
        edge("cut side", {95, 5}, {85, 45});
        corner("A", "L2", {20, 15});
        corner("B", "L2", {60, 15});
        corner("C", "L2", {60, 38});
        corner("D", "L2", {20, 38});
        hole("boss", "L2", {40, 27}, 6);
        s_.datum = {"L1", "F1", "F2"};
        s_.readings = {
            {"R1", "rule", survey::Quantity::Distance, {"F1", "F2"}, {80.0, 0.05}, true, false, false},
            {"R2", "bore", survey::Quantity::Diameter, {"F11"}, {12.0, 0.03}, false, false, false}};
    }

    const survey::Survey& survey() const { return s_; }
    static std::vector<Pinhole> cameras() {
        return {{"top", survey::View::Top, {42, 24, 260}, {41, 25, 0}},
                {"oblique A", survey::View::Oblique, {-110, -120, 180}, {40, 25, 4}},
                {"oblique B", survey::View::Oblique, {200, -100, 170}, {42, 22, 4}}};
    }
    /// Id of the feature or level with this name.
    survey::Id id(const std::string& name) const {
        for (const auto& f : s_.features)
            if (f.name == name) return f.id;
        for (const auto& l : s_.levels)
            if (l.name == name) return l.id;
        throw std::runtime_error("no " + name);
    }

    /// Corners at the foot of the block, and a post beside it that is known to be kPost high.
    void post() {
        s_.levels.push_back({"L3", "post"});
        corner("A foot", "L1", {20, 15});
        corner("B foot", "L1", {60, 15});
        corner("C foot", "L1", {60, 38});
        corner("D foot", "L1", {20, 38});
        corner("post foot", "L1", {8, 40});
        corner("post head", "L3", {8, 40});
        s_.readings.push_back(
            {"R3", "post", survey::Quantity::Height, {"L3"}, {kPost, 0.01}, false, false, false});
    }
    /// Where a photograph shows a corner.
    static Vec2 seen(const survey::Survey& s, const std::string& station, const std::string& corner) {
        for (const auto& m : s.marks)
            if (find(s.stations, m.station)->name == station && find(s.features, m.feature)->name == corner)
                return m.points.front().px;
        throw std::runtime_error("no mark of " + corner);
    }

  private:
    double height(const survey::Id& level) const {
        return level == "L2" ? kStep : level == "L3" ? kPost : 0.0;
    }
    void feature(const std::string& name, survey::FeatureKind kind, const survey::Id& level,
                 const std::vector<Vec2>& points) {
        const survey::Id id = fmt::format("F{}", s_.features.size() + 1);
        s_.features.push_back({id, name, kind, level});
        for (std::size_t i = 0; i < s_.stations.size(); ++i) {
            survey::Mark m{fmt::format("M{}", s_.marks.size() + 1), s_.stations[i].id, id, {}};
            for (const Vec2& p : points)
                m.points.push_back({cameras()[i].image({p.x(), p.y(), height(level)}), sigma_px_});
            s_.marks.push_back(m);
        }
    }
    void hole(const std::string& name, const survey::Id& level, const Vec2& centre, double radius) {
        std::vector<Vec2> rim;
        for (int i = 0; i < 5; ++i)
            rim.push_back(centre +
                          radius * Eigen::Rotation2Dd(0.3 + 0.4 * M_PI * i).toRotationMatrix().col(0));
        feature(name, survey::FeatureKind::Hole, level, rim);
    }
    void edge(const std::string& name, const Vec2& a, const Vec2& b) {
        feature(name, survey::FeatureKind::Edge, "L1", {a, b});
    }
    void corner(const std::string& name, const survey::Id& level, const Vec2& at) {
        feature(name, survey::FeatureKind::Corner, level, {at});
    }

    survey::Survey s_;
    double sigma_px_;
};

}  // namespace trammel::test
