// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/Predict.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>

#include "core/adjust/CameraColumns.h"
#include "core/adjust/Covariance.h"
#include "core/adjust/LightGrowth.h"
#include "core/adjust/NetworkConstants.h"
#include "core/adjust/Projection.h"
#include "core/adjust/Shape.h"
#include "core/estimate/JointCovariance.h"

namespace trammel::adjust {
namespace {

using survey::FeatureKind;
using survey::Prediction;

constexpr double kPi = std::numbers::pi, kDegree = kPi / 180.0;
constexpr double kSeenWithin = 60 * kDegree;  ///< of a photograph that shows it
constexpr double kGrazing = 10 * kDegree;     ///< under which a level folds into a line, an edge into a point
constexpr double kBorder_px = 6.0;            ///< of the frame, of no use to a fit
constexpr double kShortest_px = 20.0;         ///< image of an edge or arc
constexpr double kTrim = 0.08;                ///< of an edge or arc at either end: its corners are others'

/// A point of the image and how it moves with the unknowns, across the image or (a corner) in x and y.
struct Place {
    Vec2 px = Vec2::Zero();
    std::vector<std::pair<int, Vec2>> by;  ///< column, change in px
    Vec2 normal = Vec2::Zero();
};

class Predictor {
  public:
    Predictor(const Solution& solution, const Covariance& covariance, std::size_t station)
        : solution_(solution),
          covariance_(covariance),
          state_(covariance.state()),
          columns_(covariance.columns()),
          index_(static_cast<int>(station)),
          station_(covariance.survey().stations[station]),
          joint_(covariance.factor()) {
        toCamera_ = -camera().R.row(2).transpose();
        const double shift =
            state_.groups[at(camera().group)].growth * typicalGrowth(covariance.survey(), station_.group);
        shiftVariance_ = shift * shift;
    }

    std::optional<Prediction> predict(std::size_t feature) {
        const FeatureState& f = state_.features[feature];
        if (!canBeSeen(feature)) return std::nullopt;
        std::vector<Place> places;
        for (const double tau : parameters(feature)) {
            auto place = placeOf(static_cast<int>(feature), tau);
            if (place && inFrame(place->px)) {
                places.push_back(std::move(*place));
                continue;
            }
            if (!isOpen(f)) return std::nullopt;
            if (!places.empty()) break;  // an edge may run out of the frame: what it shows till then counts
        }
        if (places.empty() || (isOpen(f) && !longEnough(places))) return std::nullopt;
        if (f.kind == FeatureKind::Edge) thinOut(places);
        return predictionOf(covariance_.survey().features[feature].id, f, places);
    }

  private:
    const StationState& camera() const { return state_.stations[at(index_)]; }
    static bool isOpen(const FeatureState& f) {
        return f.kind == FeatureKind::Edge || f.kind == FeatureKind::Arc ||
               (f.kind == FeatureKind::Curve && !f.closed);
    }

    bool canBeSeen(std::size_t feature) const {
        const FeatureState& f = state_.features[feature];
        const survey::Survey& s = covariance_.survey();
        const bool shown = std::any_of(s.marks.begin(), s.marks.end(), [&](const survey::Mark& m) {
            if (m.feature != s.features[feature].id || m.excluded) return false;
            const auto st = solution_.stations.find(m.station);
            if (st == solution_.stations.end()) return false;
            return -st->second.pose.R.row(2).dot(toCamera_) > std::cos(kSeenWithin);
        });
        if (!shown || f.kind == FeatureKind::Corner) return shown;
        if (f.level >= 0 && std::abs(toCamera_.z()) < std::sin(kGrazing)) return false;
        if (f.kind == FeatureKind::Edge)
            return curveAt(state_, f, 0.5).tangent.normalized().cross(toCamera_).norm() > std::sin(kGrazing);
        return f.level >= 0 || std::abs(f.normal.dot(toCamera_)) > std::sin(kGrazing);
    }

    bool inFrame(const Vec2& p) const {
        return p.x() > kBorder_px && p.y() > kBorder_px && p.x() < station_.photo.width - kBorder_px &&
               p.y() < station_.photo.height - kBorder_px;
    }

    static bool longEnough(const std::vector<Place>& places) {
        double length = 0.0;
        for (std::size_t i = 1; i < places.size(); ++i) length += (places[i].px - places[i - 1].px).norm();
        return length >= kShortest_px;
    }

    /// Where along the feature to look.
    std::vector<double> parameters(std::size_t feature) const {
        const FeatureState& f = state_.features[feature];
        double from = 0.0, to = 1.0;
        int steps = 16;
        switch (f.kind) {
            case FeatureKind::Corner:
                return {0.0};
            case FeatureKind::Edge:
                from = kTrim, to = 1.0 - kTrim;
                break;
            case FeatureKind::Hole:
                to = 2 * kPi;
                steps = 24;
                break;
            case FeatureKind::Arc: {
                const FeatureGeometry& g = solution_.features.at(covariance_.survey().features[feature].id);
                const Vec2 a = g.spanFrom - f.p.head<2>(), b = g.spanTo - f.p.head<2>();
                from = std::atan2(a.y(), a.x());
                double sweep = std::atan2(b.y(), b.x()) - from;
                if (sweep <= 0) sweep += 2 * kPi;
                to = from + (1.0 - kTrim) * sweep;
                from += kTrim * sweep;
                break;
            }
            case FeatureKind::Slot:
                to = 2 * ((f.b - f.a).norm() + kPi * std::abs(f.r));
                steps = 48;
                break;
            case FeatureKind::Curve:
                to = f.closed ? static_cast<double>(f.nodes.size())
                              : static_cast<double>(f.nodes.size()) - 1.0;
                steps = 48;
                break;
        }
        std::vector<double> out;
        const int last = isOpen(f) ? steps : steps - 1;
        for (int i = 0; i <= last; ++i) out.push_back(from + (to - from) * i / steps);
        return out;
    }

    /// An edge is told by few points.
    static void thinOut(std::vector<Place>& places) {
        std::vector<Place> few;
        for (int i = 0; i <= 4; ++i)
            few.push_back(places[(places.size() - 1) * static_cast<std::size_t>(i) / 4]);
        places = std::move(few);
    }

    std::optional<Place> placeOf(int feature, double tau) const {
        const FeatureState& f = state_.features[at(feature)];
        const GroupState& group = state_.groups[at(camera().group)];
        const bool corner = f.kind == FeatureKind::Corner;
        const CurvePoint c = corner ? CurvePoint{state_.point(f)} : curveAt(state_, f, tau);
        Projected proj;
        if (!projectPoint(group, camera(), c.X, proj)) return std::nullopt;
        Place place;
        place.px = proj.u - firstOffset(station_.photo) - camera().crop;
        const PointDerivatives by = corner ? pointDerivatives(state_, columns_, feature)
                                           : derivativesAt(state_, columns_, feature, tau, c.X);
        for (std::size_t k = 0; k < at(by.count); ++k)
            place.by.emplace_back(by.column[k], proj.byPoint * by.byColumn[k]);
        forCameraColumns(columns_, state_, index_, proj, Vec2::Zero(), [&](int column, const Vec2& d) {
            if (column >= 0) place.by.emplace_back(column, d);
        });
        if (corner) return place;
        const Vec2 tangent = proj.byPoint * c.tangent;
        if (!(tangent.norm() > 1e-9)) return std::nullopt;
        place.normal = Vec2(-tangent.y(), tangent.x()).normalized();
        return place;
    }

    Prediction predictionOf(const Id& id, const FeatureState& f, const std::vector<Place>& places) {
        std::vector<int> columns;
        for (const Place& p : places)
            for (const auto& [column, d] : p.by) columns.push_back(column);
        std::sort(columns.begin(), columns.end());
        columns.erase(std::unique(columns.begin(), columns.end()), columns.end());
        const bool corner = f.kind == FeatureKind::Corner;
        const auto rows = corner ? Eigen::Index(2) : static_cast<Eigen::Index>(places.size());
        MatX J = MatX::Zero(rows, static_cast<Eigen::Index>(columns.size()));
        for (std::size_t i = 0; i < places.size(); ++i)
            for (const auto& [column, d] : places[i].by) {
                const auto k = std::lower_bound(columns.begin(), columns.end(), column) - columns.begin();
                if (corner)
                    J.col(k) += d;
                else
                    J(static_cast<Eigen::Index>(i), k) += places[i].normal.dot(d);
            }
        MatX sigma;
        joint_.of(columns, sigma);
        Prediction out;
        out.station = station_.id;
        out.feature = id;
        out.covariance = covariance_.inflation() * covariance_.inflation() * (J * sigma * J.transpose());
        // The edge is seen towards its dark side, which only the picture will tell.
        if (corner)
            out.covariance.diagonal().array() += shiftVariance_;
        else
            out.covariance.array() += shiftVariance_;
        for (std::size_t i = 0; i < places.size(); ++i) {
            const auto k = static_cast<Eigen::Index>(i);
            const double variance = corner ? largest(out.covariance) : out.covariance(k, k);
            out.points.push_back({places[i].px, std::sqrt(std::max(0.0, variance))});
        }
        return out;
    }

    static double largest(const MatX& two) {
        const double half = 0.5 * (two(0, 0) + two(1, 1));
        return half + std::hypot(0.5 * (two(0, 0) - two(1, 1)), two(0, 1));
    }

    const Solution& solution_;
    const Covariance& covariance_;
    const State& state_;
    const Columns& columns_;
    int index_;
    const survey::Station& station_;
    estimate::JointCovariance joint_;
    Vec3 toCamera_;
    double shiftVariance_ = 0.0;  ///< px², of the growth of light, alike along an edge
};

}  // namespace

std::vector<Prediction> predict(const Solution& solution, const survey::Survey& survey, const Id& station) {
    std::vector<Prediction> out;
    if (!solution.covariance || !solution.stations.contains(station)) return out;
    const survey::Survey& solved = solution.covariance->survey();
    const auto st = std::find_if(solved.stations.begin(), solved.stations.end(),
                                 [&](const survey::Station& s) { return s.id == station; });
    if (st == solved.stations.end()) return out;
    Predictor predictor(solution, *solution.covariance,
                        static_cast<std::size_t>(st - solved.stations.begin()));
    for (std::size_t i = 0; i < solved.features.size(); ++i) {
        const Id& id = solved.features[i].id;
        const survey::Feature* now = find(survey.features, id);
        if (!solution.features.contains(id) || !now || now->kind != solved.features[i].kind) continue;
        if (auto p = predictor.predict(i)) out.push_back(std::move(*p));
    }
    return out;
}

}  // namespace trammel::adjust
