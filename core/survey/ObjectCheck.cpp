// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/survey/ObjectCheck.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/survey/Names.h"

namespace trammel::survey {
namespace {

constexpr double kSamePoint_px = 0.01;  ///< points of one mark nearer than this are one point

/// What a number may be without being a slip of the keyboard or of a file. Far wider than anything that can
/// be measured, and narrow enough that squares and reciprocals stay numbers.
struct Range {
    double low, high;
};
constexpr Range kLength_mm{1e-6, 1e9};
constexpr Range kReadingSigma{1e-9, 1e9};  // mm, rad
constexpr Range kMarkSigma_px{1e-6, 1e6};
constexpr Range kPrincipalDistance_px{1.0, 1e9};
constexpr Range kConstant{0.0, 1e15};  // distortion of a long lens is large in normalised coordinates
constexpr Range kConstantSigma{1e-15, 1e15};
constexpr Range kSquareSigma_rad{1e-9, 1e3};

/// Collects findings about one object.
class Findings {
  public:
    Findings(const Survey& survey, const Id& id) : survey_(&survey), object_(id) {}
    explicit Findings(std::string object) : object_(std::move(object)) {}

    /// The object's name is looked up here: most have nothing to be said of them.
    void add(std::string what, std::string remedy, ErrorCode code = ErrorCode::BadValue) {
        errors_.push_back(
            {code, std::move(what), survey_ ? describe(*survey_, object_) : object_, std::move(remedy)});
    }
    void dangling(std::string_view role, const Id& id) {
        add(id.empty() ? fmt::format("names no {}", role)
                       : fmt::format("names the {} {}, which the survey does not hold", role, id),
            id.empty() ? "choose one or remove this" : "choose another or remove this", ErrorCode::NotFound);
    }
    /// False, and a finding, when the value is NaN or infinite.
    bool finite(std::string_view name, double value) {
        if (std::isfinite(value)) return true;
        add(fmt::format("{} is not a number", name), "enter it again");
        return false;
    }
    void positive(std::string_view name, double value, std::string_view remedy) {
        if (finite(name, value) && !(value > 0.0))
            add(fmt::format("{} is {:g}, which is not above zero", name, value), std::string(remedy));
    }
    /// A finding when the value's size is beyond reason. Zero passes: whether it may be zero is said
    /// elsewhere.
    void plausible(std::string_view name, double value, const Range& range) {
        const double size = std::abs(value);
        if (!std::isfinite(value) || value == 0.0 || (size >= range.low && size <= range.high)) return;
        add(fmt::format("{} is {:g}, which cannot be meant", name, value),
            fmt::format("enter a value between {:g} and {:g}", range.low, range.high));
    }
    void notNegative(std::string_view name, double value, std::string_view remedy) {
        if (finite(name, value) && value < 0.0)
            add(fmt::format("{} is {:g}, which is below zero", name, value), std::string(remedy));
    }
    std::vector<Error> take() { return std::move(errors_); }

  private:
    const Survey* survey_ = nullptr;
    std::string object_;  ///< its id, or its name where there is no survey
    std::vector<Error> errors_;
};

constexpr std::string_view kEnterSigma = "enter a standard uncertainty above zero";

void checkConstant(Findings& f, std::string_view name, const Constant& c) {
    if (f.finite(name, c.value)) f.plausible(name, c.value, kConstant);
    if (c.mode != ConstantMode::Prior) return;
    const std::string sigma = fmt::format("σ of {}", name);
    f.positive(sigma, c.sigma, kEnterSigma);
    if (c.sigma > 0.0) f.plausible(sigma, c.sigma, kConstantSigma);
}

bool isRound(const Feature* f) { return f && (f->kind == FeatureKind::Hole || f->kind == FeatureKind::Arc); }
bool isPoint(const Feature* f) { return f && f->kind != FeatureKind::Edge; }
bool isEdge(const Feature* f) { return f && f->kind == FeatureKind::Edge; }

/// How many objects a quantity takes, and which.
struct Wanted {
    std::size_t count;
    std::string_view words;
};

Wanted wanted(Quantity q) {
    switch (q) {
        case Quantity::Distance:
            return {2, "two features"};
        case Quantity::Diameter:
        case Quantity::Radius:
            return {1, "one hole or arc"};
        case Quantity::Depth:
            return {2, "two levels or features"};
        case Quantity::Height:
            return {1, "one level or feature"};
        case Quantity::OffsetX:
        case Quantity::OffsetY:
            return {2, "two corners, holes or arcs"};
        case Quantity::Angle:
            return {2, "two edges"};
        case Quantity::Tape:
            return {1, "one photograph"};
    }
    return {0, ""};
}

bool accepts(const Survey& s, Quantity q, const Id& id) {
    const Feature* f = find(s.features, id);
    switch (q) {
        case Quantity::Distance:
            return f != nullptr;
        case Quantity::Diameter:
        case Quantity::Radius:
            return isRound(f);
        case Quantity::Depth:
        case Quantity::Height:
            return f || find(s.levels, id);
        case Quantity::OffsetX:
        case Quantity::OffsetY:
            return isPoint(f);
        case Quantity::Angle:
            return isEdge(f);
        case Quantity::Tape:
            return find(s.stations, id) != nullptr;
    }
    return false;
}

bool holds(const Survey& s, const Id& id) {
    return find(s.features, id) || find(s.levels, id) || find(s.stations, id) || find(s.groups, id) ||
           find(s.marks, id) || find(s.readings, id) || find(s.dimensions, id) || find(s.outlines, id);
}

void checkObjects(Findings& f, const Survey& s, Quantity q, const std::vector<Id>& objects) {
    const Wanted w = wanted(q);
    if (objects.size() != w.count) {
        f.add(fmt::format("a {} takes {}, but {} given", quantityName(q), w.words,
                          objects.size() == 1 ? "1 is" : fmt::format("{} are", objects.size())),
              "choose them again");
        return;
    }
    for (const Id& id : objects) {
        if (!holds(s, id))
            f.dangling("object", id);
        else if (!accepts(s, q, id))
            f.add(fmt::format("a {} takes {}, and {} is none", quantityName(q), w.words, describe(s, id)),
                  "choose another");
    }
    if (objects.size() == 2 && objects[0] == objects[1])
        f.add(fmt::format("names {} twice", describe(s, objects[0])), "choose two different ones");
}

void checkValue(Findings& f, Quantity q, double v) {
    switch (q) {
        case Quantity::Distance:
        case Quantity::Diameter:
        case Quantity::Radius:
        case Quantity::Tape:
            f.positive("length", v, "enter the measured length or remove it");
            if (v > 0.0) f.plausible("length", v, kLength_mm);
            break;
        case Quantity::Depth:
            f.notNegative("depth", v, "enter it without a sign");
            if (v > 0.0) f.plausible("depth", v, {0.0, kLength_mm.high});
            break;
        case Quantity::Angle:
            if (f.finite("angle", v) && (v < 0.0 || v > std::numbers::pi / 2 + 1e-9))
                f.add(fmt::format("angle of {:g}° lies outside 0° to 90°", v * 180.0 / std::numbers::pi),
                      "enter the smaller angle between the edges");
            break;
        case Quantity::Height:
        case Quantity::OffsetX:
        case Quantity::OffsetY:
            if (f.finite("value", v)) f.plausible("value", v, {0.0, kLength_mm.high});
            break;
    }
}

void checkPhoto(Findings& f, const Photo& p) {
    if (p.width <= 0 || p.height <= 0)
        f.add(fmt::format("picture size {} × {} is not positive", p.width, p.height),
              "add the photograph again");
    if (p.orientation < 1 || p.orientation > 8)
        f.add(fmt::format("orientation {} is none of 1 to 8", p.orientation), "add the photograph again");
    const FrameCrop& c = p.crop;
    if (!f.finite("crop offset", c.offsetX) || !f.finite("crop offset", c.offsetY) || !c.known) return;
    const double slack = 0.5;  // px: an offset from a raw developer may be rounded
    if (c.offsetX < -slack || c.offsetY < -slack || c.offsetX + p.width > c.fullWidth + slack ||
        c.offsetY + p.height > c.fullHeight + slack)
        f.add(fmt::format("crop at ({:g}, {:g}) of {} × {} does not lie inside the full frame of {} × {}",
                          c.offsetX, c.offsetY, p.width, p.height, c.fullWidth, c.fullHeight),
              "enter the full frame and the offset again");
}

}  // namespace

std::vector<Error> checkObject(const Survey& s, const CameraGroup& g) {
    Findings f(s, g.id);
    f.notNegative("focal length", g.focalLength_mm, "enter it in mm, or 0 for unknown");
    f.notNegative("pixel pitch", g.pixelPitch_mm, "enter it in mm, or 0 for unknown");
    checkConstant(f, "principal distance", g.principalDistance);
    if (const double c = g.principalDistance.value;
        g.principalDistance.mode != ConstantMode::Free && std::isfinite(c)) {
        f.positive("principal distance", c, "enter it in px or leave it free");
        if (c > 0.0 && c <= kConstant.high) f.plausible("principal distance", c, kPrincipalDistance_px);
    }
    checkConstant(f, "principal point x", g.principalX);
    checkConstant(f, "principal point y", g.principalY);
    checkConstant(f, "k1", g.k1);
    checkConstant(f, "k2", g.k2);
    checkConstant(f, "k3", g.k3);
    checkConstant(f, "p1", g.p1);
    checkConstant(f, "p2", g.p2);
    return f.take();
}

std::vector<Error> checkObject(const Survey& s, const Station& st) {
    Findings f(s, st.id);
    if (!find(s.groups, st.group)) f.dangling("camera", st.group);
    f.notNegative("σ of the axis square to the view", st.squareSigma_rad,
                  "enter it above zero, or 0 for off");
    if (st.squareSigma_rad > 0.0)
        f.plausible("σ of the axis square to the view", st.squareSigma_rad, kSquareSigma_rad);
    checkPhoto(f, st.photo);
    return f.take();
}

std::vector<Error> checkObject(const Survey&, const Level&) { return {}; }

std::vector<Error> checkObject(const Survey& s, const Feature& x) {
    Findings f(s, x.id);
    if (x.level.empty()) {
        if (x.kind != FeatureKind::Corner)
            f.add(fmt::format("a feature of kind {} must lie in a level, but names none", kindName(x.kind)),
                  "choose its level");
    } else if (!find(s.levels, x.level)) {
        f.dangling("level", x.level);
    }
    return f.take();
}

namespace {

/// Says the first thing that is wrong with a point: one finding a mark, not one a point.
bool checkPoint(Findings& f, const MarkPoint& p, const Photo* photo) {
    if (!f.finite("position", p.px.x()) || !f.finite("position", p.px.y())) return false;
    const bool sized = photo && photo->width > 0 && photo->height > 0;
    // A rim may run out of the picture, and nobody clicks farther out than a picture's own size.
    const double beyond = sized ? std::max(photo->width, photo->height) : 1e6;
    const Vec2 size = sized ? Vec2(photo->width, photo->height) : Vec2::Zero();
    if ((p.px.array() < -beyond).any() || (p.px.array() > size.array() + beyond).any()) {
        f.add(sized ? fmt::format("position ({:g}, {:g}) lies far outside the picture of {} × {}", p.px.x(),
                                  p.px.y(), photo->width, photo->height)
                    : fmt::format("position ({:g}, {:g}) lies outside any picture", p.px.x(), p.px.y()),
              "mark it again");
        return false;
    }
    if (!(p.sigma_px > 0.0) || !std::isfinite(p.sigma_px)) {
        f.positive("σ", p.sigma_px, kEnterSigma);
        return false;
    }
    if (p.sigma_px < kMarkSigma_px.low || p.sigma_px > kMarkSigma_px.high) {
        f.plausible("σ", p.sigma_px, kMarkSigma_px);
        return false;
    }
    return true;
}

}  // namespace

std::vector<Error> checkObject(const Survey& s, const Mark& m) {
    return checkMark(s, m, find(s.stations, m.station), find(s.features, m.feature));
}

std::vector<Error> checkMark(const Survey& s, const Mark& m, const Station* station, const Feature* feature) {
    Findings f(s, m.id);
    if (!station) f.dangling("photograph", m.station);
    if (!feature) f.dangling("feature", m.feature);
    for (const MarkPoint& p : m.points)
        if (!checkPoint(f, p, station ? &station->photo : nullptr)) break;
    return f.take();
}

std::vector<Error> checkObject(const Survey& s, const Reading& r) {
    Findings f(s, r.id);
    checkObjects(f, s, r.quantity, r.objects);
    checkValue(f, r.quantity, r.measured.value);
    f.positive("σ", r.measured.sigma, kEnterSigma);
    if (r.measured.sigma > 0.0) f.plausible("σ", r.measured.sigma, kReadingSigma);
    return f.take();
}

std::vector<Error> checkObject(const Survey& s, const Dimension& d) {
    Findings f(s, d.id);
    checkObjects(f, s, d.quantity, d.objects);
    f.notNegative("wanted ±", d.target, "enter it above zero, or 0 for none");
    return f.take();
}

std::vector<Error> checkObject(const Survey& s, const Outline& o) {
    Findings f(s, o.id);
    if (!find(s.levels, o.level)) f.dangling("level", o.level);
    for (const Id& id : o.chain)
        if (!find(s.features, id)) f.dangling("feature", id);
    return f.take();
}

std::vector<Error> checkObject(const Survey& s, const Datum& d) {
    Findings f(std::string("datum"));
    if (!d.level.empty() && !find(s.levels, d.level)) f.dangling("level", d.level);
    const Feature* origin = find(s.features, d.origin);
    if (!d.origin.empty() && !origin) f.dangling("feature", d.origin);
    if (origin && !isPoint(origin))
        f.add(fmt::format("the datum point cannot be {}, which is no point", describe(s, d.origin)),
              "choose a corner, hole or arc");
    if (!d.direction.empty() && !find(s.features, d.direction)) f.dangling("feature", d.direction);
    if (!d.direction.empty() && d.direction == d.origin)
        f.add(fmt::format("{} is both the datum point and the direction", describe(s, d.origin)),
              "choose an edge or a second point for the direction");
    return f.take();
}

std::size_t leastPoints(FeatureKind kind) {
    switch (kind) {
        case FeatureKind::Corner:
            return 1;
        case FeatureKind::Edge:
            return 2;
        case FeatureKind::Hole:
        case FeatureKind::Arc:
            return 3;
    }
    return 1;
}

std::vector<Error> checkPoints(const Survey& s, const Mark& m, const Feature* feature) {
    if (!feature) return {};  // dangling: said elsewhere
    Findings f(s, m.id);
    const std::size_t least = leastPoints(feature->kind);
    if (m.points.size() < least) {
        f.add(fmt::format(
                  "has {} point{}, but {} {} needs at least {}", m.points.size(),
                  m.points.size() == 1 ? "" : "s",
                  feature->kind == FeatureKind::Hole || feature->kind == FeatureKind::Corner ? "a" : "an",
                  kindName(feature->kind), least),
              "mark it again");
        return f.take();
    }
    if (feature->kind == FeatureKind::Corner && m.points.size() > 1)
        f.add(fmt::format("has {} points, but a corner has one", m.points.size()), "mark it again");
    std::size_t distinct = 0;
    for (std::size_t i = 0; i < m.points.size() && distinct < least; ++i) {
        bool repeats = false;
        for (std::size_t j = 0; j < i && !repeats; ++j)
            repeats = (m.points[i].px - m.points[j].px).norm() < kSamePoint_px;
        if (!repeats) ++distinct;
    }
    if (distinct < least) f.add("has all its points at one place", "mark it again with points apart");
    return f.take();
}

}  // namespace trammel::survey
