// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/plan/StandIn.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/plan/Views.h"

namespace trammel::plan {
namespace {

using survey::FeatureKind;
using survey::Quantity;

constexpr double kInset = 0.08;         // of the shorter side: holes from the plate's edges
constexpr double kFaceSigma_mm = 0.03;  // caliper on rigid faces, common practice (DIN 862)
constexpr double kHoleSigma_mm = 0.05;
constexpr double kDepthSigma_mm = 0.05;  // depth rod, common practice
constexpr double kTapeShare = 0.01;      // tape from the lens, of the stand-off

double shorter(const Task& t) { return std::min(t.sizeX_mm, t.sizeY_mm); }
double insetOf(const Task& t) { return kInset * shorter(t); }
double holeRadius(const Task& t) { return std::min(0.025 * shorter(t), 5.0); }
double ruleWidth(const Task& t) { return std::clamp(0.06 * std::max(t.sizeX_mm, t.sizeY_mm), 3.0, 15.0); }
double gap(const Task& t) { return ruleWidth(t); }

/// Heights other than 0, lowest first, each once.
std::vector<double> otherHeights(const Task& t) {
    std::vector<double> heights;
    for (const double h : t.heights_mm)
        if (h != 0.0) heights.push_back(h);
    std::sort(heights.begin(), heights.end());
    heights.erase(std::unique(heights.begin(), heights.end()), heights.end());
    return heights;
}

class Builder {
  public:
    Builder(const Task& task, const Setup& setup) : task_(task), setup_(setup) {}

    render::Scene build() {
        scene_.title = "Plan";
        scene_.unit = "stand-in part";
        scene_.levels.push_back({"datum level", 0.0});
        const auto heights = otherHeights(task_);
        plate();
        for (std::size_t i = 0; i < heights.size(); ++i) block(i, heights.size(), heights[i]);
        referenceLengths();
        cameras();
        readings(heights);
        for (std::size_t i = 1; i <= heights.size(); ++i) wish(Quantity::Height, {scene_.levels[i].name});
        return std::move(scene_);
    }

  private:
    render::SceneFeature& feature(const std::string& name, FeatureKind kind, int level, int solid) {
        render::SceneFeature f;
        f.name = name;
        f.kind = kind;
        f.level = level;
        f.solid = solid;
        scene_.features.push_back(f);
        return scene_.features.back();
    }
    void hole(const std::string& name, const Vec2& at, double radius, int level, render::Solid& solid) {
        solid.openings.push_back({name, geometry::Circle{at, radius}, {}});
        auto& f = feature(name, FeatureKind::Hole, level, static_cast<int>(scene_.solids.size()));
        f.point = Vec3(at.x(), at.y(), solid.top);
        f.radius = radius;
        f.sweep = 2 * std::numbers::pi;
        f.from = f.to = f.point + Vec3(radius, 0, 0);
    }
    static geometry::Chain rectangle(const Vec2& a, const Vec2& b) {
        return {{{a, 0.0}, {{b.x(), a.y()}, 0.0}, {b, 0.0}, {{a.x(), b.y()}, 0.0}}};
    }
    /// A box with named edges (front, right, rear, left) and corners where its top is a level of the part.
    render::Solid box(const std::string& name, const Vec2& a, const Vec2& b, double bottom, double top,
                      int level, bool corners) {
        render::Solid solid;
        solid.name = name;
        solid.bottom = bottom;
        solid.top = top;
        solid.outline = rectangle(a, b);
        const std::array<Vec2, 4> at = {a, Vec2(b.x(), a.y()), b, Vec2(a.x(), b.y())};
        const std::array<const char*, 4> side = {"front", "right", "rear", "left"};
        for (std::size_t i = 0; i < 4; ++i) {
            const Vec2 &p = at[i], &q = at[(i + 1) % 4];
            auto& e = feature(name + " " + side[i], FeatureKind::Edge, level,
                              static_cast<int>(scene_.solids.size()));
            e.from = Vec3(p.x(), p.y(), top);
            e.to = Vec3(q.x(), q.y(), top);
            e.point = 0.5 * (e.from + e.to);
            if (!corners) continue;
            auto& c = feature(fmt::format("{} corner {}", name, i + 1), FeatureKind::Corner, level,
                              static_cast<int>(scene_.solids.size()));
            c.point = c.from = c.to = Vec3(p.x(), p.y(), top);
        }
        return solid;
    }
    void wish(Quantity quantity, std::vector<std::string> objects) {
        const std::string name = nameOf(quantity, objects);
        scene_.dimensions.push_back({name, quantity, std::move(objects), false});
    }
    static std::string nameOf(Quantity quantity, const std::vector<std::string>& objects) {
        std::string text = quantity == Quantity::Height     ? "height of "
                           : quantity == Quantity::Diameter ? "diameter of "
                           : quantity == Quantity::OffsetX  ? "x of "
                           : quantity == Quantity::OffsetY  ? "y of "
                                                            : "distance from ";
        if (quantity == Quantity::Distance) return text + objects[0] + " to " + objects[1];
        return text + objects.back();
    }
    void wishPosition(const std::string& name) {
        wish(Quantity::OffsetX, {"hole 1", name});
        if (name != "hole 2") wish(Quantity::OffsetY, {"hole 1", name});
    }

    void plate() {
        const double d = insetOf(task_), X = task_.sizeX_mm, Y = task_.sizeY_mm;
        const Vec2 a(-d, -d), b(X - d, Y - d);
        auto solid = box("plate", a, b, partBox(task_).low.z(), 0.0, 0, true);
        solid.colour = Vec3(0.10, 0.16, 0.12);
        solid.wallColour = Vec3(0.35, 0.32, 0.25);
        const std::array<Vec2, 4> at = {Vec2(0, 0), Vec2(X - 2 * d, 0), Vec2(X - 2 * d, Y - 2 * d),
                                        Vec2(0, Y - 2 * d)};
        for (std::size_t i = 0; i < 4; ++i) {
            const std::string name = fmt::format("hole {}", i + 1);
            hole(name, at[i], holeRadius(task_), 0, solid);
            if (i > 0) wishPosition(name);
            wish(Quantity::Diameter, {name});
        }
        for (const double h : otherHeights(task_))
            if (h < 0) {
                const auto [low, high] = cell(h, 0.85);
                solid.openings.push_back({"", std::nullopt, rectangle(low, high)});
            }
        scene_.solids.push_back(solid);
        scene_.datumOrigin = "hole 1";
        scene_.datumDirection = "hole 2";
        wish(Quantity::Distance, {"plate left", "plate right"});
        wish(Quantity::Distance, {"plate front", "plate rear"});
    }
    /// Share of the cell of the plate that belongs to this height.
    std::pair<Vec2, Vec2> cell(double height, double share) const {
        const auto heights = otherHeights(task_);
        const auto i =
            static_cast<std::size_t>(std::find(heights.begin(), heights.end(), height) - heights.begin());
        const auto columns =
            static_cast<std::size_t>(std::ceil(std::sqrt(static_cast<double>(heights.size()))));
        const std::size_t rows = (heights.size() + columns - 1) / columns;
        const double d = insetOf(task_), room = 0.7;
        const Vec2 step(room * task_.sizeX_mm / static_cast<double>(columns),
                        room * task_.sizeY_mm / static_cast<double>(rows));
        const Vec2 first(0.15 * task_.sizeX_mm - d, 0.15 * task_.sizeY_mm - d);
        const Vec2 middle(first.x() + (static_cast<double>(i % columns) + 0.5) * step.x(),
                          first.y() + (static_cast<double>(i / columns) + 0.5) * step.y());
        return {middle - 0.5 * share * step, middle + 0.5 * share * step};
    }
    void block(std::size_t index, std::size_t, double height) {
        const int level = static_cast<int>(index) + 1;
        scene_.levels.push_back({fmt::format("level at {:g}", height), height});
        const std::string name = fmt::format("{} {}", height > 0 ? "block" : "stub", level);
        const auto [a, b] = cell(height, height > 0 ? 0.6 : 0.5);
        const double bottom = height > 0 ? 0.0 : partBox(task_).low.z();
        auto solid = box(name, a, b, bottom, height, level, true);
        solid.colour = Vec3(0.45, 0.42, 0.38);
        solid.wallColour = Vec3(0.22, 0.20, 0.19);
        hole(name + " hole", 0.5 * (a + b), std::min(holeRadius(task_), 0.2 * (b - a).minCoeff()), level,
             solid);
        scene_.solids.push_back(solid);
        wishPosition(name + " hole");
        wish(Quantity::Diameter, {name + " hole"});
        wish(Quantity::Distance, {name + " left", name + " right"});
        wish(Quantity::Distance, {name + " front", name + " rear"});
        wishPosition(name + " corner 1");
    }
    void referenceLength(const char* name, const Vec2& from, bool alongX, double length, double top) {
        const double w = ruleWidth(task_);
        const int level = static_cast<int>(scene_.levels.size());
        scene_.levels.push_back({name, top});
        const Vec2 to = from + (alongX ? Vec2(length, w) : Vec2(w, length));
        auto solid = box(name, from, to, top - 1.0, top, level, false);
        solid.colour = Vec3(0.6, 0.6, 0.58);
        solid.wallColour = Vec3(0.12, 0.12, 0.12);
        for (const PlannedView& v : plannedViews())  // taken away where it would hide the part
            if (v.view == survey::View::Top || v.view == survey::View::Oblique)
                solid.onlyIn.push_back(v.name);
        scene_.solids.push_back(solid);
        const std::string own = name;
        scene_.readings.push_back({name,
                                   Quantity::Distance,
                                   {own + (alongX ? " left" : " front"), own + (alongX ? " right" : " rear")},
                                   task_.reference.sigma_mm,
                                   length,
                                   true});
    }
    void referenceLengths() {
        const Box part = partBox(task_);
        const double g = gap(task_), w = ruleWidth(task_), z = raisedHeight(task_);
        const double lx = stretchAlong(task_, true), ly = stretchAlong(task_, false);
        const Vec2 middle = 0.5 * (part.low + part.high).head<2>();
        referenceLength(kAlongX, {middle.x() - 0.5 * lx, part.low.y() - g - w}, true, lx, 0.0);
        referenceLength(kAlongY, {part.high.x() + g, middle.y() - 0.5 * ly}, false, ly, 0.0);
        referenceLength(kRaised, {middle.x() - 0.5 * lx, part.high.y() + g}, true, lx, z);
    }

    void cameras() {
        render::SceneLens lens;
        lens.name = "camera";
        lens.make = "Example";
        lens.body = "Example body";
        lens.lens = fmt::format("Example {:g} mm", setup_.focal_mm);
        lens.focalLength_mm = setup_.focal_mm;
        lens.pixelPitch_mm = task_.sensor.pitch_mm();
        lens.frameWidth = task_.sensor.width_px;
        lens.frameHeight = task_.sensor.height_px;
        if (setup_.upright) std::swap(lens.frameWidth, lens.frameHeight);
        lens.truth.c = setup_.principal_px;
        lens.truth.pp = Vec2(0.5 * (lens.frameWidth - 1), 0.5 * (lens.frameHeight - 1));
        lens.nominalStandOff_mm = setup_.standOff_mm;
        lens.fNumber = setup_.fNumber;
        scene_.lenses.push_back(lens);
        for (const PlannedView& v : plannedViews()) scene_.cameras.push_back(camera(v, lens));
    }
    render::SceneCamera camera(const PlannedView& v, const render::SceneLens& lens) const {
        render::SceneCamera c;
        c.name = v.name;
        c.view = v.view;
        c.standOff_mm = setup_.standOff_mm;
        c.aim = aimOf(task_);
        c.azimuth = v.azimuth;
        c.offAxis = kOblique_deg * std::numbers::pi / 180.0;
        c.roll = v.roll;
        c.cropWidth = lens.frameWidth;
        c.cropHeight = lens.frameHeight;
        c.blur_px = setup_.blur_px;
        c.readNoise = 0.001;  // of a usual body at base sensitivity: as in the bundled sample
        c.shotNoise = 0.007;
        c.quality = 92;
        // A dark cloth well behind the part.
        const Vec3 forward = render::poseOf(c).R.row(2).transpose();
        const double depth = std::max(task_.sizeX_mm, task_.sizeY_mm) + 2 * wholeBox(task_).high.z();
        c.backdrop = {forward, forward.dot(c.aim) + depth, Vec3(0.02, 0.02, 0.02)};
        return c;
    }

    void caliper(const std::string& a, const std::string& b, double length) {
        if (length <= task_.caliperReach_mm)
            scene_.readings.push_back(
                {"caliper " + a, Quantity::Distance, {a, b}, kFaceSigma_mm, std::nullopt});
    }
    void readings(const std::vector<double>& heights) {
        if (task_.caliper) {
            caliper("plate left", "plate right", task_.sizeX_mm);
            caliper("plate front", "plate rear", task_.sizeY_mm);
            for (std::size_t i = 0; i < heights.size(); ++i)
                if (heights[i] > 0 && readBlocks_++ < 2) {
                    const std::string name = fmt::format("block {}", i + 1);
                    const auto [a, b] = cell(heights[i], 0.6);
                    caliper(name + " left", name + " right", b.x() - a.x());
                    caliper(name + " front", name + " rear", b.y() - a.y());
                }
            if (2 * holeRadius(task_) >= 2.5)  // into which inner jaws still go
                scene_.readings.push_back(
                    {"caliper hole 1", Quantity::Diameter, {"hole 1"}, kHoleSigma_mm, std::nullopt});
        }
        // As heights with their sign: a depth alone leaves open on which side of the datum level it lies.
        if (task_.depthRod)
            for (std::size_t i = 1; i <= heights.size(); ++i)
                scene_.readings.push_back({"depth rod on " + scene_.levels[i].name,
                                           Quantity::Height,
                                           {scene_.levels[i].name},
                                           kDepthSigma_mm,
                                           std::nullopt});
        scene_.readings.push_back(
            {"tape", Quantity::Tape, {"top"}, kTapeShare * setup_.standOff_mm, std::nullopt});
    }

    const Task& task_;
    const Setup& setup_;
    render::Scene scene_;
    int readBlocks_ = 0;
};

}  // namespace

Box partBox(const Task& t) {
    const double d = insetOf(t), thick = std::max(0.01 * std::max(t.sizeX_mm, t.sizeY_mm), 1.0);
    return {Vec3(-d, -d, t.lowest() - thick), Vec3(t.sizeX_mm - d, t.sizeY_mm - d, t.highest())};
}

Box wholeBox(const Task& t) {
    Box box = partBox(t);
    const double beside = gap(t) + ruleWidth(t);
    box.low.y() -= beside;
    box.high.x() += beside;
    box.high.y() += beside;
    box.high.z() = std::max(box.high.z(), raisedHeight(t));
    const Box part = partBox(t);
    for (const int axis : {0, 1}) {  // an object of one length may be longer than the part
        const double middle = 0.5 * (part.low[axis] + part.high[axis]);
        const double half = 0.5 * stretchAlong(t, axis == 0);
        box.low[axis] = std::min(box.low[axis], middle - half);
        box.high[axis] = std::max(box.high[axis], middle + half);
    }
    return box;
}

Vec3 aimOf(const Task& t) {
    const Box box = wholeBox(t);
    return {0.5 * (box.low.x() + box.high.x()), 0.5 * (box.low.y() + box.high.y()), 0.0};
}

double raisedHeight(const Task& t) {
    const double fifth = 0.2 * shorter(t);
    return std::max(t.highest(), std::ceil(fifth));
}

double stretchAlong(const Task& t, bool alongX) {
    if (!t.reference.anyShorter) return t.reference.length_mm;
    const double side = alongX ? t.sizeX_mm : t.sizeY_mm;
    const double whole = side >= 20 ? 10 * std::floor(side / 10) : side;
    return std::min(t.reference.length_mm, whole);
}

render::Scene standIn(const Task& task, const Setup& setup) { return Builder(task, setup).build(); }

}  // namespace trammel::plan
