// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/AdviceViews.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <optional>
#include <set>

#include "core/adjust/AdviceReadings.h"
#include "core/adjust/Covariance.h"
#include "core/adjust/Network.h"
#include "core/adjust/NetworkConstants.h"
#include "core/math/Rotation.h"
#include "core/survey/Edit.h"

namespace trammel::adjust {
namespace {

using survey::FeatureKind;
using survey::View;

constexpr double kDegree = std::numbers::pi / 180.0;
constexpr double kSeenWithin = 60 * kDegree;  ///< of a photograph that shows it
constexpr double kGrazing = 10 * kDegree;     ///< under which a circle or an end-on edge is no mark
constexpr double kFill = 0.95;                ///< share of the frame that the part may fill
constexpr int kAzimuths = 8;
constexpr double kElevations_deg[] = {30, 45, 60, 70};

template <class T>
T median(std::vector<T> v) {
    std::nth_element(v.begin(), v.begin() + static_cast<std::ptrdiff_t>(v.size() / 2), v.end());
    return v[v.size() / 2];
}

/// Camera at the given azimuth and elevation, upright (camera x right, y down, z forward).
Mat3 obliqueRotation(double azimuth, double elevation) {
    const Vec3 right(std::cos(azimuth), std::sin(azimuth), 0);
    const Vec3 forward(-std::sin(azimuth) * std::cos(elevation), std::cos(azimuth) * std::cos(elevation),
                       -std::sin(elevation));
    Mat3 R;
    R.row(0) = right;
    R.row(1) = forward.cross(right);
    R.row(2) = forward;
    return R;
}

std::vector<AdvisedView> directions() {
    std::vector<AdvisedView> all;
    for (const View v : {View::Top, View::Bottom, View::Front, View::Rear, View::Left, View::Right}) {
        AdvisedView a;
        a.view = v;
        all.push_back(a);
    }
    for (const double elevation : kElevations_deg)
        for (int i = 0; i < kAzimuths; ++i) {
            AdvisedView a;
            a.azimuth_rad = 2 * std::numbers::pi * i / kAzimuths;
            a.elevation_rad = elevation * kDegree;
            all.push_back(a);
        }
    return all;
}

/// What the survey's marks are like, and what its photographs show.
class Planner {
  public:
    explicit Planner(const Solution& solution)
        : covariance_(*solution.covariance), shown_(solution), extended_(covariance_.survey()) {
        const survey::Survey& s = covariance_.survey();
        const std::vector<Id> beside = besideThePart(s);
        beside_.insert(beside.begin(), beside.end());
        const std::set<Id> aside = accused(solution);
        std::vector<double> sigmas;
        std::map<FeatureKind, std::vector<std::size_t>> counts;
        for (const survey::Mark& m : s.marks) {
            const auto st = solution.stations.find(m.station);
            if (m.excluded || aside.contains(m.id) || st == solution.stations.end() ||
                !solution.features.contains(m.feature))
                continue;
            const survey::Station* station = find(s.stations, m.station);
            if (station->excluded) continue;
            toCameras_[m.feature].push_back(-st->second.pose.R.row(2).transpose());
            for (const survey::MarkPoint& p : m.points) sigmas.push_back(p.sigma_px);
            counts[find(s.features, m.feature)->kind].push_back(m.points.size());
        }
        sigma_ = sigmas.empty() ? 1.0 : median(sigmas);
        for (auto& [kind, list] : counts) points_[kind] = median(list);
        chooseModel(solution);
    }

    bool usable() const { return model_ >= 0; }
    const survey::Survey& extended() const { return extended_; }
    const State& state() const { return state_; }

    /// Adds the photograph to the survey and the state. False when it would show too little.
    bool add(AdvisedView& view) {
        StationState st = covariance_.state().stations[at(model_)];
        const Mat3 turn = rotationExp(Vec3(0, 0, covariance_.state().azimuth));
        const bool oblique = view.view == View::Oblique;
        st.R = (oblique ? obliqueRotation(view.azimuth_rad, view.elevation_rad)
                        : survey::squareRotation(view.view)) *
               turn.transpose();
        st.lnScale = lnScale_;
        survey::Station station = covariance_.survey().stations[at(model_)];
        station.id = survey::freshId(extended_, 'S');
        station.name = "planned";
        station.view = view.view;
        station.squareSigma_rad = squareSigma_;
        station.excluded = false;
        extended_.stations.push_back(station);
        aim(st, station);
        const int marks = placeMarks(st, station);
        if (marks == 0) {
            extended_.stations.pop_back();
            return false;
        }
        state_.stations.push_back(st);
        view.group = station.group;
        view.sigma_px = sigma_;
        view.marks = marks;
        view.standOff_mm = shown_.stations.at(station.id).standOff_mm;
        return true;
    }

  private:
    /// The group most used, and of its stations the one with the middle scale.
    void chooseModel(const Solution& solution) {
        const survey::Survey& s = covariance_.survey();
        std::map<int, std::vector<std::pair<double, int>>> byGroup;
        std::vector<double> squares;
        state_ = covariance_.state();
        for (std::size_t i = 0; i < s.stations.size(); ++i) {
            if (!solution.stations.contains(s.stations[i].id)) continue;
            byGroup[state_.stations[i].group].emplace_back(state_.stations[i].lnScale, static_cast<int>(i));
            if (s.stations[i].view != View::Oblique) squares.push_back(s.stations[i].squareSigma_rad);
        }
        std::size_t most = 0;
        for (const auto& [group, list] : byGroup)
            if (list.size() > most) {
                most = list.size();
                std::tie(lnScale_, model_) = median(list);
            }
        squareSigma_ = squares.empty() ? survey::Station{}.squareSigma_rad : median(squares);
    }

    bool plausible(const survey::Feature& f, const Vec3& toCamera) const {
        const auto seen = toCameras_.find(f.id);
        if (seen == toCameras_.end() || beside_.contains(f.id)) return false;
        const auto near = [&](const Vec3& d) { return d.dot(toCamera) > std::cos(kSeenWithin); };
        if (std::none_of(seen->second.begin(), seen->second.end(), near)) return false;
        if (f.kind == FeatureKind::Corner) return true;
        if (f.kind == FeatureKind::Edge) {
            const Vec2 u = shown_.features.at(f.id).direction;
            return Vec3(u.x(), u.y(), 0).cross(toCamera).norm() > std::sin(kGrazing);
        }
        return std::abs(toCamera.z()) > std::sin(kGrazing);
    }

    /// Image of a feature's marked points, px of the picture; empty where one lies outside.
    std::vector<Vec2> pointsOf(const survey::Feature& f, const survey::Station& station, bool inside) const {
        const std::size_t usual = points_.at(f.kind);
        std::vector<Vec2> line = shown_.project(extended_, f.id, station.id, 2 * static_cast<int>(usual));
        if (f.kind != FeatureKind::Corner && line.size() > 2) {
            // Evenly from end to end; round a closed line without its first point once more at the end.
            const bool closed = (line.front() - line.back()).norm() < 1e-6;
            const std::size_t pieces = usual - (closed || usual == 1 ? 0 : 1), last = line.size() - 1;
            std::vector<Vec2> some;
            for (std::size_t i = 0; i < usual; ++i) some.push_back(line[last * i / pieces]);
            line = std::move(some);
        }
        if (inside)
            for (const Vec2& p : line)
                if (!(p.x() >= 0 && p.y() >= 0 && p.x() < station.photo.width &&
                      p.y() < station.photo.height))
                    return {};
        return line;
    }

    void publish(const StationState& st, const survey::Station& station) {
        StationResult r;
        r.pose = covariance_.state().pose(st);
        r.constants = covariance_.state().groups[at(st.group)].constants();
        r.standOff_mm = r.pose.t.norm();
        r.scale_px_per_mm = std::exp(st.lnScale);
        r.offset = firstOffset(station.photo);
        shown_.stations[station.id] = r;
    }

    /// Puts the middle of what is seen into the middle of the picture, and steps back until it fits.
    void aim(StationState& st, const survey::Station& station) {
        const Vec2 size(station.photo.width, station.photo.height);
        for (int pass = 0; pass < 4; ++pass) {
            publish(st, station);
            const Vec3 toCamera = -st.R.row(2).transpose();
            Vec2 low = Vec2::Constant(INFINITY), high = -low;
            for (const survey::Feature& f : extended_.features) {
                if (!plausible(f, toCamera)) continue;
                for (const Vec2& p : pointsOf(f, station, false))
                    low = low.cwiseMin(p), high = high.cwiseMax(p);
            }
            if (!low.allFinite() || !high.allFinite()) return;
            const double fits = (kFill * size.array() / (high - low).array().max(1.0)).minCoeff();
            if (fits < 1.0) st.lnScale += std::log(fits);
            st.g += std::min(fits, 1.0) * (size / 2 - (low + high) / 2);
        }
        publish(st, station);
    }

    int placeMarks(const StationState& st, const survey::Station& station) {
        const Vec3 toCamera = -st.R.row(2).transpose();
        int marks = 0;
        for (const survey::Feature& f : extended_.features) {
            if (!plausible(f, toCamera)) continue;
            const std::vector<Vec2> points = pointsOf(f, station, true);
            if (points.empty()) continue;
            survey::Mark m;
            m.id = station.id + " " + f.id;
            m.station = station.id;
            m.feature = f.id;
            for (const Vec2& p : points) m.points.push_back({p, sigma_});
            extended_.marks.push_back(std::move(m));
            ++marks;
        }
        return marks;
    }

    const Covariance& covariance_;
    Solution shown_;  ///< with the planned stations, to project by
    survey::Survey extended_;
    State state_;
    std::set<Id> beside_;
    std::map<Id, std::vector<Vec3>> toCameras_;  ///< from a feature to the cameras that see it
    std::map<FeatureKind, std::size_t> points_;  ///< usual number a mark
    double sigma_ = 1.0, lnScale_ = 0.0, squareSigma_ = 0.0;
    int model_ = -1;
};

/// Columns of the extended network in terms of the old ones; the planned stations' own are −1.
std::vector<int> oldColumns(const Network& network, const Columns& before, std::size_t stationsBefore) {
    std::vector<bool> fresh(static_cast<std::size_t>(network.layout().columns), false);
    const Columns& c = network.columns();
    for (std::size_t i = stationsBefore; i < c.stations.size(); ++i)
        for (const int column : c.stations[i])
            if (column >= 0) fresh[at(column)] = true;
    if (before.azimuth < 0 && c.azimuth >= 0) fresh[at(c.azimuth)] = true;
    std::vector<int> old(fresh.size(), -1);
    int next = 0;
    for (std::size_t i = 0; i < fresh.size(); ++i)
        if (!fresh[i]) old[i] = next++;
    return old;
}

/// The rows that touch a planned station, by station, with its own unknowns after the `columns` old ones.
struct PlannedRows {
    std::vector<estimate::Rows> rows;
    std::map<int, int> fresh;  ///< column of the extended network to its new number
};

std::map<int, PlannedRows> plannedRows(const Network& network, const std::vector<int>& old, int columns,
                                       std::size_t stationsBefore) {
    std::map<int, int> stationOf;
    for (std::size_t i = stationsBefore; i < network.columns().stations.size(); ++i)
        for (const int c : network.columns().stations[i])
            if (c >= 0) stationOf[c] = static_cast<int>(i - stationsBefore);
    std::vector<estimate::Rows> rows;
    std::map<int, PlannedRows> planned;
    if (!network.linearise(rows, true)) return planned;
    for (const estimate::Rows& row : rows) {
        int station = -1;
        for (std::size_t i = 0; i < static_cast<std::size_t>(row.count); ++i)
            if (const auto it = stationOf.find(row.column[i]); it != stationOf.end()) station = it->second;
        if (station < 0) continue;
        PlannedRows& mine = planned[station];
        mine.rows.push_back(row);
        for (std::size_t i = 0; i < static_cast<std::size_t>(row.count); ++i) {
            int& column = mine.rows.back().column[i];
            if (old[at(column)] >= 0)
                column = old[at(column)];
            else
                column =
                    columns + mine.fresh.emplace(column, static_cast<int>(mine.fresh.size())).first->second;
        }
    }
    return planned;
}

/// A survey that names no datum takes the features seen most often: the planned marks must not change that.
Result<void> pinDatum(const survey::Survey& before, survey::Survey& extended) {
    const auto network = Network::compile(before);
    if (!network) return network.error();
    extended.datum.level = before.levels[at(network->datumLevel())].id;
    extended.datum.origin = before.features[at(network->originFeature())].id;
    extended.datum.direction = before.features[at(network->directionFeature())].id;
    return {};
}

}  // namespace

std::vector<RankedView> possibleViews(const Solution& solution, const Goal& goal) {
    const Covariance& covariance = *solution.covariance;
    const std::size_t before = covariance.survey().stations.size();
    Planner planner(solution);
    std::vector<RankedView> ranked;
    if (!planner.usable()) return ranked;
    for (AdvisedView& view : directions())
        if (planner.add(view)) ranked.push_back({view, 0.0, {}});
    survey::Survey extended = planner.extended();
    if (!pinDatum(covariance.survey(), extended)) return {};
    auto network = Network::compile(extended);
    if (!network || network->columns().features != covariance.columns().features) return {};
    network->state() = planner.state();
    network->forgetFeet();
    const std::vector<int> old = oldColumns(*network, covariance.columns(), before);
    const int columns = 1 + *std::max_element(old.begin(), old.end());
    if (covariance.factor().times({}).size() != columns) return {};  // more came along than the stations' own
    const auto rows = plannedRows(*network, old, columns, before);
    std::vector<RankedView> sound;
    for (const auto& [i, mine] : rows) {
        const estimate::CovarianceFactor after =
            covariance.factor().extended(mine.rows, static_cast<int>(mine.fresh.size()));
        if (!after.valid()) continue;
        RankedView& r = ranked[at(i)];
        r.variances = variancesOf(goal, estimate::Planned(after));
        r.score = goal.score(r.variances);
        sound.push_back(std::move(r));
    }
    std::stable_sort(sound.begin(), sound.end(),
                     [](const RankedView& a, const RankedView& b) { return a.score < b.score; });
    return sound;
}

survey::Survey withView(const Solution& solution, const AdvisedView& view) {
    Planner planner(solution);
    AdvisedView copy = view;
    if (planner.usable()) planner.add(copy);
    survey::Survey extended = planner.extended();
    if (!pinDatum(solution.covariance->survey(), extended)) return solution.covariance->survey();
    return extended;
}

}  // namespace trammel::adjust
