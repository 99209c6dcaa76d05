// SPDX-License-Identifier: GPL-3.0-or-later
// What would tell two observations apart: see core/adjust/Alternatives.h.
#include <fmt/core.h>

#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <numbers>
#include <set>

#include "core/adjust/Alternatives.h"
#include "core/adjust/NetworkConstants.h"
#include "core/adjust/Projection.h"
#include "core/adjust/Shape.h"

namespace trammel::adjust {
namespace {

using survey::FeatureKind;
using survey::Quantity;

/// Standard uncertainty of a reading nobody has taken yet, where the survey has none to go by (common
/// practice with a caliper on an edge that is not perfect).
constexpr double kReadingSigma = 0.05;
/// A difference of so many σ tells.
constexpr double kTells = 3.0;

std::set<Id> featuresOf(const survey::Survey& s, const Owner& owner) {
    std::set<Id> out;
    if (const survey::Mark* m = find(s.marks, owner.object)) out.insert(m->feature);
    if (const survey::Reading* r = find(s.readings, owner.object))
        for (const Id& id : r->objects)
            if (find(s.features, id)) out.insert(id);
    return out;
}

double usualSigma(const survey::Survey& s) {
    std::vector<double> all;
    for (const survey::Reading& r : s.readings)
        if (r.quantity == Quantity::Distance && !r.reference) all.push_back(r.measured.sigma);
    if (all.empty()) return kReadingSigma;
    std::nth_element(all.begin(), all.begin() + static_cast<std::ptrdiff_t>(all.size() / 2), all.end());
    return all[all.size() / 2];
}

struct Best {
    double tells = 0.0;
    std::string sentence;
};

void tryReading(const Influence& influence, const Exchange& x, Quantity quantity,
                const std::vector<Id>& objects, double sigma, Best& best) {
    const Network& n = influence.network();
    const auto term = resolve(n.survey(), quantity, objects, "");
    if (!term) return;
    const QuantityValue q = evaluate(*term, n.state(), n.columns());
    double difference = 0.0;
    for (const auto& [column, d] : q.gradient)
        if (column >= 0) difference += d * x.move[column];
    const double variance = influence.covariance().variance(q.gradient);
    const double tells = std::abs(difference) /
                         std::sqrt(sigma * sigma + std::max(variance, x.variance(variance, q.gradient)));
    if (!(tells > best.tells) || !(q.value > 0)) return;
    best.tells = tells;
    const std::string of = quantity == Quantity::Distance
                               ? fmt::format("distance between {} and {}", describe(n.survey(), objects[0]),
                                             describe(n.survey(), objects[1]))
                           : quantity == Quantity::Depth
                               ? fmt::format("height of {} over {}", describe(n.survey(), objects[0]),
                                             describe(n.survey(), objects[1]))
                               : fmt::format("diameter of {}", describe(n.survey(), objects[0]));
    best.sentence = fmt::format(
        "Measure the {} by hand: {:.2f} mm says that the former is wrong, {:.2f} mm that the latter is.", of,
        q.value, q.value + difference);
}

/// Each of the features against every other: a caliper reaches between points, and from a point to an edge.
Best bestReading(const Influence& influence, const Exchange& x, const std::set<Id>& about) {
    const Network& n = influence.network();
    const survey::Survey& s = n.survey();
    const InUse used = n.inUse();
    const double sigma = usualSigma(s);
    Best best;
    for (const Id& id : about) {
        const survey::Feature& f = *find(s.features, id);
        if (f.kind == FeatureKind::Hole || f.kind == FeatureKind::Arc)
            tryReading(influence, x, Quantity::Diameter, {id}, sigma, best);
        for (std::size_t g = 0; g < s.features.size(); ++g) {
            const survey::Feature& to = s.features[g];
            if (to.id == id || !used.features[g] ||
                (f.kind == FeatureKind::Edge && to.kind == FeatureKind::Edge))
                continue;
            tryReading(influence, x, Quantity::Distance, {id, to.id}, sigma, best);
        }
        for (std::size_t l = 0; l < s.levels.size(); ++l)
            if (!f.level.empty() && s.levels[l].id != f.level && used.levels[l])
                tryReading(influence, x, Quantity::Depth, {f.level, s.levels[l].id}, sigma, best);
    }
    return best;
}

/// Points that a mark of the feature would have in the photograph; empty where it would not lie in it.
std::vector<survey::MarkPoint> expectedPoints(const Network& n, std::size_t feature, std::size_t station) {
    const State& state = n.state();
    const FeatureState& f = state.features[feature];
    std::vector<Vec3> X;
    if (f.kind == FeatureKind::Corner) X = {state.point(f)};
    if (f.kind == FeatureKind::Edge) X = {edgeStart(state, f), edgeEnd(state, f)};
    if (f.kind == FeatureKind::Hole)
        for (int k = 0; k < 6; ++k) X.push_back(curveAt(state, f, k * std::numbers::pi / 3).X);
    double sigma = 0.0;
    int count = 0;
    for (const ImagePoint& p : n.points())
        if (at(p.feature) == feature) sigma += p.sigma, ++count;
    std::vector<survey::MarkPoint> out;
    const survey::Station& where = n.survey().stations[station];
    for (const Vec3& x : X) {
        Vec2 u;
        if (count == 0 ||
            !projectPoint(state.groups[at(state.stations[station].group)], state.stations[station], x, u))
            return {};
        u -= firstOffset(where.photo) + state.stations[station].crop;
        if (where.photo.width > 0 &&
            (u.x() < 0 || u.y() < 0 || u.x() >= where.photo.width || u.y() >= where.photo.height))
            return {};
        out.push_back({u, sigma / count});
    }
    return out;
}

/// Marks of the features in photographs at hand that do not have them yet. Whether a thing hides it there
/// only the user sees.
Best bestMark(const Influence& influence, const Exchange& x, const std::set<Id>& about) {
    const Network& n = influence.network();
    survey::Survey trial = n.survey();
    const InUse used = n.inUse();
    const std::string prefix = "?";
    for (std::size_t st = 0; st < trial.stations.size(); ++st)
        for (std::size_t f = 0; f < trial.features.size(); ++f) {
            const Id feature = trial.features[f].id, station = trial.stations[st].id;
            const auto marked = [&](const survey::Mark& m) {
                return m.feature == feature && m.station == station;
            };
            if (!used.stations[st] || !about.contains(feature) ||
                std::ranges::any_of(n.survey().marks, marked))
                continue;
            survey::Mark m;
            m.id = prefix + feature + prefix + station;
            m.station = station;
            m.feature = feature;
            m.points = expectedPoints(n, f, st);
            if (!m.points.empty()) trial.marks.push_back(m);
        }
    Best best;
    auto with = Network::compile(trial);
    if (!with || with->layout().columns != n.layout().columns) return best;
    with->state() = n.state();
    for (Owner& o : with->owners()) o.active = false;
    const Influence planned(*with, influence.covariance());
    for (int o = 0; planned.valid() && o < planned.owners(); ++o) {
        const survey::Mark* m = find(trial.marks, with->owners()[at(o)].object);
        if (!m || !m->id.starts_with(prefix)) continue;
        const OwnerRows& rows = planned.rows(o);
        const VecX difference = along(rows, x.move);
        double sum = 0.0;  // each component by itself: enough to choose by
        for (Eigen::Index i = 0; i < difference.size(); ++i) {
            const auto& J = rows.J[static_cast<std::size_t>(i)];
            const double variance = influence.covariance().variance(J);
            sum = std::max(
                sum, difference[i] * difference[i] / (1.0 + std::max(variance, x.variance(variance, J))));
        }
        if (!(std::sqrt(sum) > best.tells)) continue;
        best.tells = std::sqrt(sum);
        best.sentence = fmt::format("Mark {} in {} too, if it is seen there: that tells.",
                                    describe(trial, m->feature), describe(trial, m->station));
    }
    return best;
}

}  // namespace

std::string decidingReading(const Influence& influence, int one, const Exchange& exchange) {
    const Network& n = influence.network();
    std::set<Id> about = featuresOf(n.survey(), n.owners()[at(one)]);
    about.merge(featuresOf(n.survey(), n.owners()[at(exchange.other)]));
    const Best reading = bestReading(influence, exchange, about), mark = bestMark(influence, exchange, about);
    // A mark in a photograph at hand is the lesser work where it tells clearly.
    if (mark.tells >= 2 * kTells || mark.tells > std::max(kTells, reading.tells)) return mark.sentence;
    return reading.tells >= kTells ? reading.sentence : "";
}

}  // namespace trammel::adjust
