// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/TieCause.h"

#include <algorithm>
#include <cmath>

#include "core/adjust/NetworkConstants.h"
#include "core/adjust/Projection.h"

namespace trammel::adjust {
namespace {

using survey::FeatureKind;

/// A mark fits another feature when chance would throw it off more often than this; the second where it is
/// off by far, for then it lies within a few σ of another feature by accident even more rarely.
constexpr double kFits = 0.01, kFitsFar = 1e-6;
constexpr double kFar = 30.0;  ///< σ
/// Where the next best feature is not less likely by this factor, both are named of a mark that is far off,
/// and none of one that is not.
constexpr double kOnly = 100.0;

bool sameKind(FeatureKind a, FeatureKind b) {
    const auto round = [](FeatureKind k) { return k == FeatureKind::Hole || k == FeatureKind::Arc; };
    return a == b || (round(a) && round(b));
}

struct Trial {
    int owner;  ///< the mark
    Id feature;
};

/// Whether a corner appears so near a mark's point that the mark may be its, or cast doubt on another's
/// claim. What fits has a σ under a third of what the mark is off now (see below) and lies within 3 σ of the
/// mark, what competes within 4.3 σ; three times the present miss is beyond both.
bool mayFit(const Network& n, const survey::Mark& mark, std::size_t feature, double missed) {
    const FeatureState& f = n.state().features[feature];
    if (f.kind != FeatureKind::Corner || mark.points.empty()) return true;
    for (std::size_t s = 0; s < n.survey().stations.size(); ++s) {
        if (n.survey().stations[s].id != mark.station) continue;
        const StationState& station = n.state().stations[s];
        Vec2 u;
        return projectPoint(n.state().groups[at(station.group)], station, n.state().point(f), u) &&
               (mark.points.front().px + firstOffset(n.survey().stations[s].photo) + station.crop - u)
                       .norm() < 3.0 * missed;
    }
    return true;
}

/// The survey with each mark tied to each other feature of its kind as well that it may be a mark of.
survey::Survey withTrials(const Network& n, const std::map<int, double>& marks, std::map<Id, Trial>& trials) {
    survey::Survey s = n.survey();
    const InUse used = n.inUse();
    for (const auto& [o, missed] : marks) {
        const survey::Mark* own = find(n.survey().marks, n.owners()[at(o)].object);
        const survey::Feature* feature = own ? find(n.survey().features, own->feature) : nullptr;
        if (!feature) continue;
        for (std::size_t f = 0; f < n.survey().features.size(); ++f) {
            const survey::Feature& other = n.survey().features[f];
            if (!used.features[f] || other.id == feature->id || !sameKind(other.kind, feature->kind) ||
                !mayFit(n, *own, f, missed))
                continue;
            survey::Mark m = *own;
            m.id = own->id + "?" + other.id;
            m.feature = other.id;
            trials[m.id] = {o, other.id};
            s.marks.push_back(std::move(m));
        }
    }
    return s;
}

/// The mark's points lie on the marked part of an edge, not on its line far away.
std::vector<bool> onTheirParts(const Network& n) {
    struct Part {
        double low = INFINITY, high = -INFINITY;
        bool edge = false;
    };
    std::vector<Part> parts(n.owners().size());
    for (std::size_t i = 0; i < n.points().size(); ++i) {
        const ImagePoint& p = n.points()[i];
        Part& part = parts[at(p.owner)];
        part.edge = n.state().features[at(p.feature)].kind == FeatureKind::Edge;
        part.low = std::min(part.low, n.feet()[i]);
        part.high = std::max(part.high, n.feet()[i]);
    }
    std::vector<bool> out;
    for (const Part& p : parts) out.push_back(!p.edge || (p.high > -0.2 && p.low < 1.2));
    return out;
}

double sigmaOf(const Network& n, int owner) {
    for (const ImagePoint& p : n.points())
        if (p.owner == owner) return p.sigma;
    return 0.0;
}

double rootMeanSquare(const OwnerRows& rows) {
    double sum = 0.0;
    for (Eigen::Index i = 0; i < rows.size(); ++i)
        sum += std::pow(rows.e[static_cast<std::size_t>(i)] * rows.sigma[static_cast<std::size_t>(i)], 2);
    return std::sqrt(sum / static_cast<double>(rows.points.size()));
}

}  // namespace

std::map<int, TieGuess> guessTies(const Influence& influence, const std::map<int, double>& marks,
                                  double better) {
    std::map<int, TieGuess> out;
    const Network& n = influence.network();
    std::map<Id, Trial> trials;
    const survey::Survey s = withTrials(n, marks, trials);
    if (trials.empty()) return out;
    auto with = Network::compile(s);
    if (!with || with->layout().columns != n.layout().columns) return out;
    with->state() = n.state();
    for (Owner& o : with->owners()) o.active = false;
    const Influence tried(*with, influence.covariance());
    if (!tried.valid()) return out;
    std::map<int, std::vector<std::pair<double, TieGuess>>> found;  // with ln of the chance
    const std::vector<bool> onPart = onTheirParts(*with);
    for (int o = 0; o < tried.owners(); ++o) {
        const auto trial = trials.find(with->owners()[at(o)].object);
        if (trial == trials.end() || !onPart[at(o)]) continue;
        const OwnerRows& rows = tried.rows(o);
        const MatX Q = tried.Q(o);
        const double missed = marks.at(trial->second.owner);
        if (better * std::sqrt(Q.diagonal().maxCoeff()) * rows.sigma.front() > missed) continue;
        const double chance = logProbability(rows.residual(), Q, rows.points);
        if (chance > std::log(missed > kFar * rows.sigma.front() ? kFitsFar : kFits))
            found[trial->second.owner].push_back({chance, {trial->second.feature, {}, rootMeanSquare(rows)}});
    }
    for (auto& [owner, guesses] : found) {
        std::sort(guesses.begin(), guesses.end(),
                  [](const auto& a, const auto& b) { return a.first > b.first; });
        TieGuess best = guesses.front().second;
        if (guesses.size() > 1 && guesses[1].first > guesses[0].first - std::log(kOnly))
            best.orElse = guesses[1].second.feature;
        if (!best.orElse.empty() && !(marks.at(owner) > kFar * sigmaOf(n, owner))) continue;
        out[owner] = best;
    }
    return out;
}

}  // namespace trammel::adjust
