// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/plan/Expect.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "core/adjust/Covariance.h"
#include "core/adjust/Gather.h"
#include "core/estimate/Normal.h"

namespace trammel::plan {
namespace {

using survey::FeatureKind;
using survey::Id;

void setGroup(adjust::GroupState& g, const camera::Constants& k, const survey::Photo& photo) {
    g.lnKappa = -std::log(k.c);
    g.pp = k.pp;
    g.rho = std::hypot(photo.crop.fullWidth, photo.crop.fullHeight) / 2;
    const std::array<double, 5> brown = {k.k1, k.k2, k.k3, k.p1, k.p2};
    for (std::size_t i = 0; i < 5; ++i) g.K[i] = brown[i] * std::pow(g.rho / k.c, adjust::kBrownPower[i]);
}

void setFeature(adjust::FeatureState& f, const render::FeatureTruth& t) {
    f.p = t.point;
    f.a = t.from.head<2>();
    f.b = t.to.head<2>();
    if (f.kind == FeatureKind::Hole || f.kind == FeatureKind::Arc) f.r = t.radius;
}

template <class T, class F>
void drop(std::vector<T>& list, const F& gone) {
    list.erase(std::remove_if(list.begin(), list.end(), gone), list.end());
}

bool among(const std::vector<std::string>& list, const std::string& name) {
    return std::find(list.begin(), list.end(), name) != list.end();
}

/// Takes a reference length out of the picture: its level, features, marks and reading.
void takeAway(survey::Survey& s, const std::string& name) {
    const auto level = std::find_if(s.levels.begin(), s.levels.end(),
                                    [&](const survey::Level& l) { return l.name == name; });
    if (level == s.levels.end()) return;
    std::set<Id> gone;
    for (const survey::Feature& f : s.features)
        if (f.level == level->id) gone.insert(f.id);
    const auto concerns = [&](const auto& object) {
        return std::any_of(object.objects.begin(), object.objects.end(),
                           [&](const Id& id) { return gone.contains(id); });
    };
    drop(s.marks, [&](const survey::Mark& m) { return gone.contains(m.feature); });
    drop(s.readings, concerns);
    drop(s.dimensions, concerns);
    drop(s.features, [&](const survey::Feature& f) { return gone.contains(f.id); });
    s.levels.erase(level);
}

void setSquaring(survey::Survey& s, Squaring squaring) {
    for (survey::Station& st : s.stations) {
        const bool mirrorServes = st.view == survey::View::Top;
        st.squareSigma_rad =
            squareSigma_rad(squaring == Squaring::Mirror && !mirrorServes ? Squaring::Level : squaring);
    }
}

std::optional<Error> thinPhotograph(const survey::Survey& s) {
    for (const survey::Station& st : s.stations) {
        const auto shown = std::count_if(s.marks.begin(), s.marks.end(),
                                         [&](const survey::Mark& m) { return m.station == st.id; });
        if (shown < 4)
            return Error{ErrorCode::Refused, "shows fewer than four features of such a part", st.name,
                         "take another view"};
    }
    return std::nullopt;
}

Error undetermined(const adjust::Network& n, const estimate::RankDefect& defect) {
    std::string names;
    int listed = 0;
    for (const auto& [column, share] : defect.direction) {
        const std::string name = n.columnName(column);
        if (names.find(name) != std::string::npos) continue;
        if (listed++ == 2) break;
        names += (names.empty() ? "" : ", ") + name;
    }
    return {ErrorCode::RankDefect, "would stay undetermined", names, "another view or reading must hold it"};
}

/// Each view with a σ of its own: the noise that was drawn with one for all is stretched.
void scaleMarks(survey::Survey& s, const render::Observer& observer, render::ObserveOptions options,
                const Kept& kept) {
    options.noise = false;
    const survey::Survey exact = observer.draw(options);
    for (std::size_t i = 0; i < s.marks.size(); ++i) {
        const auto factor = kept.factors.find(survey::find(s.stations, s.marks[i].station)->name);
        if (factor == kept.factors.end()) continue;
        for (std::size_t k = 0; k < s.marks[i].points.size(); ++k) {
            survey::MarkPoint& point = s.marks[i].points[k];
            const Vec2& true_px = exact.marks[i].points[k].px;
            point.px = true_px + factor->second * (point.px - true_px);
            point.sigma_px *= factor->second;
        }
    }
}

}  // namespace

render::SightOptions planSight() {
    render::SightOptions sight;
    sight.clear_px = 2.0;
    return sight;
}

survey::Survey plannedSurvey(const render::Observer& observer, const Kept& kept, std::uint64_t seed) {
    render::ObserveOptions options;
    options.seed = seed;
    options.noise = seed != 0;
    options.sigma_px = kept.markSigma_px;
    options.fitted = kept.fitted;
    options.onlyStations = kept.views;
    survey::Survey s = observer.draw(options);
    scaleMarks(s, observer, options, kept);
    for (const char* name : {kAlongX, kAlongY, kRaised})
        if (!among(kept.referenceLengths, name)) takeAway(s, name);
    setSquaring(s, kept.squaring);
    return s;
}

Result<adjust::Network> networkAt(const survey::Survey& s, const render::Truth& truth) {
    auto network = adjust::Network::compile(s);
    if (!network) return network.error();
    adjust::State& state = network->state();
    for (std::size_t i = 0; i < s.groups.size(); ++i)
        setGroup(state.groups[i], truth.groups.at(s.groups[i].id), s.stations.front().photo);
    for (std::size_t i = 0; i < s.stations.size(); ++i) {
        const camera::Pose& pose = truth.stations.at(s.stations[i].id);
        const camera::Constants& k = truth.groups.at(s.stations[i].group);
        adjust::StationState& station = state.stations[i];
        station.R = pose.R;
        const double scale = k.c / pose.t.z();
        station.lnScale = std::log(scale);
        station.g = k.pp + scale * pose.t.head<2>();
    }
    for (std::size_t i = 0; i < s.levels.size(); ++i) state.levels[i] = truth.levels.at(s.levels[i].id);
    for (std::size_t i = 0; i < s.features.size(); ++i)
        setFeature(state.features[i], truth.features.at(s.features[i].id));
    network->forgetFeet();
    return network;
}

Result<adjust::Solution> solutionAt(const survey::Survey& s, const render::Truth& truth) {
    auto network = networkAt(s, truth);
    if (!network) return network.error();
    std::vector<estimate::Rows> rows;
    if (!network->linearise(rows, true))
        return Error{ErrorCode::Refused, "lies behind a camera", "the part", "stand farther away"};
    estimate::Normal normal(network->layout(), rows);
    normal.assemble(rows);
    estimate::RankDefect defect;
    estimate::CovarianceFactor factor(normal, defect);
    if (!factor.valid()) return undetermined(*network, defect);
    adjust::Solution out;
    adjust::gatherGeometry(*network, out);
    out.covariance =
        std::make_shared<adjust::Covariance>(s, network->state(), network->columns(), std::move(factor), 1.0);
    for (const survey::Dimension& d : s.dimensions) {
        auto measured = out.measure(d);
        if (!measured) return measured.error();
        out.dimensions.push_back(std::move(*measured));
    }
    return out;
}

bool Expectation::meets(const Task& task) const { return share(task) <= 1.0; }

double Expectation::share(const Task& task) const {
    return std::max(planWorst / task.need_mm, heightWorst.value_or(0.0) / task.needHeight());
}

Result<Expectation> expect(const survey::Survey& s, const render::Truth& truth) {
    if (const auto thin = thinPhotograph(s)) return *thin;
    const auto solution = solutionAt(s, truth);
    if (!solution) return solution.error();
    Expectation e;
    double planSquares = 0.0, heightSquares = 0.0, heightWorst = 0.0;
    int plan = 0, heights = 0;
    for (const adjust::DimensionResult& d : solution->dimensions) {
        const bool height = d.dimension.quantity == survey::Quantity::Height;
        double& worst = height ? heightWorst : e.planWorst;
        if (d.plusMinus > worst) {
            worst = d.plusMinus;
            (height ? e.heightWorstName : e.planWorstName) = d.dimension.name;
        }
        (height ? heightSquares : planSquares) += d.plusMinus * d.plusMinus;
        ++(height ? heights : plan);
    }
    if (plan == 0)
        return Error{ErrorCode::Refused, "no hole or edge of such a part would be seen clearly",
                     "these views", "take finer pixels or another view"};
    e.planTypical = std::sqrt(planSquares / plan);
    if (heights > 0) {
        e.heightWorst = heightWorst;
        e.heightTypical = std::sqrt(heightSquares / heights);
    }
    e.photographs = static_cast<int>(s.stations.size());
    e.features = static_cast<int>(s.features.size());
    e.marks = static_cast<int>(s.marks.size());
    return e;
}

}  // namespace trammel::plan
