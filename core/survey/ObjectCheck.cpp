// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/survey/ObjectCheck.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "core/survey/Findings.h"
#include "core/survey/Names.h"
#include "core/survey/QuantityCheck.h"

namespace trammel::survey {
namespace {

constexpr double kSamePoint_px = 0.01;  ///< points of one mark nearer than this are one point

constexpr Range kReadingSigma{1e-9, 1e9};  // mm, rad
constexpr Range kMarkSigma_px{1e-6, 1e6};
constexpr Range kPrincipalDistance_px{1.0, 1e9};
constexpr Range kConstant{0.0, 1e15};  // distortion of a long lens is large in normalised coordinates
constexpr Range kConstantSigma{1e-15, 1e15};
constexpr Range kSquareSigma_rad{1e-9, 1e3};

void checkConstant(Findings& f, std::string_view name, const Constant& c) {
    if (f.finite(name, c.value)) f.plausible(name, c.value, kConstant);
    if (c.mode != ConstantMode::Prior) return;
    const std::string sigma = fmt::format("σ of {}", name);
    f.positive(sigma, c.sigma, kEnterSigma);
    if (c.sigma > 0.0) f.plausible(sigma, c.sigma, kConstantSigma);
}

void checkPhoto(Findings& f, const Photo& p) {
    if (p.width <= 0 || p.height <= 0)
        f.add(fmt::format("picture size {} × {} is not positive", p.width, p.height),
              "add the photograph again");
    if (p.orientation < 1 || p.orientation > 8)
        f.add(fmt::format("orientation {} is none of 1 to 8", p.orientation), "add the photograph again");
    const FrameCrop& c = p.crop;
    if (!f.finite("crop offset", c.offsetX) || !f.finite("crop offset", c.offsetY)) return;
    constexpr int kLargestFrame = 1'000'000;  // px
    if (c.fullWidth > kLargestFrame || c.fullHeight > kLargestFrame)
        f.add(fmt::format("full frame of {} × {} cannot be meant", c.fullWidth, c.fullHeight),
              "enter the full frame again");
    if (!c.known && !isCropped(p)) return;
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
    checkConstant(f, "entrance pupil", g.pupil);
    checkConstant(f, "growth of light", g.lightGrowth);
    if (g.pupil.mode == ConstantMode::Free)
        f.add("the entrance pupil cannot be left free: a tape alone cannot tell it from the distance",
              "enter it with its σ, or as fixed");
    if (const CameraGroup* from = find(s.groups, g.refocusedFrom); !g.refocusedFrom.empty()) {
        if (!from)
            f.dangling("camera", g.refocusedFrom);
        else if (from->id == g.id || from->refocusedFrom == g.id)
            f.add("is said to be refocused from itself", "choose the other camera, for one of the two only");
    }
    f.positive("σ of refocusing", g.focusSigma, kEnterSigma);
    if (g.focusSigma > 0.0) f.plausible("σ of refocusing", g.focusSigma, kSquareSigma_rad);
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
    if (st.mirror) {
        const MirrorMark& m = *st.mirror;
        if (f.finite("mirror mark", m.px.x())) f.finite("mirror mark", m.px.y());
        f.plausible("mirror mark", m.px.cwiseAbs().maxCoeff(), {0.0, 1e6});
        f.positive("σ of the mirror mark", m.sigma_px, kEnterSigma);
        f.positive("σ of the mirror's seat", m.seat_rad, kEnterSigma);
        if (m.sigma_px > 0.0) f.plausible("σ of the mirror mark", m.sigma_px, kMarkSigma_px);
        if (m.seat_rad > 0.0) f.plausible("σ of the mirror's seat", m.seat_rad, kSquareSigma_rad);
        if (st.view == View::Oblique)
            f.add("has a mirror mark, but an oblique view is square to nothing",
                  "remove the mirror mark or choose the view");
    }
    return f.take();
}

std::vector<Error> checkObject(const Survey& s, const Level& l) {
    Findings f(s, l.id);
    if (l.form == LevelForm::Tilted && l.id == s.datum.level)
        f.add("is the datum level and cannot be tilted against itself", "let it be flat or bowed");
    return f.take();
}

std::vector<Error> checkObject(const Survey& s, const Feature& x) {
    Findings f(s, x.id);
    if (x.level.empty()) {
        if (x.kind == FeatureKind::Slot || x.kind == FeatureKind::Curve)
            f.add(fmt::format("a feature of kind {} must lie in a level, but names none", kindName(x.kind)),
                  "choose its level");
    } else if (!find(s.levels, x.level)) {
        f.dangling("level", x.level);
    }
    f.notNegative("width of the transition", x.transition_mm, "enter it in mm, or 0 where it is not known");
    if (x.transition_mm > 0.0) f.plausible("width of the transition", x.transition_mm, kLength_mm);
    if (x.transition == Transition::Round)
        f.positive("width of the rounding", x.transition_mm, "enter it in mm");
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
    if (!f.finite("growth", p.growth_px.x()) || !f.finite("growth", p.growth_px.y())) return false;
    if (p.growth_px.cwiseAbs().maxCoeff() > kMarkSigma_px.high) {
        f.plausible("growth", p.growth_px.cwiseAbs().maxCoeff(), {0.0, kMarkSigma_px.high});
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
    checkValue(f, r.quantity, r.measured.value, r.objects.size());
    f.positive("σ", r.measured.sigma, kEnterSigma);
    if (r.measured.sigma > 0.0) f.plausible("σ", r.measured.sigma, kReadingSigma);
    f.notNegative("width of the jaws' flats", r.jawFlat_mm, "enter it in mm, or 0 for knife edges");
    if (r.jawFlat_mm > 0.0 && !takesJawFlat(r.quantity))
        f.add(fmt::format("a {} has nothing to do with the jaws' flats", quantityName(r.quantity)),
              "enter their width as 0");
    if (r.jawFlat_mm > 0.0 && r.quantity == Quantity::Diameter && r.jawFlat_mm >= r.measured.value)
        f.add("the jaws' flats are wider than the hole", "enter their width again");
    if (r.jawFlat_mm > 0.0) f.plausible("width of the jaws' flats", r.jawFlat_mm, kLength_mm);
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
    if (origin && !hasPoint(origin->kind))
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
        case FeatureKind::Curve:
            return 4;
        case FeatureKind::Slot:
            return 5;
    }
    return 1;
}

std::vector<Error> checkPoints(const Survey& s, const Mark& m, const Feature* feature) {
    if (!feature) return {};  // dangling: said elsewhere
    Findings f(s, m.id);
    const std::size_t least = leastPoints(feature->kind);
    if (m.points.size() < least) {
        f.add(
            fmt::format("has {} point{}, but {} {} needs at least {}", m.points.size(),
                        m.points.size() == 1 ? "" : "s",
                        feature->kind == FeatureKind::Edge || feature->kind == FeatureKind::Arc ? "an" : "a",
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
