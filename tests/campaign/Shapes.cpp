// SPDX-License-Identifier: GPL-3.0-or-later
#include "Shapes.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace trammel::campaign {
namespace {

using render::SceneCamera;
using render::SceneFeature;
using survey::FeatureKind;
using survey::Quantity;
using survey::View;

constexpr double kDegree = std::numbers::pi / 180.0;
constexpr int kFrameWidth = 6000, kFrameHeight = 4000;

/// A constant as a calibration would state it: somewhere about the truth.
survey::Constant stated(double truth, double sigma, double unit) {
    if (!(sigma > 0)) return {truth, 0.0, survey::ConstantMode::Fixed};
    return {truth + sigma * unit, sigma, survey::ConstantMode::Prior};
}

std::vector<double> spread(int count, double from, double to) {
    std::vector<double> s;
    for (int i = 0; i < count; ++i) s.push_back(from + (to - from) * (i + 0.5) / count);
    return s;
}

bool principalSide(View v) {
    return v == View::Front || v == View::Rear || v == View::Left || v == View::Right;
}

}  // namespace

Drawn draw(const Shape& shape, std::uint64_t seed, bool noise) {
    render::Scene scene = shape.scene;
    render::Random random(seed ^ 0x9e3779b97f4a7c15u);  // another stream than that of the marks
    const auto unit = [&] { return noise ? random.normal() : 0.0; };
    for (SceneCamera& camera : scene.cameras) {
        const double x = unit(), y = unit();
        if (camera.view == View::Oblique) continue;
        camera.tiltX += shape.squareSigma * x;
        camera.tiltY += shape.squareSigma * y;
    }
    render::ObserveOptions options;
    options.seed = seed;
    options.sigma_px = shape.sigma_px;
    options.fitted = shape.fitted;
    options.noise = noise;
    options.focalPriorFraction = shape.focalPrior;
    Drawn out{render::Observer(scene, shape.seen).draw(options), render::truthOf(scene)};
    for (survey::CameraGroup& g : out.survey.groups) {
        const camera::Constants& k = out.truth.groups.at(g.id);
        const double value = k.c * std::exp(shape.focalPrior * unit());
        g.principalDistance.value = value;
        g.principalDistance.sigma = shape.focalPrior * value;
        g.k1 = stated(k.k1, shape.k1Sigma, unit());
        g.principalX = stated(k.pp.x(), shape.pointSigma_px, unit());
        g.principalY = stated(k.pp.y(), shape.pointSigma_px, unit());
    }
    for (survey::Station& s : out.survey.stations) s.squareSigma_rad = shape.squareSigma;
    for (survey::Feature& f : out.survey.features)
        if (std::find(shape.loose.begin(), shape.loose.end(), f.name) != shape.loose.end()) f.level.clear();
    return out;
}

void ShapeMaker::feature(FeatureKind kind, int level, const Vec2& centre, SceneFeature f) {
    f.kind = kind;
    f.level = level;
    f.name = fmt::format("{} {}",
                         kind == FeatureKind::Corner ? "corner"
                         : kind == FeatureKind::Edge ? "edge"
                         : kind == FeatureKind::Hole ? "hole"
                                                     : "arc",
                         shape_.scene.features.size() + 1);
    shape_.scene.features.push_back(f);
    middle_.push_back(centre);
}

/// A rectangle: four edges, and between them corners or arcs.
void ShapeMaker::ring(int level, const Vec2& from, const Vec2& to, double rounding) {
    const double z = shape_.scene.levels[static_cast<std::size_t>(level)].height;
    const Vec2 middle = (from + to) / 2;
    const std::array<Vec2, 4> corner = {from, Vec2(to.x(), from.y()), to, Vec2(from.x(), to.y())};
    for (std::size_t i = 0; i < 4; ++i) {
        const Vec2 a = corner[i], b = corner[(i + 1) % 4], along = (b - a).normalized();
        const Vec2 from2 = a + rounding * along, to2 = b - rounding * along;
        SceneFeature edge;
        edge.from = {from2.x(), from2.y(), z};
        edge.to = {to2.x(), to2.y(), z};
        edge.point = (edge.from + edge.to) / 2;
        feature(FeatureKind::Edge, level, middle, edge);
        SceneFeature turn;
        turn.point = {a.x(), a.y(), z};
        if (rounding > 0) {
            const Vec2 inward = along + Vec2(-along.y(), along.x());  // the rectangle runs counter-clockwise
            turn.point += rounding * Vec3(inward.x(), inward.y(), 0.0);
            turn.radius = rounding;
            turn.startAngle = std::numbers::pi * (1.0 + 0.5 * static_cast<double>(i));
            turn.sweep = std::numbers::pi / 2;
            turn.from = render::along(turn, 0.0).point;
            turn.to = render::along(turn, 1.0).point;
        }
        feature(rounding > 0 ? FeatureKind::Arc : FeatureKind::Corner, level, middle, turn);
    }
}

void ShapeMaker::plate(double width, double height, int holes) {
    const double inset = 0.12 * std::min(width, height);
    low_ = {-inset, -inset};
    high_ = {width - inset, height - inset};
    shape_.scene.title = shape_.name;
    shape_.scene.levels.push_back({"base", 0.0});
    for (int i = 0; i < holes; ++i) {
        SceneFeature hole;
        hole.radius = 0.04 * std::min(width, height) * (0.7 + 0.6 * random_.uniform());
        hole.sweep = 2 * std::numbers::pi;
        if (i == 1) hole.point.x() = width - 2 * inset;
        if (i == 2) hole.point = {width - 2.3 * inset, height - 2 * inset, 0.0};
        if (i == 3) hole.point = {0.2 * inset, height - 2.1 * inset, 0.0};
        if (i > 3) hole.point = {width * (0.1 + 0.13 * (i - 3)), -0.3 * inset, 0.0};
        feature(FeatureKind::Hole, 0, (low_ + high_) / 2, hole);
    }
    shape_.scene.datumOrigin = shape_.scene.features[0].name;
    shape_.scene.datumDirection = shape_.scene.features[1].name;
    ring(0, low_, high_, 0.0);
}

void ShapeMaker::block(double height, const Vec2& from, const Vec2& to, double rounding) {
    const int level = static_cast<int>(shape_.scene.levels.size());
    shape_.scene.levels.push_back({fmt::format("step {}", level), height});
    ring(level, from, to, rounding);
    SceneFeature hole;
    hole.radius = (to - from).minCoeff() / 6;
    hole.sweep = 2 * std::numbers::pi;
    const Vec2 middle = 0.45 * from + 0.55 * to;
    hole.point = {middle.x(), middle.y(), height};
    feature(FeatureKind::Hole, level, (from + to) / 2, hole);
}

int ShapeMaker::lens(double focal_mm, double pixelPitch_mm) {
    render::SceneLens lens;
    lens.name = fmt::format("lens {}", shape_.scene.lenses.size() + 1);
    lens.focalLength_mm = focal_mm;
    lens.pixelPitch_mm = pixelPitch_mm;
    lens.frameWidth = kFrameWidth;
    lens.frameHeight = kFrameHeight;
    const double field_mm = kFrameHeight * pixelPitch_mm;
    lens.nominalStandOff_mm = 1.25 * (high_ - low_).norm() * focal_mm / field_mm + focal_mm;
    const double magnification = focal_mm / (lens.nominalStandOff_mm - focal_mm);
    lens.truth.c = focal_mm * (1 + magnification) / pixelPitch_mm;
    lens.truth.pp = {0.5 * (kFrameWidth - 1), 0.5 * (kFrameHeight - 1)};
    lens.truth.k1 = focal_mm < 100 ? -0.08 : 0.0;
    shape_.scene.lenses.push_back(lens);
    return static_cast<int>(shape_.scene.lenses.size()) - 1;
}

void ShapeMaker::camera(const std::string& name, View view, int lens, double azimuth, double offAxis,
                        double roll) {
    SceneCamera camera;
    camera.name = name;
    camera.view = view;
    camera.lens = lens;
    camera.standOff_mm = shape_.scene.lenses[static_cast<std::size_t>(lens)].nominalStandOff_mm *
                         (0.95 + 0.1 * random_.uniform());
    const Vec2 middle = (low_ + high_) / 2;
    camera.aim = {middle.x(), middle.y(), 0.0};
    camera.azimuth = azimuth;
    camera.offAxis = offAxis;
    camera.roll = roll;
    camera.cropWidth = kFrameWidth;
    camera.cropHeight = kFrameHeight;
    shape_.scene.cameras.push_back(camera);
}

bool ShapeMaker::couldSee(const SceneCamera& camera, std::size_t i) const {
    const SceneFeature& f = shape_.scene.features[i];
    const Mat3 R = render::poseOf(camera).R;
    const Vec3 towards = -R.row(2).transpose();
    const bool round = f.kind == FeatureKind::Hole || f.kind == FeatureKind::Arc;
    if (round && std::abs(towards.z()) < 0.35) return false;
    if (camera.view == View::Bottom && !(f.kind == FeatureKind::Hole || f.level == 0)) return false;
    if (principalSide(camera.view) && (f.point.head<2>() - middle_[i]).dot(towards.head<2>()) < 1e-3)
        return false;  // the far side of the block
    for (const double s : {0.0, 1.0}) {
        const Vec2 px = pictureOf(shape_.scene, camera, render::along(f, s).point);
        if (!(px.x() > 12 && px.y() > 12 && px.x() < kFrameWidth - 12 && px.y() < kFrameHeight - 12))
            return false;
    }
    const Vec2 run = pictureOf(shape_.scene, camera, f.to) - pictureOf(shape_.scene, camera, f.from);
    return f.kind != FeatureKind::Edge || run.norm() > 60.0;
}

void ShapeMaker::look(double share, double sideShare) {
    shape_.seen.clear();
    for (std::size_t c = 0; c < shape_.scene.cameras.size(); ++c) {
        const SceneCamera& camera = shape_.scene.cameras[c];
        for (std::size_t i = 0; i < shape_.scene.features.size(); ++i) {
            const bool datum = i < 2 && camera.view == View::Top;
            const bool passed =
                random_.uniform() > (principalSide(camera.view) ? sideShare : share) && !datum;
            if (passed || !couldSee(camera, i)) continue;
            const FeatureKind kind = shape_.scene.features[i].kind;
            shape_.seen.push_back({static_cast<int>(c), static_cast<int>(i),
                                   kind == FeatureKind::Corner ? std::vector<double>{0.0}
                                   : kind == FeatureKind::Edge ? spread(20, 0.02, 0.98)
                                                               : spread(36, 0.0, 1.0)});
        }
    }
}

void ShapeMaker::reading(Quantity quantity, const std::vector<std::string>& objects, double sigma,
                         bool reference) {
    render::SceneReading r;
    r.name = fmt::format("reading {}", shape_.scene.readings.size() + 1);
    r.quantity = quantity;
    r.objects = objects;
    r.sigma = sigma;
    r.reference = reference;
    shape_.scene.readings.push_back(r);
}

void ShapeMaker::readings(int count, double sigma, bool tapes) {
    const render::Scene& scene = shape_.scene;
    reading(Quantity::Distance, {scene.datumOrigin, scene.datumDirection}, sigma, true);
    const auto left = [&] { return static_cast<int>(scene.readings.size()) < count; };
    for (std::size_t l = 1; l < scene.levels.size() && left(); ++l)
        reading(Quantity::Depth, {scene.levels[0].name, scene.levels[l].name}, sigma);
    for (std::size_t i = 2; i < scene.features.size() && left(); i += 3) {
        const SceneFeature &f = scene.features[i], &before = scene.features[i - 2];
        if (f.kind == FeatureKind::Hole)
            reading(Quantity::Diameter, {f.name}, sigma);
        else if (f.kind == FeatureKind::Corner && before.kind == FeatureKind::Corner &&
                 f.level == before.level)
            reading(Quantity::Distance, {before.name, f.name}, sigma);
    }
    if (tapes)
        for (const SceneCamera& c : scene.cameras) reading(Quantity::Tape, {c.name}, 5.0);
}

std::vector<Shape> shapes() {
    std::vector<Shape> all;
    {  // the least that holds a stepped part
        ShapeMaker m("long lens, three views", 11);
        m.plate(180, 120, 4);
        m.block(14, {20, 15}, {75, 60});
        const int tele = m.lens(600);
        for (const auto& [name, view] :
             {std::pair("top", View::Top), {"front", View::Front}, {"right", View::Right}})
            m.camera(name, view, tele);
        m.look(1.0, 1.0);
        m.readings(3, 0.03, false);
        all.push_back(m.take());
    }
    {
        ShapeMaker m("long lens, top and obliques, arcs", 12);
        m.plate(220, 150, 6);
        m.block(-8, {20, 20}, {90, 90}, 8);
        m.block(22, {110, 30}, {170, 80}, 6);
        const int tele = m.lens(1000);
        m.camera("top", View::Top, tele);
        for (int i = 0; i < 4; ++i)
            m.camera(fmt::format("oblique {}", i + 1), View::Oblique, tele, (40 + 90 * i) * kDegree,
                     38 * kDegree);
        m.look(0.95, 1.0);
        m.readings(4, 0.02, true);
        m.shape().sigma_px = 0.3;
        m.shape().fitted = true;
        all.push_back(m.take());
    }
    {
        ShapeMaker m("50 mm, five square views", 13);
        m.plate(160, 110, 4);
        m.block(12, {15, 12}, {60, 50});
        m.block(25, {75, 20}, {120, 70}, 5);
        const int wide = m.lens(50);
        for (const View v : {View::Top, View::Front, View::Rear, View::Left, View::Right})
            m.camera(std::string(survey::viewName(v)), v, wide);
        m.look(1.0, 0.9);
        m.readings(8, 0.03, false);
        m.shape().pointSigma_px = 15.0;
        all.push_back(m.take());
    }
    {
        ShapeMaker m("50 mm, one reading, clicks", 14);
        m.plate(260, 180, 5);
        m.block(18, {30, 30}, {120, 110}, 10);
        const int wide = m.lens(50);
        m.camera("top", View::Top, wide);
        for (int i = 0; i < 3; ++i)
            m.camera(fmt::format("oblique {}", i + 1), View::Oblique, wide, (20 + 120 * i) * kDegree,
                     42 * kDegree);
        m.look(0.9, 1.0);
        m.readings(1, 0.05, false);
        m.shape().focalPrior = 0.03;
        all.push_back(m.take());
    }
    {
        ShapeMaker m("many levels, many readings", 15);
        m.plate(300, 200, 6);
        for (int i = 0; i < 5; ++i)
            m.block(6.0 + 9.0 * i, {15.0 + 52 * i, 20.0 + 4 * i}, {55.0 + 52 * i, 80.0 + 9 * i},
                    i % 2 ? 6.0 : 0.0);
        const int tele = m.lens(600);
        for (const View v : {View::Top, View::Bottom, View::Front, View::Rear, View::Left, View::Right})
            m.camera(std::string(survey::viewName(v)), v, tele);
        m.camera("oblique 1", View::Oblique, tele, 60 * kDegree, 35 * kDegree);
        m.camera("oblique 2", View::Oblique, tele, 250 * kDegree, 40 * kDegree);
        m.look(0.9, 0.8);
        m.readings(20, 0.04, false);
        all.push_back(m.take());
    }
    {
        ShapeMaker m("twelve photographs, two lenses, fitted", 16);
        m.plate(240, 160, 6);
        m.block(10, {20, 20}, {80, 70}, 6);
        m.block(20, {95, 25}, {150, 90});
        m.block(-6, {160, 60}, {200, 110});
        const int tele = m.lens(600), wide = m.lens(50);
        for (const View v : {View::Top, View::Front, View::Rear, View::Left, View::Right})
            m.camera(std::string(survey::viewName(v)), v, tele);
        m.camera("top near", View::Top, wide);
        for (int i = 0; i < 6; ++i)
            m.camera(fmt::format("oblique {}", i + 1), View::Oblique, i % 2 ? tele : wide,
                     (15 + 60 * i) * kDegree, (25 + 4 * i) * kDegree);
        m.look(0.9, 0.85);
        m.readings(6, 0.03, true);
        m.shape().sigma_px = 0.2;
        m.shape().fitted = true;
        for (const auto& f : m.shape().scene.features)
            if (f.kind == FeatureKind::Corner && f.level == 2) m.shape().loose.push_back(f.name);
        all.push_back(m.take());
    }
    return all;
}

}  // namespace trammel::campaign
