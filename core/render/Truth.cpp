// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/render/Truth.h"

#include <fmt/core.h>

#include <cmath>
#include <fstream>
#include <nlohmann/json.hpp>

#include "core/survey/Names.h"

namespace trammel::render {
namespace {

using survey::FeatureKind;
using survey::Id;
using survey::Quantity;
using Json = nlohmann::ordered_json;

Error notFound(const std::string& id) {
    return {ErrorCode::NotFound, "the scene has no such object for this quantity", id, "name another one"};
}

double fromLine(const Vec2& p, const FeatureTruth& edge) {
    const Vec2 d = p - edge.point.head<2>();
    return std::abs(d.x() * edge.direction.y() - d.y() * edge.direction.x());
}

double distance(const FeatureTruth& a, const FeatureTruth& b) {
    const bool edgeA = a.kind == FeatureKind::Edge, edgeB = b.kind == FeatureKind::Edge;
    if (edgeB) return fromLine(a.point.head<2>(), b);
    if (edgeA) return fromLine(b.point.head<2>(), a);
    return (a.point - b.point).norm();
}

double angle(const FeatureTruth& a, const FeatureTruth& b) {
    const double sine = std::abs(a.direction.x() * b.direction.y() - a.direction.y() * b.direction.x());
    return std::atan2(sine, std::abs(a.direction.dot(b.direction)));
}

Json array(const Vec3& v) { return Json::array({v.x(), v.y(), v.z()}); }

Json featureJson(const Id& id, const FeatureTruth& f) {
    Json j;
    j["id"] = id;
    j["name"] = f.name;
    j["kind"] = survey::kindName(f.kind);
    j["level"] = f.level;
    j["point"] = array(f.point);
    if (f.kind == FeatureKind::Edge) j["direction"] = Json::array({f.direction.x(), f.direction.y()});
    if (f.kind == FeatureKind::Hole || f.kind == FeatureKind::Arc || f.kind == FeatureKind::Slot)
        j["radius"] = f.radius;
    if (f.kind == FeatureKind::Edge || f.kind == FeatureKind::Arc || f.kind == FeatureKind::Slot) {
        j["from"] = array(f.from);
        j["to"] = array(f.to);
    }
    return j;
}

template <class Wanted>
Json valueJson(const Truth& truth, const Wanted& wanted) {
    Json j;
    j["name"] = wanted.name;
    j["quantity"] = survey::quantityName(wanted.quantity);
    j["objects"] = wanted.objects;
    std::vector<Id> ids;
    for (const std::string& name : wanted.objects) ids.push_back(truth.ids.at(name));
    if (const auto value = truth.value(wanted.quantity, ids)) j["value"] = *value;
    return j;
}

Json truthJson(const Scene& scene) {
    const Truth truth = truthOf(scene);
    Json j;
    j["title"] = scene.title;
    j["note"] = scene.note;
    for (const SceneFeature& f : scene.features)
        j["features"].push_back(featureJson(truth.ids.at(f.name), truth.features.at(truth.ids.at(f.name))));
    for (const SceneLevel& level : scene.levels)
        j["levels"].push_back(
            {{"id", truth.ids.at(level.name)}, {"name", level.name}, {"height", level.height}});
    for (const SceneCamera& camera : scene.cameras) {
        const Id id = truth.ids.at(camera.name);
        const camera::Pose& pose = truth.stations.at(id);
        const camera::Constants k = constantsOf(scene, camera);
        Json station = {{"id", id}, {"name", camera.name}, {"centre", array(pose.centre())}};
        for (int row = 0; row < 3; ++row) station["rotation"].push_back(array(pose.R.row(row)));
        station["principalDistance_px"] = k.c;
        station["principalPoint_px"] = {k.pp.x(), k.pp.y()};
        station["k1"] = k.k1;
        j["stations"].push_back(station);
    }
    for (const SceneDimension& d : scene.dimensions) j["dimensions"].push_back(valueJson(truth, d));
    for (const SceneReading& r : scene.readings) j["readings"].push_back(valueJson(truth, r));
    return j;
}

}  // namespace

Truth truthOf(const Scene& scene) {
    Truth t;
    for (std::size_t i = 0; i < scene.levels.size(); ++i) {
        const Id id = fmt::format("L{}", i + 1);
        t.levels[id] = scene.levels[i].height;
        t.ids[scene.levels[i].name] = id;
    }
    for (std::size_t i = 0; i < scene.features.size(); ++i) {
        const SceneFeature& f = scene.features[i];
        const Id id = fmt::format("F{}", i + 1);
        FeatureTruth truth{f.name, f.kind, fmt::format("L{}", f.level + 1), f.point, Vec2::UnitX(), f.radius,
                           f.from, f.to};
        if (f.kind == FeatureKind::Edge || f.kind == FeatureKind::Slot)
            truth.direction = (f.to - f.from).head<2>().normalized();
        t.features[id] = truth;
        t.ids[f.name] = id;
    }
    for (std::size_t i = 0; i < scene.cameras.size(); ++i) {
        const SceneCamera& camera = scene.cameras[i];
        const Id id = fmt::format("S{}", i + 1);
        t.stations[id] = poseOf(camera);
        t.ids[camera.name] = id;
        t.groups[fmt::format("G{}", camera.lens + 1)] = constantsOf(scene, camera);
    }
    t.datumOrigin = t.ids.at(scene.datumOrigin);
    return t;
}

Result<double> Truth::value(Quantity quantity, const std::vector<Id>& objects) const {
    std::vector<const FeatureTruth*> f;
    std::vector<double> z;
    for (const Id& id : objects) {
        const auto feature = features.find(id);
        f.push_back(feature == features.end() ? nullptr : &feature->second);
        if (f.back())
            z.push_back(f.back()->point.z());
        else if (const auto level = levels.find(id); level != levels.end())
            z.push_back(level->second);
    }
    const bool one = f.size() == 1 && f[0], two = f.size() == 2 && f[0] && f[1];
    switch (quantity) {
        case Quantity::Distance:
            if (two) return distance(*f[0], *f[1]);
            break;
        case Quantity::Diameter:
            if (one) return 2.0 * f[0]->radius;
            break;
        case Quantity::Radius:
            if (one) return f[0]->radius;
            break;
        case Quantity::Depth:
            if (z.size() == 2) return std::abs(z[0] - z[1]);
            break;
        case Quantity::Height:
            if (z.size() == 1) return z[0];
            break;
        case Quantity::OffsetX:
            if (two) return f[1]->point.x() - f[0]->point.x();
            break;
        case Quantity::OffsetY:
            if (two) return f[1]->point.y() - f[0]->point.y();
            break;
        case Quantity::Angle:
            if (two) return angle(*f[0], *f[1]);
            break;
        case Quantity::Length:
            if (one && f[0]->kind == FeatureKind::Slot)
                return (f[0]->to - f[0]->from).norm() + 2.0 * f[0]->radius;
            break;
        case Quantity::InnerSpan:
        case Quantity::OuterSpan:
            break;  // scenes ask for none
        case Quantity::Tape:
            if (objects.size() == 1 && stations.contains(objects[0]))
                return (stations.at(objects[0]).centre() - features.at(datumOrigin).point).norm();
            break;
    }
    return notFound(objects.empty() ? "" : objects.front());
}

Result<void> writeTruth(const Scene& scene, const std::filesystem::path& file) {
    std::ofstream out(file, std::ios::binary);
    out << truthJson(scene).dump(1) << '\n';
    out.flush();
    if (!out)
        return Error{ErrorCode::WriteFailed, "the truth cannot be written", file.string(),
                     "check the folder and the free space"};
    return {};
}

}  // namespace trammel::render
