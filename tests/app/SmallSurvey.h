// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <fmt/core.h>
#include <Eigen/Geometry>
#include <cmath>
#include <random>

#include "MakePhotographs.h"
#include "TemporaryFolder.h"
#include "core/camera/Camera.h"
#include "core/photo/Decode.h"
#include "core/storage/SurveyFile.h"

/// An invented stepped part seen by five cameras, with marks computed from known places plus a little noise,
/// and photographs (of nothing) beside it: small, sound and quick to adjust.
namespace trammel::test {

class SmallSurvey {
  public:
    SmallSurvey() {
        survey_.title = "invented step";
        survey_.levels = {{"L1", "face"}, {"L2", "step"}};
        survey_.groups.resize(1);
        survey_.groups[0].id = "G1";
        survey_.groups[0].principalDistance = {kC, 0.1 * kC, survey::ConstantMode::Prior};
        survey_.groups[0].principalX = {299.5, 0.0, survey::ConstantMode::Fixed};
        survey_.groups[0].principalY = {199.5, 0.0, survey::ConstantMode::Fixed};
        addFeatures();
        addStation("S1", "top", survey::View::Top, Vec3(0, 0, 1));
        addStation("S2", "left slope", survey::View::Oblique, Vec3(-0.5, 0.1, 1));
        addStation("S3", "right slope", survey::View::Oblique, Vec3(0.5, 0.15, 1));
        addStation("S4", "front slope", survey::View::Oblique, Vec3(0.05, -0.6, 1));
        addStation("S5", "rear slope", survey::View::Oblique, Vec3(-0.1, 0.6, 1));
        addReadings();
        write();
    }

    survey::Survey& values() { return survey_; }
    const TemporaryFolder& folder() const { return folder_; }
    std::filesystem::path file() const { return folder_ / "part.trammel"; }
    std::filesystem::path photograph(const std::string& station) const {
        return folder_ / (station + ".jpg");
    }
    void write() {
        if (!storage::save(survey_, file())) std::abort();
    }

  private:
    static constexpr double kC = 5000.0, kDistance = 1000.0;

    void addFeatures() {
        // The face is 100 by 60 with a corner of the part at each end; the step stands 20 above it.
        const auto add = [this](double x, double y, bool high) {
            const std::size_t n = places_.size() + 1;
            survey_.features.push_back({fmt::format("F{}", n), fmt::format("P{}", n),
                                        survey::FeatureKind::Corner, high ? "L2" : "L1"});
            places_.push_back(Vec3(x, y, high ? 20.0 : 0.0));
        };
        add(0, 0, false), add(0, 60, false), add(50, 10, true), add(45, 50, true);
        add(100, 0, false), add(100, 60, false), add(80, 30, true), add(20, 30, true);
        survey_.datum = {"L1", "F1", "F5"};
    }

    camera::Pose lookFrom(const Vec3& direction) const {
        const Vec3 target(50, 30, 5), forward = -direction.normalized();
        camera::Pose pose;
        const Vec3 down = -(Vec3::UnitY() - forward * forward.y()).normalized();
        pose.R.row(0) = down.cross(forward);
        pose.R.row(1) = down;
        pose.R.row(2) = forward;
        pose.t = -pose.R * (target - forward * kDistance);
        return pose;
    }

    void addStation(const survey::Id& id, const std::string& name, survey::View view, const Vec3& direction) {
        const auto file = photograph(name);
        makeJpeg(file, 600, 400, 3,
                 [&](int x, int y, int c) { return texture(x / 9, y / 9, c + id.back()); });
        survey::Station st;
        st.id = id, st.name = name, st.view = view, st.group = "G1";
        st.photo = {file.filename().string(), *photo::contentHash(file), 600, 400, 1, {600, 400, 0, 0, true}};
        survey_.stations.push_back(st);
        const camera::Pose pose = lookFrom(direction);
        camera::Constants constants;
        constants.c = kC, constants.pp = Vec2(299.5, 199.5);
        for (std::size_t i = 0; i < places_.size(); ++i) {
            const auto px = camera::project(constants, pose, places_[i]);
            survey_.marks.push_back({fmt::format("M{}", survey_.marks.size() + 1),
                                     id,
                                     survey_.features[i].id,
                                     {{*px + 0.2 * Vec2(noise_(random_), noise_(random_)), 0.2}},
                                     survey::MarkOrigin::Hand,
                                     false});
        }
    }

    void addReadings() {
        survey_.readings = {
            {"R1", "length", survey::Quantity::Distance, {"F1", "F5"}, {100.01, 0.02}, true, false, false},
            {"R2", "width", survey::Quantity::Distance, {"F5", "F6"}, {59.99, 0.02}, false, false, false},
            {"R3", "step", survey::Quantity::Depth, {"L1", "L2"}, {20.02, 0.03}, false, false, false},
        };
        survey_.dimensions = {{"D1", "diagonal", survey::Quantity::Distance, {"F1", "F6"}, true},
                              {"D2", "step", survey::Quantity::Depth, {"L1", "L2"}, false}};
    }

    TemporaryFolder folder_;
    survey::Survey survey_;
    std::vector<Vec3> places_;
    std::mt19937 random_{3};
    std::normal_distribution<double> noise_{0.0, 1.0};
};

}  // namespace trammel::test
