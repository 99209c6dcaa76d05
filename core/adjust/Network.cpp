// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/Network.h"

#include <algorithm>
#include <cmath>

#include "core/adjust/Pivot.h"

namespace trammel::adjust {
namespace {

using survey::ConstantMode;
using survey::FeatureKind;

template <class T>
int indexOf(const std::vector<T>& list, const survey::Id& id) {
    for (std::size_t i = 0; i < list.size(); ++i)
        if (list[i].id == id) return static_cast<int>(i);
    return -1;
}

std::unordered_map<survey::Id, int> indices(const auto& list) {
    std::unordered_map<survey::Id, int> map;
    for (std::size_t i = 0; i < list.size(); ++i) map.emplace(list[i].id, static_cast<int>(i));
    return map;
}

int lookUp(const std::unordered_map<survey::Id, int>& map, const survey::Id& id) {
    const auto it = map.find(id);
    return it == map.end() ? -1 : it->second;
}

/// What each object of a list is called.
std::vector<std::string> namesOf(const survey::Survey& s, const auto& list) {
    std::vector<std::string> names;
    for (const auto& item : list) names.push_back(describe(s, item.id));
    return names;
}

Error notFound(const std::string& what, const std::string& object) {
    return {ErrorCode::NotFound, what, object, "choose it again or remove the object"};
}

/// The eight constants in the order of Columns::groups; c first.
std::array<const survey::Constant*, 8> constantsOf(const survey::CameraGroup& g) {
    return {&g.principalDistance, &g.principalX, &g.principalY, &g.k1, &g.k2, &g.k3, &g.p1, &g.p2};
}

constexpr std::array<const char*, 8> kConstantNames = {
    "principal distance", "principal point x", "principal point y", "distortion k1",
    "distortion k2",      "distortion k3",     "distortion p1",     "distortion p2"};

}  // namespace

int Network::addOwner(const survey::Id& object, const std::string& description, Owner::Kind kind,
                      bool active) {
    Owner owner;
    owner.object = object;
    owner.description = description;
    owner.kind = kind;
    owner.active = active;
    owners_.push_back(owner);
    return static_cast<int>(owners_.size()) - 1;
}

Result<Network> Network::compile(const survey::Survey& s) {
    Network n(s);
    n.stationAt_ = indices(s.stations);
    n.featureAt_ = indices(s.features);
    n.state_.groups.resize(s.groups.size());
    n.state_.stations.resize(s.stations.size());
    n.state_.features.resize(s.features.size());
    n.state_.levels.assign(s.levels.size(), 0.0);
    for (std::size_t i = 0; i < s.stations.size(); ++i) {
        n.state_.stations[i].group = indexOf(s.groups, s.stations[i].group);
        if (n.state_.stations[i].group < 0) return notFound("has no camera", describe(s, s.stations[i].id));
    }
    for (std::size_t i = 0; i < s.features.size(); ++i) {
        const survey::Feature& f = s.features[i];
        n.state_.features[i].kind = f.kind;
        n.state_.features[i].level = f.level.empty() ? -1 : indexOf(s.levels, f.level);
        if (n.state_.features[i].level < 0 && (!f.level.empty() || f.kind != FeatureKind::Corner))
            return notFound("lies on no known level", describe(s, f.id));
    }
    if (auto r = n.chooseDatum(); !r) return r.error();
    if (auto r = n.compileMarks(); !r) return r.error();
    const InUse used = n.inUse();
    if (auto r = n.compileReadings(used); !r) return r.error();
    n.compilePriors(used);
    n.layColumns(used);
    return n;
}

Result<void> Network::chooseDatum() {
    const survey::Datum& d = survey_->datum;
    datumLevel_ = d.level.empty() ? (survey_->levels.empty() ? -1 : 0) : indexOf(survey_->levels, d.level);
    if (datumLevel_ < 0) return notFound("the datum names no level of the survey", "datum");
    // A datum feature without marks would leave the frame hanging on nothing.
    std::vector<int> views(survey_->features.size(), 0);
    for (const survey::Mark& m : survey_->marks) {
        const int f = lookUp(featureAt_, m.feature), st = lookUp(stationAt_, m.station);
        if (f >= 0 && st >= 0 && !survey_->stations[at(st)].excluded && !m.excluded) ++views[at(f)];
    }
    const auto usable = [&](int f) { return f >= 0 && views[at(f)] > 0; };
    if (!d.origin.empty()) origin_ = lookUp(featureAt_, d.origin);
    if (!d.direction.empty()) direction_ = lookUp(featureAt_, d.direction);
    if (!d.origin.empty() && (!usable(origin_) || survey_->features[at(origin_)].kind == FeatureKind::Edge))
        return notFound("must be a marked corner, hole or arc", "datum origin");
    if (!d.direction.empty() && !usable(direction_))
        return notFound("must be a marked feature", "datum direction");
    // Minimal constraints for a survey that names no datum: the two points seen most often.
    for (int pass = 0; pass < 2; ++pass) {
        int& wanted = pass == 0 ? origin_ : direction_;
        if (wanted >= 0) continue;
        for (std::size_t f = 0; f < views.size(); ++f) {
            const int i = static_cast<int>(f);
            if (survey_->features[f].kind == FeatureKind::Edge || i == origin_ || views[f] == 0) continue;
            if (wanted < 0 || views[f] > views[at(wanted)]) wanted = i;
        }
    }
    if (origin_ < 0 || direction_ < 0 || origin_ == direction_)
        return Error{ErrorCode::RankDefect, "fewer than two features can hold the part's axes", "datum",
                     "mark a second corner or hole"};
    return {};
}

Result<void> Network::compileMarks() {
    const std::vector<std::string> stations = namesOf(*survey_, survey_->stations),
                                   features = namesOf(*survey_, survey_->features);
    for (const survey::Mark& m : survey_->marks) {
        const int s = lookUp(stationAt_, m.station), f = lookUp(featureAt_, m.feature);
        if (s < 0 || f < 0) return notFound("belongs to no photograph or feature", describe(*survey_, m.id));
        const survey::Station& station = survey_->stations[at(s)];
        const int owner = addOwner(m.id, "mark of " + features[at(f)] + " in " + stations[at(s)],
                                   Owner::Kind::Mark, !m.excluded && !station.excluded);
        const Vec2 offset = station.photo.crop.offset();
        for (const survey::MarkPoint& p : m.points)
            points_.push_back({s, f, p.px + offset, p.sigma_px, owner});
    }
    feet_.assign(points_.size(), std::nan(""));
    return {};
}

InUse Network::inUse() const {
    InUse used;
    used.stations.assign(state_.stations.size(), false);
    used.features.assign(state_.features.size(), false);
    used.levels.assign(state_.levels.size(), false);
    used.groups.assign(state_.groups.size(), false);
    used.levels[at(datumLevel_)] = true;
    for (const ImagePoint& p : points_) {
        if (!owners_[at(p.owner)].active) continue;
        used.features[at(p.feature)] = true;
        used.stations[at(p.station)] = true;
        used.groups[at(state_.stations[at(p.station)].group)] = true;
        if (const int l = state_.features[at(p.feature)].level; l >= 0) used.levels[at(l)] = true;
    }
    return used;
}

Result<void> Network::compileReadings(const InUse& used) {
    for (const survey::Reading& r : survey_->readings) {
        auto term = resolve(*survey_, r.quantity, r.objects, r.id);
        if (!term) return term.error();
        bool seen = true;  // a reading on something that no photograph shows says nothing yet
        for (const auto& o : term->objects) {
            using Kind = QuantityTerm::Object::Kind;
            const auto& list = o.kind == Kind::Feature ? used.features
                               : o.kind == Kind::Level ? used.levels
                                                       : used.stations;
            seen = seen && list[at(o.index)];
        }
        if (!seen) continue;
        const int owner =
            addOwner(r.id, describe(*survey_, r.id), Owner::Kind::Reading, !r.excluded && !r.check);
        owners_[at(owner)].check = r.check;
        readings_.push_back({*term, owner, r.measured});
    }
    return {};
}

void Network::compilePriors(const InUse& used) {
    for (std::size_t i = 0; i < survey_->stations.size(); ++i) {
        const survey::Station& s = survey_->stations[i];
        if (!used.stations[i] || s.view == survey::View::Oblique || !(s.squareSigma_rad > 0)) continue;
        const int owner = addOwner(s.id, "camera square to the part in " + describe(*survey_, s.id),
                                   Owner::Kind::SquarePrior, true);
        squares_.emplace_back(static_cast<int>(i), owner);
    }
    for (int g = 0; g < static_cast<int>(survey_->groups.size()); ++g) {
        if (!used.groups[at(g)]) continue;
        const survey::CameraGroup& group = survey_->groups[at(g)];
        const auto constants = constantsOf(group);
        for (int k = 0; k < 8; ++k) {
            if (constants[at(k)]->mode != ConstantMode::Prior) continue;
            const int owner =
                addOwner(group.id, std::string(kConstantNames[at(k)]) + " of " + describe(*survey_, group.id),
                         Owner::Kind::CameraPrior, true);
            priors_.push_back({g, k, owner});
        }
    }
}

/// Which of a feature's three unknowns the data may move.
std::array<bool, 3> Network::freeUnknowns(int feature) const {
    const FeatureState& f = state_.features[at(feature)];
    const bool third = f.kind == FeatureKind::Corner ? f.level < 0 : f.kind != FeatureKind::Edge;
    std::array<bool, 3> free = {true, true, third};
    if (feature == origin_) free[0] = free[1] = false;
    if (feature == direction_ && f.kind != FeatureKind::Edge) free[1] = false;
    return free;
}

/// Eliminated blocks first; features coupled by a reading come among the kept.
void Network::layFeatureColumns(const InUse& used) {
    std::vector<bool> coupled(state_.features.size(), false);
    for (const NetworkReading& r : readings_)
        if (r.term.objects.size() == 2)
            for (const auto& o : r.term.objects)
                if (o.kind == QuantityTerm::Object::Kind::Feature) coupled[at(o.index)] = true;
    columns_.features.assign(state_.features.size(), {-1, -1, -1});
    int next = 0;
    for (const bool kept : {false, true}) {
        for (std::size_t i = 0; i < state_.features.size(); ++i) {
            if (coupled[i] != kept || !used.features[i]) continue;
            const auto free = freeUnknowns(static_cast<int>(i));
            const int start = next;
            for (std::size_t k = 0; k < 3; ++k)
                if (free[k]) columns_.features[i][k] = next++;
            if (static_cast<int>(i) == direction_ && state_.features[i].kind == FeatureKind::Edge) {
                columns_.features[i][1] = columns_.features[i][0];  // the edge may shift, not turn
                next = start + 1;
            }
            if (!kept && next > start) layout_.blockStart.push_back(start);
        }
        if (!kept) layout_.eliminatedColumns = next;
    }
    layout_.columns = next;
}

void Network::layColumns(const InUse& used) {
    const survey::Survey& s = *survey_;
    layFeatureColumns(used);
    int next = layout_.columns;
    columns_.levels.assign(s.levels.size(), -1);
    for (std::size_t i = 0; i < s.levels.size(); ++i)
        if (used.levels[i] && static_cast<int>(i) != datumLevel_) columns_.levels[i] = next++;
    columns_.stations.assign(s.stations.size(), {-1, -1, -1, -1, -1, -1});
    for (std::size_t i = 0; i < s.stations.size(); ++i)
        if (used.stations[i])
            for (int& c : columns_.stations[i]) c = next++;
    columns_.groups.assign(s.groups.size(), {-1, -1, -1, -1, -1, -1, -1, -1});
    for (std::size_t i = 0; i < s.groups.size(); ++i) {
        const auto constants = constantsOf(s.groups[i]);
        for (std::size_t k = 0; k < 8; ++k)
            if (used.groups[i] && constants[k]->mode != ConstantMode::Fixed) columns_.groups[i][k] = next++;
    }
    for (const auto& [station, owner] : squares_)
        if (s.stations[at(station)].view != survey::View::Top &&
            s.stations[at(station)].view != survey::View::Bottom && columns_.azimuth < 0)
            columns_.azimuth = next++;
    layout_.columns = next;
}

/// Middle of the features that each station's marks show.
std::vector<Vec3> Network::middlesShown() const {
    std::vector<Vec3> sum(state_.stations.size(), Vec3::Zero());
    std::vector<double> count(sum.size(), 0.0);
    for (const ImagePoint& p : points_) {
        if (!owners_[at(p.owner)].active) continue;
        const FeatureState& f = state_.features[at(p.feature)];
        Vec3 X = state_.point(f);
        if (f.kind == FeatureKind::Edge) X.head<2>() = (f.a + f.b) / 2;
        sum[at(p.station)] += X;
        count[at(p.station)] += 1.0;
    }
    for (std::size_t s = 0; s < sum.size(); ++s) sum[s] /= std::max(count[s], 1.0);
    return sum;
}

void Network::step(const VecX& delta) {
    const std::vector<StationState> before = state_.stations;
    const std::vector<Vec3> pivots = middlesShown();
    move(state_, columns_, delta);
    std::vector<Vec3> turns(before.size(), Vec3::Zero());
    for (std::size_t s = 0; s < before.size(); ++s)
        for (int k = 0; k < 3; ++k)
            if (const int c = columns_.stations[s][at(k)]; c >= 0) turns[s][k] = delta[c];
    turnAboutPivots(state_, before, turns, pivots);
    for (std::size_t g = 0; g < state_.groups.size(); ++g) refreshFixed(state_.groups[g], survey_->groups[g]);
}

std::vector<int> Network::rowOwners() const {
    std::vector<int> owners;
    for (const ImagePoint& p : points_) owners.push_back(p.owner);
    for (const NetworkReading& r : readings_) owners.push_back(r.owner);
    for (const auto& square : squares_) owners.push_back(square.second);
    for (const auto& prior : priors_) owners.push_back(prior[2]);
    return owners;
}

std::string Network::columnName(int column) const {
    const survey::Survey& s = *survey_;
    const auto in = [column](const auto& list) {
        for (const int c : list)
            if (c == column) return true;
        return false;
    };
    for (std::size_t i = 0; i < s.features.size(); ++i)
        if (in(columns_.features[i])) return "position of " + describe(s, s.features[i].id);
    for (std::size_t i = 0; i < s.levels.size(); ++i)
        if (columns_.levels[i] == column) return "height of " + describe(s, s.levels[i].id);
    for (std::size_t i = 0; i < s.stations.size(); ++i)
        if (in(columns_.stations[i])) return "camera position of " + describe(s, s.stations[i].id);
    for (std::size_t i = 0; i < s.groups.size(); ++i)
        for (std::size_t k = 0; k < 8; ++k)
            if (columns_.groups[i][k] == column)
                return std::string(kConstantNames[k]) + " of " + describe(s, s.groups[i].id);
    return "direction of the side views";
}

}  // namespace trammel::adjust
