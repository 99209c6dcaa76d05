// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/unfold/Placed.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <set>

#include "core/adjust/AdviceCandidates.h"
#include "core/adjust/Course.h"
#include "core/adjust/Covariance.h"
#include "core/estimate/JointCovariance.h"
#include "core/math/Rotation.h"

namespace trammel::unfold {
namespace {

constexpr int kSteps = 48;
constexpr double kAskew = 2.0 * std::numbers::pi / 180.0;
const double kSeenWithin = std::cos(std::numbers::pi / 4);

/// Σ of the features' points, one after the other.
class Spread {
  public:
    explicit Spread(const adjust::Covariance& c) : covariance_(c), joint_(c.factor()) {
        const auto& features = c.survey().features;
        for (std::size_t i = 0; i < features.size(); ++i) index_[features[i].id] = static_cast<int>(i);
    }

    std::optional<Mat3> of(const Id& feature) {
        const auto it = index_.find(feature);
        if (it == index_.end()) return std::nullopt;
        const auto by = adjust::pointDerivatives(covariance_.state(), covariance_.columns(), it->second);
        const auto n = static_cast<std::size_t>(by.count);
        std::vector<int> columns(by.column.begin(), by.column.begin() + by.count);
        Eigen::Matrix<double, 3, Eigen::Dynamic> J(3, by.count);
        for (std::size_t k = 0; k < n; ++k) J.col(static_cast<Eigen::Index>(k)) = by.byColumn[k];
        if (n == 0) return Mat3::Zero();
        MatX sigma;
        joint_.of(columns, sigma);
        return Mat3(covariance_.inflation() * covariance_.inflation() * (J * sigma * J.transpose()));
    }

  private:
    const adjust::Covariance& covariance_;
    estimate::JointCovariance joint_;
    std::map<Id, int> index_;
};

/// Of a symmetric matrix, by the cosine of a third of an angle (Smith 1961).
double largestEigenvalue(const Mat3& m) {
    const double mean = m.trace() / 3.0;
    const Mat3 centred = m - mean * Mat3::Identity();
    const double p = std::sqrt(centred.squaredNorm() / 6.0);
    if (!(p > 0.0)) return mean;
    const Mat3 c = centred / p;
    const double determinant = c(0, 0) * (c(1, 1) * c(2, 2) - c(1, 2) * c(2, 1)) -
                               c(0, 1) * (c(1, 0) * c(2, 2) - c(1, 2) * c(2, 0)) +
                               c(0, 2) * (c(1, 0) * c(2, 1) - c(1, 1) * c(2, 0));
    const double half = std::clamp(0.5 * determinant, -1.0, 1.0);
    return mean + 2.0 * p * std::cos(std::acos(half) / 3.0);
}

/// From which principal views the photographs that show each feature look.
std::map<Id, std::array<bool, 6>> sights(const survey::Survey& survey, const adjust::Solution& solution,
                                         double turn) {
    std::map<Id, std::array<bool, 6>> views;  // by station
    const Mat3 back = rotationExp(Vec3(0.0, 0.0, turn));
    for (const auto& [id, station] : solution.stations)
        for (const View v : kPlaced) {
            const Vec3 toCamera = -station.pose.R.row(2).transpose();
            views[id][static_cast<std::size_t>(v)] = toCamera.dot(back * axesOf(v).toViewer) > kSeenWithin;
        }
    std::map<Id, std::array<bool, 6>> out;
    for (const auto& mark : survey.marks) {
        const auto it = views.find(mark.station);
        if (mark.excluded || it == views.end()) continue;
        for (std::size_t i = 0; i < 6; ++i) out[mark.feature][i] |= it->second[i];
    }
    return out;
}

}  // namespace

double Placed::plusMinus() const {
    if (!covariance) return 0.0;
    return 2.0 * std::sqrt(std::max(0.0, largestEigenvalue(*covariance)));
}

double turnOf(const adjust::Solution& solution) {
    const double azimuth = solution.covariance ? solution.covariance->state().azimuth : 0.0;
    return std::abs(azimuth) < kAskew ? 0.0 : azimuth;
}

std::vector<Placed> placed(const survey::Survey& survey, const adjust::Solution& solution) {
    std::vector<Placed> out;
    std::optional<Spread> spread;
    if (solution.covariance) spread.emplace(*solution.covariance);
    const auto seen = sights(survey, solution, turnOf(solution));
    const std::vector<Id> aside = adjust::besideThePart(survey);
    const std::set<Id> beside(aside.begin(), aside.end());
    for (const survey::Feature& feature : survey.features) {
        const auto it = solution.features.find(feature.id);
        if (it == solution.features.end() || it->second.kind != feature.kind) continue;
        const adjust::FeatureGeometry& g = it->second;
        Placed p;
        p.feature = feature.id;
        p.level = feature.level;
        p.kind = feature.kind;
        p.label = feature.name.empty() ? feature.id : feature.name;
        p.point = g.point;
        p.radius = g.radius;
        p.line = adjust::courseOf(g, feature.kind == survey::FeatureKind::Edge ? 1 : kSteps);
        if (feature.kind == survey::FeatureKind::Edge && p.line.size() > 1)
            p.direction = (p.line.back() - p.line.front()).normalized();
        p.closed = feature.kind == survey::FeatureKind::Hole || feature.kind == survey::FeatureKind::Slot ||
                   g.closed;
        if (const auto s = seen.find(feature.id); s != seen.end()) p.seen = s->second;
        if (spread) p.covariance = spread->of(feature.id);
        p.beside = beside.contains(feature.id) || beside.contains(feature.level);
        out.push_back(std::move(p));
    }
    return out;
}

Box boxOf(const std::vector<Placed>& features, double turn) {
    const Mat3 forth = rotationExp(Vec3(0.0, 0.0, -turn));
    std::optional<Box> box;
    for (const Placed& f : features) {
        if (f.beside) continue;
        for (const Vec3& p : f.line) {
            const Vec3 own = forth * p;
            if (!own.allFinite()) continue;
            if (!box) box = Box{own, own};
            box->low = box->low.cwiseMin(own);
            box->high = box->high.cwiseMax(own);
        }
    }
    return box.value_or(Box{});
}

}  // namespace trammel::unfold
