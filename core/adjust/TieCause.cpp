// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/TieCause.h"

#include <algorithm>
#include <cmath>

namespace trammel::adjust {
namespace {

using survey::FeatureKind;

/// A mark fits another feature when chance would throw it off more often than this.
constexpr double kFits = 0.01;
/// The next best feature must be less likely by this factor.
constexpr double kOnly = 100.0;

bool sameKind(FeatureKind a, FeatureKind b) {
    const auto round = [](FeatureKind k) { return k == FeatureKind::Hole || k == FeatureKind::Arc; };
    return a == b || (round(a) && round(b));
}

struct Trial {
    int owner;  ///< the mark
    Id feature;
};

/// The survey with each mark tied to each other feature of its kind as well.
survey::Survey withTrials(const Network& n, const std::vector<int>& marks, std::map<Id, Trial>& trials) {
    survey::Survey s = n.survey();
    const InUse used = n.inUse();
    for (const int o : marks) {
        const survey::Mark* own = find(n.survey().marks, n.owners()[at(o)].object);
        const survey::Feature* feature = own ? find(n.survey().features, own->feature) : nullptr;
        if (!feature) continue;
        for (std::size_t f = 0; f < n.survey().features.size(); ++f) {
            const survey::Feature& other = n.survey().features[f];
            if (!used.features[f] || other.id == feature->id || !sameKind(other.kind, feature->kind))
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
bool onItsPart(const Network& n, const Id& mark, const std::vector<int>& owners) {
    double low = INFINITY, high = -INFINITY;
    bool edge = false;
    for (std::size_t i = 0; i < n.points().size(); ++i) {
        const ImagePoint& p = n.points()[i];
        if (n.owners()[at(owners[i])].object != mark) continue;
        edge = n.state().features[at(p.feature)].kind == FeatureKind::Edge;
        low = std::min(low, n.feet()[i]);
        high = std::max(high, n.feet()[i]);
    }
    return !edge || (high > -0.2 && low < 1.2);
}

double rootMeanSquare(const OwnerRows& rows) {
    double sum = 0.0;
    for (Eigen::Index i = 0; i < rows.size(); ++i)
        sum += std::pow(rows.e[static_cast<std::size_t>(i)] * rows.sigma[static_cast<std::size_t>(i)], 2);
    return std::sqrt(sum / static_cast<double>(rows.points.size()));
}

}  // namespace

std::map<int, TieGuess> guessTies(const Influence& influence, const std::vector<Assessment>& assessments,
                                  const std::vector<int>& marks) {
    std::map<int, TieGuess> out;
    const Network& n = influence.network();
    std::map<Id, Trial> trials;
    const survey::Survey s = withTrials(n, marks, trials);
    auto with = Network::compile(s);
    if (trials.empty() || !with || with->layout().columns != n.layout().columns) return out;
    with->state() = n.state();
    for (Owner& o : with->owners()) o.active = false;
    const Influence tried(*with, influence.covariance());
    if (!tried.valid()) return out;
    std::map<int, std::pair<double, double>> best;  // ln of the chance of the best and of the next
    const std::vector<int> owners = with->rowOwners();
    for (int o = 0; o < tried.owners(); ++o) {
        const auto trial = trials.find(with->owners()[at(o)].object);
        if (trial == trials.end() || !onItsPart(*with, trial->first, owners)) continue;
        const OwnerRows& rows = tried.rows(o);
        const MatX Q = tried.Q(o);
        const double missed = assessments[at(trial->second.owner)].result.residual.cwiseAbs().maxCoeff();
        if (3.0 * std::sqrt(Q.diagonal().maxCoeff()) * rows.sigma.front() > missed) continue;
        const double chance = logProbability(rows.residual(), Q, rows.points);
        auto [it, first] = best.try_emplace(trial->second.owner, -INFINITY, -INFINITY);
        if (chance > it->second.first) {
            it->second = {chance, it->second.first};
            out[trial->second.owner] = {trial->second.feature, rootMeanSquare(rows)};
        } else {
            it->second.second = std::max(it->second.second, chance);
        }
    }
    for (const auto& [owner, chances] : best)
        if (chances.first < std::log(kFits) || chances.second > chances.first - std::log(kOnly))
            out.erase(owner);
    return out;
}

}  // namespace trammel::adjust
