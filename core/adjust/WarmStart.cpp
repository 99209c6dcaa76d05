// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/WarmStart.h"

#include <cmath>
#include <set>
#include <unordered_map>

#include "core/adjust/Covariance.h"
#include "core/adjust/Start.h"
#include "core/adjust/StartShape.h"

namespace trammel::adjust {
namespace {

/// Fewer features in a photograph are refused by the start from the marks alone, and so here.
constexpr std::size_t kLeastFeatures = 4;

std::unordered_map<Id, std::size_t> places(const auto& list) {
    std::unordered_map<Id, std::size_t> map;
    for (std::size_t i = 0; i < list.size(); ++i) map.emplace(list[i].id, i);
    return map;
}

/// Copies what the earlier state holds, list by list; each returns false when something in use is missing.
class CarryOver {
  public:
    CarryOver(Network& n, const Solution& previous)
        : n_(n),
          before_(previous),
          then_(previous.covariance->survey()),
          old_(previous.covariance->state()) {}

    bool groups(const std::vector<bool>& used) {
        const auto place = places(then_.groups);
        for (std::size_t i = 0; i < used.size(); ++i) {
            const auto it = place.find(n_.survey().groups[i].id);
            if (!used[i]) continue;
            if (it == place.end()) return false;
            const GroupState& from = old_.groups[it->second];
            GroupState& to = n_.state().groups[i];
            const auto& columns = n_.columns().groups[i];
            if (columns[8] >= 0) to.pupil = from.pupil;
            if (columns[9] >= 0) to.growth = from.growth;
            if (columns[0] >= 0) to.lnKappa = from.lnKappa;
            for (int k = 0; k < 2; ++k)
                if (columns[at(1 + k)] >= 0) to.pp[k] = from.pp[k];
            for (std::size_t k = 0; k < 5; ++k)
                if (columns[3 + k] >= 0) to.K[k] = from.K[k] * std::pow(to.rho / from.rho, kBrownPower[k]);
        }
        return true;
    }

    bool levels(const std::vector<bool>& used) {
        const auto place = places(then_.levels);
        for (std::size_t i = 0; i < used.size(); ++i) {
            if (!used[i]) continue;
            const auto it = before_.levels.find(n_.survey().levels[i].id);
            if (it == before_.levels.end()) return false;
            n_.state().levels[i] = it->second;
            const std::size_t then = place.at(it->first);
            if (then_.levels[then].form != n_.survey().levels[i].form) return false;
            n_.state().forms[i] = old_.forms[then];
            known.level[i] = true;
        }
        return n_.state().levels[at(n_.datumLevel())] == 0.0;  // another level may have become z = 0
    }

    bool stations(const std::vector<bool>& used) {
        const auto place = places(then_.stations);
        for (std::size_t i = 0; i < used.size(); ++i) {
            if (!used[i]) continue;
            const survey::Station& now = n_.survey().stations[i];
            const auto it = place.find(now.id);
            if (it == place.end() || !before_.stations.contains(now.id)) return false;
            const survey::Station& then = then_.stations[it->second];
            if (then.group != now.group || then.view != now.view || !(then.photo.crop == now.photo.crop))
                return false;
            StationState& to = n_.state().stations[i];
            const int group = to.group;
            to = old_.stations[it->second];
            to.group = group;
            known.station[i] = true;
        }
        return true;
    }

    void features(const std::vector<bool>& used) {
        const auto place = places(then_.features);
        for (std::size_t i = 0; i < used.size(); ++i) {
            const survey::Feature& now = n_.survey().features[i];
            const auto it = place.find(now.id);
            if (!used[i] || it == place.end() || !before_.features.contains(now.id)) continue;
            const survey::Feature& then = then_.features[it->second];
            if (then.kind != now.kind || then.level != now.level) continue;
            FeatureState& to = n_.state().features[i];
            const FeatureState& from = old_.features[it->second];
            if (from.nodes.size() != to.nodes.size() || from.closed != to.closed) continue;
            const int level = to.level;
            to = old_.features[it->second];
            to.level = level;
            known.featurePlan[i] = true;
        }
    }

    Known known;

  private:
    Network& n_;
    const Solution& before_;
    const survey::Survey& then_;
    const State& old_;
};

bool enoughIn(const Network& n, const std::vector<bool>& used) {
    std::vector<std::set<int>> shown(used.size());
    for (const ImagePoint& p : n.points())
        if (n.owners()[at(p.owner)].active && shown[at(p.station)].size() < kLeastFeatures)
            shown[at(p.station)].insert(p.feature);
    for (std::size_t s = 0; s < used.size(); ++s)
        if (used[s] && shown[s].size() < kLeastFeatures) return false;
    return true;
}

/// Features that the earlier solution does not hold: on their level, by the photographs as they stand.
bool intersectNew(Network& n, const std::vector<bool>& used, Known& known) {
    for (std::size_t i = 0; i < used.size(); ++i) {
        if (!used[i] || known.featurePlan[i]) continue;
        if (n.state().features[i].level < 0) return false;
        fitOnLevel(n, i, known);
        if (!known.featurePlan[i]) return false;
    }
    return true;
}

}  // namespace

bool warmStart(Network& n, const Solution& previous) {
    if (!previous.covariance) return false;
    const InUse used = n.inUse();
    if (!enoughIn(n, used.stations)) return false;
    startGroups(n);
    CarryOver carrier(n, previous);
    carrier.known.station.assign(used.stations.size(), false);
    carrier.known.featurePlan.assign(used.features.size(), false);
    carrier.known.level.assign(used.levels.size(), false);
    if (!carrier.groups(used.groups) || !carrier.levels(used.levels) || !carrier.stations(used.stations))
        return false;
    carrier.features(used.features);
    n.state().azimuth = previous.covariance->state().azimuth;
    for (std::size_t g = 0; g < n.state().groups.size(); ++g)
        refreshFixed(n.state().groups[g], n.survey().groups[g]);
    if (!intersectNew(n, used.features, carrier.known)) return false;
    startDatum(n);
    n.forgetFeet();
    return true;
}

std::string ownerKey(const Owner& owner) {
    // A camera has several priors: the constant's name stands before the camera's.
    const std::string constant = owner.kind == Owner::Kind::CameraPrior
                                     ? owner.description.substr(0, owner.description.find(" of "))
                                     : std::string();
    return std::to_string(static_cast<int>(owner.kind)) + " " + owner.object + " " + constant;
}

std::vector<int> setAsideBefore(const Network& n, const Solution& previous) {
    std::vector<int> found;
    if (previous.setAside.empty()) return found;
    const std::set<std::string> keys(previous.setAside.begin(), previous.setAside.end());
    for (std::size_t o = 0; o < n.owners().size(); ++o)
        if (n.owners()[o].active && keys.contains(ownerKey(n.owners()[o])))
            found.push_back(static_cast<int>(o));
    return found;
}

}  // namespace trammel::adjust
