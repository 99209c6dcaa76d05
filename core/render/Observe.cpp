// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/render/Observe.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "core/render/Random.h"
#include "core/render/Truth.h"

namespace trammel::render {
namespace {

using survey::FeatureKind;
using survey::Id;
using survey::Quantity;

bool holds(const std::vector<std::string>& list, const std::string& name) {
    return std::find(list.begin(), list.end(), name) != list.end();
}

/// Makes one survey; members are the state that the parts share.
class Draw {
  public:
    Draw(const Scene& scene, const std::vector<Sighting>& sightings, const ObserveOptions& options)
        : scene_(scene),
          sightings_(sightings),
          options_(options),
          random_(options.seed),
          truth_(truthOf(scene)) {}

    survey::Survey make() {
        out_.title = scene_.title;
        out_.unit = scene_.unit;
        out_.note = scene_.note;
        addStations();
        addMarks();
        addFeatures();
        addReadings();
        addWishes();
        return std::move(out_);
    }

  private:
    double noise(double sigma) { return options_.noise ? sigma * random_.normal() : 0.0; }
    Id idOf(const std::string& name) const { return truth_.ids.at(name); }
    bool kept(const Id& id) const { return kept_.contains(id); }

    bool stationKept(const SceneCamera& camera) const {
        if (holds(options_.dropStations, camera.name)) return false;
        return options_.onlyStations.empty() || holds(options_.onlyStations, camera.name);
    }

    survey::CameraGroup group(int index, const SceneCamera& camera) const {
        const SceneLens& lens = scene_.lenses[static_cast<std::size_t>(index)];
        const FrameSize frame = frameOf(scene_, camera);
        survey::CameraGroup g;
        g.id = fmt::format("G{}", index + 1);
        g.name = lens.name;
        g.body = fmt::format("{} {}", lens.make, lens.body);
        g.lens = lens.lens;
        g.focalLength_mm = lens.focalLength_mm;
        g.pixelPitch_mm = lens.pixelPitch_mm;
        // Unit focusing: c = f (1 + m), m = f / (Z - f).
        const double m = lens.focalLength_mm / (lens.nominalStandOff_mm - lens.focalLength_mm);
        const double c = lens.focalLength_mm * (1 + m) / lens.pixelPitch_mm;
        g.principalDistance = {c, c * options_.focalPriorFraction, survey::ConstantMode::Prior};
        if (!(options_.focalPriorFraction > 0)) g.principalDistance.mode = survey::ConstantMode::Free;
        g.principalX.value = 0.5 * (frame.width - 1);
        g.principalY.value = 0.5 * (frame.height - 1);
        if (options_.k1Sigma > 0) g.k1 = {0.0, options_.k1Sigma, survey::ConstantMode::Prior};
        return g;
    }

    void addStations() {
        for (std::size_t i = 0; i < scene_.cameras.size(); ++i) {
            const SceneCamera& camera = scene_.cameras[i];
            if (!stationKept(camera)) continue;
            const FrameSize frame = frameOf(scene_, camera);
            survey::Station s;
            s.id = fmt::format("S{}", i + 1);
            s.name = camera.name;
            s.view = camera.view;
            s.photo.path = photographPath(camera);
            s.photo.width = camera.cropWidth;
            s.photo.height = camera.cropHeight;
            s.photo.orientation = camera.orientation;
            s.photo.crop = {frame.width, frame.height, static_cast<double>(camera.cropX),
                            static_cast<double>(camera.cropY), true};
            s.group = fmt::format("G{}", camera.lens + 1);
            if (!survey::find(out_.groups, s.group)) out_.groups.push_back(group(camera.lens, camera));
            kept_.insert(s.id);
            out_.stations.push_back(s);
        }
    }

    /// A point moved across the feature by one draw of the noise. Only across: where along an edge or rim a
    /// person clicks is free choice, not error.
    Vec2 clickAcross(const SceneCamera& camera, const SceneFeature& f, double s) {
        const OnFeature on = along(f, s);
        const Vec2 px = pictureOf(scene_, camera, on.point);
        const Vec2 t = (pictureOf(scene_, camera, on.point + 0.01 * on.tangent) - px).normalized();
        return px + noise(options_.sigma_px) * Vec2(-t.y(), t.x());
    }

    std::vector<double> chosen(const SceneFeature& f, const std::vector<double>& where) const {
        const bool edge = f.kind == FeatureKind::Edge;
        int count = edge ? options_.edgePoints : options_.rimPoints;
        if (count == 0) count = edge ? (options_.fitted ? 4 : 2) : (options_.fitted ? 12 : 5);
        if (f.kind == FeatureKind::Slot) count = std::max(count, options_.fitted ? 16 : 8);
        if (f.kind == FeatureKind::Curve) count = std::max(count, options_.fitted ? 24 : 16);
        const bool ring =
            f.kind == FeatureKind::Hole || f.kind == FeatureKind::Slot || f.kind == FeatureKind::Curve;
        std::vector<double> out;
        // An edge is marked near its seen ends, a rim evenly around what is seen of it.
        const double last = static_cast<double>(where.size() - 1);
        for (int i = 0; i < count; ++i) {
            const double part = ring ? (i + 0.5) / count : 0.05 + 0.9 * i / std::max(1, count - 1);
            out.push_back(where[static_cast<std::size_t>(std::lround(part * last))]);
        }
        return out;
    }

    void addMarks() {
        for (const Sighting& sighting : sightings_) {
            const SceneCamera& camera = scene_.cameras[static_cast<std::size_t>(sighting.camera)];
            if (!stationKept(camera)) continue;
            const SceneFeature& f = scene_.features[static_cast<std::size_t>(sighting.feature)];
            survey::Mark mark;
            mark.id = fmt::format("M{}", out_.marks.size() + 1);
            mark.station = fmt::format("S{}", sighting.camera + 1);
            mark.feature = fmt::format("F{}", sighting.feature + 1);
            mark.origin = options_.fitted ? survey::MarkOrigin::Fitted : survey::MarkOrigin::Hand;
            if (f.kind == FeatureKind::Corner) {
                Vec2 px = pictureOf(scene_, camera, f.point);
                px.x() += noise(options_.sigma_px);
                px.y() += noise(options_.sigma_px);
                mark.points.push_back({px, options_.sigma_px});
            } else {
                for (const double s : chosen(f, sighting.where))
                    mark.points.push_back({clickAcross(camera, f, s), options_.sigma_px});
            }
            kept_.insert(mark.feature);
            out_.marks.push_back(mark);
        }
    }

    void addFeatures() {
        std::set<int> levels{0};
        for (std::size_t i = 0; i < scene_.features.size(); ++i) {
            const Id id = fmt::format("F{}", i + 1);
            if (!kept(id)) continue;
            const SceneFeature& f = scene_.features[i];
            levels.insert(f.level);
            out_.features.push_back({id, f.name, f.kind, fmt::format("L{}", f.level + 1)});
        }
        for (const int level : levels) {
            const Id id = fmt::format("L{}", level + 1);
            kept_.insert(id);
            out_.levels.push_back({id, scene_.levels[static_cast<std::size_t>(level)].name});
        }
        out_.datum = {"L1", idOf(scene_.datumOrigin), idOf(scene_.datumDirection)};
    }

    /// Ids of the objects; empty when one of them is not in this survey.
    std::vector<Id> objects(const std::vector<std::string>& names) const {
        std::vector<Id> ids;
        for (const std::string& name : names) {
            ids.push_back(idOf(name));
            if (!kept(ids.back())) return {};
        }
        return ids;
    }

    /// Whether one more reading of this sort is wanted.
    bool wanted(const SceneReading& r) {
        if (r.check) return options_.checkReadings;
        const auto room = [](int most, int& used) { return most < 0 || used++ < most; };
        if (r.reference) return room(options_.mostReferences, references_);
        if (r.quantity == Quantity::Tape) return room(options_.mostTapes, tapes_);
        if (r.quantity == Quantity::Depth) return room(options_.mostDepths, depths_);
        return room(options_.mostCalipers, calipers_);
    }

    void addReadings() {
        for (std::size_t i = 0; i < scene_.readings.size(); ++i) {
            const SceneReading& r = scene_.readings[i];
            const std::vector<Id> ids = objects(r.objects);
            const auto value = truth_.value(r.quantity, ids);
            const double error = noise(r.sigma);  // drawn in any case, so that dropping one leaves the others
            if (ids.empty() || !value || !wanted(r)) continue;
            survey::Reading reading;
            reading.id = fmt::format("R{}", i + 1);
            reading.name = r.name;
            reading.quantity = r.quantity;
            reading.objects = ids;
            const bool printed = r.reference && r.nominal && options_.nominalReferences;
            reading.measured = {printed ? *r.nominal : *value + error, r.sigma};
            reading.reference = r.reference;
            reading.check = r.check;
            out_.readings.push_back(reading);
        }
    }

    void addWishes() {
        for (std::size_t i = 0; i < scene_.dimensions.size(); ++i) {
            const SceneDimension& d = scene_.dimensions[i];
            const auto ids = objects(d.objects);
            if (!ids.empty())
                out_.dimensions.push_back({fmt::format("D{}", i + 1), d.name, d.quantity, ids, d.important});
        }
        for (std::size_t i = 0; i < scene_.outlines.size(); ++i) {
            const SceneOutline& o = scene_.outlines[i];
            const auto ids = objects(o.chain);
            if (!ids.empty())
                out_.outlines.push_back(
                    {fmt::format("O{}", i + 1), o.name, o.purpose, fmt::format("L{}", o.level + 1), ids});
        }
    }

    const Scene& scene_;
    const std::vector<Sighting>& sightings_;
    const ObserveOptions& options_;
    Random random_;
    Truth truth_;
    survey::Survey out_;
    std::set<Id> kept_;
    int references_ = 0, tapes_ = 0, depths_ = 0, calipers_ = 0;
};

}  // namespace

Observer::Observer(Scene scene, const SightOptions& sight)
    : scene_(std::move(scene)), sightings_(render::sightings(scene_, sight)) {}

survey::Survey Observer::draw(const ObserveOptions& options) const {
    return Draw(scene_, sightings_, options).make();
}

survey::Survey observe(const Scene& scene, const ObserveOptions& options) {
    return Observer(scene).draw(options);
}

std::string photographPath(const SceneCamera& camera) {
    std::string file = camera.name;
    std::replace(file.begin(), file.end(), ' ', '-');
    return fmt::format("photographs/{}.jpg", file);
}

}  // namespace trammel::render
