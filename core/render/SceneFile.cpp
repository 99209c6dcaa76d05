// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/render/SceneFile.h"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <fstream>
#include <set>
#include <sstream>

#include "core/base/Angle.h"
#include "core/render/SceneJson.h"
#include "core/survey/Names.h"

namespace trammel::render {
namespace {

using scenejson::Json;
using scenejson::Place;
using scenejson::Trouble;

void readLevels(const Place& root, Scene& scene) {
    for (const Place& p : root.list("levels")) scene.levels.push_back({p.text("name"), p.number("height")});
    if (scene.levels.empty() || scene.levels.front().height != 0.0)
        throw Trouble{"levels", "the first level is the datum and must have height 0"};
}

void readLenses(const Place& root, Scene& scene) {
    for (const Place& p : root.list("lenses")) {
        SceneLens lens;
        lens.name = p.text("name");
        lens.make = p.text("make", "");
        lens.body = p.text("body", "");
        lens.serial = p.text("serial", "");
        lens.lensMake = p.text("lensMake", "");
        lens.lens = p.text("lens", "");
        lens.focalLength_mm = p.positive("focalLength_mm");
        lens.pixelPitch_mm = p.positive("pixelPitch_mm");
        const auto frame = p.numbers("frame_px", 2);
        lens.frameWidth = static_cast<int>(frame[0]);
        lens.frameHeight = static_cast<int>(frame[1]);
        lens.nominalStandOff_mm = p.positive("nominalStandOff_mm");
        lens.fNumber = p.number("fNumber", 0.0);
        lens.truth.c = p.positive("principalDistance_px");
        const auto off = p.numbers("principalPointOffset_px", 2, {0.0, 0.0});
        lens.truth.pp = Vec2(0.5 * (frame[0] - 1) + off[0], 0.5 * (frame[1] - 1) + off[1]);
        lens.truth.k1 = p.number("k1", 0.0);
        lens.truth.k2 = p.number("k2", 0.0);
        lens.truth.k3 = p.number("k3", 0.0);
        scene.lenses.push_back(lens);
    }
    if (scene.lenses.empty()) throw Trouble{"lenses", "a scene needs at least one"};
}

Backdrop readBackdrop(const Place& p) {
    Backdrop b;
    b.normal = p.vector3("normal");
    if (!(b.normal.norm() > 0.0)) throw Trouble{p.where("normal"), "the direction is zero"};
    b.normal.normalize();
    b.offset = p.number("offset");
    b.colour = p.vector3("colour");
    return b;
}

/// The box around everything the photograph shows, with a margin, rounded to whole 16 px.
void cropAround(const Scene& scene, SceneCamera& camera, double margin) {
    const camera::Constants k = constantsOf(scene, camera);
    const camera::Pose pose = poseOf(camera);
    Vec2 low(1e9, 1e9), high(-1e9, -1e9);
    for (const Solid& solid : scene.solids) {
        if (!solid.onlyIn.empty() &&
            std::find(solid.onlyIn.begin(), solid.onlyIn.end(), camera.name) == solid.onlyIn.end())
            continue;
        const geometry::Bounds box = geometry::bounds(solid.outline);
        for (int corner = 0; corner < 8; ++corner) {
            const Vec3 x(corner & 1 ? box.low.x() : box.high.x(), corner & 2 ? box.low.y() : box.high.y(),
                         corner & 4 ? solid.bottom : solid.top);
            if (const auto px = camera::project(k, pose, x)) {
                low = low.cwiseMin(*px);
                high = high.cwiseMax(*px);
            }
        }
    }
    const auto down = [](double v) { return 16 * static_cast<int>(std::floor(v / 16)); };
    const FrameSize frame = frameOf(scene, camera);
    camera.cropX = std::max(0, down(low.x() - margin));
    camera.cropY = std::max(0, down(low.y() - margin));
    camera.cropWidth = std::min(frame.width, down(high.x() + margin) + 16) - camera.cropX;
    camera.cropHeight = std::min(frame.height, down(high.y() + margin) + 16) - camera.cropY;
}

void readCrop(const Place& p, const Scene& scene, SceneCamera& camera) {
    if (p.has("crop_px")) {
        const auto crop = p.numbers("crop_px", 4);
        camera.cropX = static_cast<int>(crop[0]);
        camera.cropY = static_cast<int>(crop[1]);
        camera.cropWidth = static_cast<int>(crop[2]);
        camera.cropHeight = static_cast<int>(crop[3]);
    } else {
        cropAround(scene, camera, p.number("cropMargin_px", 80.0));
    }
    const FrameSize frame = frameOf(scene, camera);
    if (camera.cropX < 0 || camera.cropY < 0 || camera.cropWidth < 1 || camera.cropHeight < 1 ||
        camera.cropX + camera.cropWidth > frame.width || camera.cropY + camera.cropHeight > frame.height)
        throw Trouble{p.where("crop_px"), "the crop does not lie within the full frame"};
}

Curve readCurve(const Place& p) {
    constexpr std::array<std::pair<const char*, Curve>, 5> kNames = {{{"standard", Curve::Standard},
                                                                      {"bare", Curve::Bare},
                                                                      {"crisp", Curve::Crisp},
                                                                      {"soft", Curve::Soft},
                                                                      {"bold", Curve::Bold}}};
    if (!p.has("curve")) return Curve::Standard;
    const std::string name = p.text("curve");
    for (const auto& [known, curve] : kNames)
        if (name == known) return curve;
    throw Trouble{p.where("curve"), "must be standard, bare, crisp, soft or bold"};
}

SceneCamera readCamera(const Place& p, const Scene& scene) {
    SceneCamera c;
    c.name = p.text("name");
    const auto view = survey::viewFromName(p.text("view"));
    if (!view) throw Trouble{p.where("view"), "there is no such view"};
    c.view = *view;
    c.lens = p.indexIn("lens", scene.lenses);
    c.standOff_mm = p.positive("standOff_mm");
    c.aim = p.vector3("aim");
    const auto radians = [&](const char* key) { return Angle::degrees(p.number(key, 0.0)).rad(); };
    const auto tilt = p.numbers("tilt_deg", 2, {0.0, 0.0});
    c.tiltX = Angle::degrees(tilt[0]).rad();
    c.tiltY = Angle::degrees(tilt[1]).rad();
    c.roll = radians("roll_deg");
    c.azimuth = radians("azimuth_deg");
    c.offAxis = radians("offAxis_deg");
    if (c.view == survey::View::Oblique && !(std::abs(std::sin(c.offAxis)) > 1e-3))
        throw Trouble{p.where("offAxis_deg"), "an oblique view must stand off the axis"};
    c.orientation = static_cast<int>(p.number("orientation", 1.0));
    if (c.orientation != 1 && c.orientation != 3 && c.orientation != 6 && c.orientation != 8)
        throw Trouble{p.where("orientation"), "a camera stores 1, 3, 6 or 8"};
    c.blur_px = p.number("blur_px", 0.0);
    c.readNoise = p.number("readNoise", 0.0);
    c.shotNoise = p.number("shotNoise", 0.0);
    c.exposure = p.number("exposure", 1.0);
    c.quality = static_cast<int>(p.number("quality", 90.0));
    if (c.quality < 1 || c.quality > 100) throw Trouble{p.where("quality"), "must be from 1 to 100"};
    c.curve = readCurve(p);
    c.backdrop = readBackdrop(p.child("backdrop"));
    readCrop(p, scene, c);
    return c;
}

survey::Quantity readQuantity(const Place& p) {
    const auto quantity = survey::quantityFromName(p.text("quantity"));
    if (!quantity) throw Trouble{p.where("quantity"), "there is no such quantity"};
    return *quantity;
}

bool isKnown(const Scene& scene, const std::string& name) {
    const auto named = [&](const auto& list) {
        for (const auto& item : list)
            if (item.name == name) return true;
        return false;
    };
    return named(scene.features) || named(scene.levels) || named(scene.cameras);
}

std::vector<std::string> readObjects(const Place& p, const Scene& scene) {
    const auto names = p.texts("objects");
    for (const std::string& name : names)
        if (!isKnown(scene, name))
            throw Trouble{p.where("objects"), fmt::format("nothing in the scene is named {}", name)};
    return names;
}

void readReadings(const Place& root, Scene& scene) {
    for (const Place& p : root.list("readings")) {
        SceneReading r;
        r.name = p.text("name");
        r.quantity = readQuantity(p);
        r.objects = readObjects(p, scene);
        r.sigma = p.positive("sigma");
        if (p.has("nominal")) r.nominal = p.positive("nominal");
        r.reference = p.flag("reference");
        r.check = p.flag("check");
        scene.readings.push_back(r);
    }
    for (const Place& p : root.list("dimensions"))
        scene.dimensions.push_back(
            {p.text("name"), readQuantity(p), readObjects(p, scene), p.flag("important")});
}

void readOutlines(const Place& root, Scene& scene) {
    for (const Place& p : root.list("outlines")) {
        SceneOutline o;
        o.name = p.text("name");
        const auto purpose = survey::purposeFromName(p.text("purpose"));
        if (!purpose) throw Trouble{p.where("purpose"), "there is no such purpose"};
        o.purpose = *purpose;
        o.level = p.indexIn("level", scene.levels);
        o.chain = p.texts("chain");
        for (const std::string& name : o.chain)
            if (!featureIndex(scene, name))
                throw Trouble{p.where("chain"), fmt::format("no feature is named {}", name)};
        scene.outlines.push_back(o);
    }
}

void readDatum(const Place& p, Scene& scene) {
    scene.datumOrigin = p.text("origin");
    scene.datumDirection = p.text("direction");
    const auto origin = featureIndex(scene, scene.datumOrigin);
    const auto direction = featureIndex(scene, scene.datumDirection);
    if (!origin || !direction) throw Trouble{"datum", "origin and direction must be features"};
    const SceneFeature& o = scene.features[static_cast<std::size_t>(*origin)];
    const SceneFeature& d = scene.features[static_cast<std::size_t>(*direction)];
    if (o.point.norm() > 1e-12)
        throw Trouble{"datum", "the origin feature must lie at 0, 0 in the datum level"};
    const Vec3 run = d.kind == survey::FeatureKind::Edge ? Vec3(d.to - d.from) : d.point;
    if (std::abs(run.y()) > 1e-12) throw Trouble{"datum", "the direction feature must run along x"};
}

/// Readings and dimensions name their objects, so no two things may share a name.
void refuseDoubleNames(const Scene& scene) {
    std::set<std::string> names;
    const auto take = [&](const auto& list) {
        for (const auto& item : list)
            if (!names.insert(item.name).second)
                throw Trouble{item.name, "the name is used twice among levels, features and cameras"};
    };
    take(scene.levels);
    take(scene.features);
    take(scene.cameras);
}

Scene readScene(const Json& json) {
    const Place root(json, "");
    Scene scene;
    scene.title = root.text("title");
    scene.unit = root.text("unit", "");
    scene.note = root.text("note", "");
    readLevels(root, scene);
    readLenses(root, scene);
    scenejson::readSolids(root, scene);
    for (const Place& p : root.list("cameras")) scene.cameras.push_back(readCamera(p, scene));
    if (scene.cameras.empty()) throw Trouble{"cameras", "a scene needs at least one"};
    refuseDoubleNames(scene);
    readReadings(root, scene);
    readOutlines(root, scene);
    readDatum(root.child("datum"), scene);
    return scene;
}

}  // namespace

Result<Scene> sceneFromJson(const std::string& text, const std::string& nameForErrors) {
    const std::string remedy = "correct the scene file";
    try {
        return readScene(Json::parse(text));
    } catch (const Trouble& t) {
        return Error{ErrorCode::BadValue,
                     t.where.empty() ? t.what : fmt::format("at {}: {}", t.where, t.what), nameForErrors,
                     remedy};
    } catch (const Json::parse_error& e) {
        return Error{ErrorCode::FileDamaged, fmt::format("not a JSON document (stops at byte {})", e.byte),
                     nameForErrors, remedy};
    } catch (const Json::exception&) {
        return Error{ErrorCode::BadValue, "holds a value of the wrong kind", nameForErrors, remedy};
    }
}

Result<Scene> loadScene(const std::filesystem::path& file) {
    std::ifstream in(file, std::ios::binary);
    std::stringstream text;
    if (!in || !(text << in.rdbuf()))
        return Error{ErrorCode::FileMissing, "the scene file cannot be opened", file.string(),
                     "check its name"};
    return sceneFromJson(text.str(), file.filename().string());
}

}  // namespace trammel::render
