// SPDX-License-Identifier: GPL-3.0-or-later
#include "Scene.h"

#include <fmt/core.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdlib>
#include <cstring>
#include <random>

#include "core/math/Rotation.h"

namespace trammel::bench {

using survey::ConstantMode;

namespace {

/// Cameras around an invented part of 300 × 220 mm: a third from above, the rest oblique all round.
adjust::StationState cameraAt(int i, int count, std::mt19937& random) {
    std::normal_distribution<double> normal;
    adjust::StationState s;
    const double azimuth = 2 * std::acos(-1.0) * i / count, tilt = i % 3 == 0 ? 0.01 : 0.5;
    s.R = survey::squareRotation(survey::View::Top) *
          rotationExp(tilt * Vec3(-std::sin(azimuth), std::cos(azimuth), 0)) *
          rotationExp(Vec3(0, 0, 0.1 * normal(random)));
    s.lnScale = std::log(33842.0 / 5000.0);
    s.g = Vec2(1500, 2800) + 50 * Vec2(normal(random), normal(random));
    return s;
}

}  // namespace

Settings settingsFrom(int argc, char** argv) {
    Settings settings;
    for (int i = 1; i + 1 < argc; i += 2) {
        if (!std::strcmp(argv[i], "--stations")) settings.stations = std::atoi(argv[i + 1]);
        if (!std::strcmp(argv[i], "--features")) settings.features = std::atoi(argv[i + 1]);
        if (!std::strcmp(argv[i], "--ceres")) settings.against = std::atoi(argv[i + 1]) != 0;
        if (!std::strcmp(argv[i], "--repeat")) settings.repeat = std::atoi(argv[i + 1]);
    }
    if (settings.stations < 3 || settings.features < 20 || settings.repeat < 1)
        fail("needs --stations 3, --features 20, --repeat 1 or more");
    return settings;
}

Scene synthetic(const Settings& settings) {
    std::mt19937 random(17);
    std::uniform_real_distribution<double> uniform(0, 1);
    std::normal_distribution<double> normal;
    Scene scene;
    survey::Survey& s = scene.survey;
    s.title = "invented corners for the benchmark";
    survey::CameraGroup g;
    g.id = "G1";
    g.principalDistance = {34000, 3400, ConstantMode::Prior};
    g.principalX.value = 2999.5, g.principalY.value = 1999.5;
    g.k1 = {0.0, 0.5, ConstantMode::Prior};
    s.groups.push_back(g);
    adjust::GroupState group;
    group.lnKappa = -std::log(33842.0);
    group.pp = {2999.5, 1999.5};
    group.rho = std::hypot(6000, 4000) / 2;
    group.K[0] = 0.22 * std::pow(group.rho / 33842.0, 2);
    scene.truth.groups.push_back(group);
    const double heights[5] = {0, -1.6, 5.5, 12.4, 38};
    for (int l = 0; l < 5; ++l) {
        s.levels.push_back({fmt::format("L{}", l + 1), ""});
        scene.truth.levels.push_back(heights[l]);
        scene.truth.forms.emplace_back();
    }
    for (int i = 0; i < settings.stations; ++i) {
        survey::Station st;
        st.id = fmt::format("S{}", i + 1);
        st.view = survey::View::Oblique;
        st.group = "G1";
        st.photo.width = 6000, st.photo.height = 4000;
        s.stations.push_back(st);
        scene.truth.stations.push_back(cameraAt(i, settings.stations, random));
    }
    for (int f = 0; f < settings.features; ++f) {
        adjust::FeatureState state;
        state.level = f % 5;
        state.p = {300 * uniform(random), 220 * uniform(random), 0};
        if (f == 0) state.p.setZero();
        if (f == 5) state.p = {280, 0, 0};
        scene.truth.features.push_back(state);
        s.features.push_back(
            {fmt::format("F{}", f + 1), "", survey::FeatureKind::Corner, fmt::format("L{}", f % 5 + 1)});
        for (int i = 0; i < settings.stations; ++i) {
            const auto u = camera::project(
                group.constants(), scene.truth.pose(scene.truth.stations[static_cast<std::size_t>(i)]),
                scene.truth.point(state));
            if (!u) std::abort();
            survey::Mark m;
            m.id = fmt::format("M{}", s.marks.size() + 1);
            m.station = fmt::format("S{}", i + 1);
            m.feature = s.features.back().id;
            m.points.push_back({*u + 0.3 * Vec2(normal(random), normal(random)), 0.3});
            s.marks.push_back(m);
        }
    }
    s.datum = {"L1", "F1", "F6"};
    const auto read = [&](survey::Quantity q, std::vector<survey::Id> objects, double value, double sigma) {
        survey::Reading r;
        r.id = fmt::format("R{}", s.readings.size() + 1);
        r.quantity = q;
        r.objects = std::move(objects);
        r.measured = {value + sigma * normal(random), sigma};
        s.readings.push_back(r);
    };
    const auto& f = scene.truth.features;
    read(survey::Quantity::Distance, {"F1", "F6"}, 280, 0.03);
    read(survey::Quantity::Distance, {"F11", "F16"}, (f[10].p - f[15].p).norm(), 0.03);
    read(survey::Quantity::Depth, {"L1", "L5"}, 38, 0.05);
    read(survey::Quantity::Tape, {"S1"}, scene.truth.pose(scene.truth.stations[0]).t.norm(), 50);
    return scene;
}

void shake(adjust::Network& n, const adjust::State& truth) {
    n.state() = truth;
    std::mt19937 random(5);
    std::normal_distribution<double> normal;
    VecX d = VecX::Zero(n.layout().columns);
    const auto& c = n.columns();
    const auto put = [&](int column, double size) {
        if (column >= 0) d[column] = size * normal(random);
    };
    for (const auto& f : c.features)
        for (const int column : f) put(column, 0.5);
    for (const int column : c.levels) put(column, 0.5);
    for (const auto& s : c.stations) {
        for (std::size_t k = 0; k < 3; ++k) put(s[k], 0.01);
        put(s[3], 0.02), put(s[4], 10), put(s[5], 10);
    }
    put(c.groups[0][0], 0.02);
    n.step(d);
}

double median(int repeat, const std::function<double()>& run) {
    std::vector<double> times;
    for (int i = 0; i < repeat; ++i) times.push_back(run());
    std::sort(times.begin(), times.end());
    return times[times.size() / 2];
}

double seconds(const std::function<void()>& work) {
    const auto begin = std::chrono::steady_clock::now();
    work();
    return std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
}

void fail(const std::string& sentence) {
    fmt::print(stderr, "{}\n", sentence);
    std::exit(1);
}

}  // namespace trammel::bench
