// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/Network.h"

#include <algorithm>
#include <cmath>

#include "core/adjust/NetworkConstants.h"
#include "core/adjust/Pivot.h"
#include "core/survey/QuantityCheck.h"

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

/// What each object of a list is called.
std::vector<std::string> namesOf(const survey::Survey& s, const auto& list) {
    std::vector<std::string> names;
    for (const auto& item : list) names.push_back(describe(s, item.id));
    return names;
}

Error notFound(const std::string& what, const std::string& object) {
    return {ErrorCode::NotFound, what, object, "choose it again or remove the object"};
}

bool mayHoldOrigin(const survey::Feature& f) {
    return survey::hasPoint(f.kind) && f.kind != FeatureKind::Slot;
}
bool mayHoldAxis(const survey::Feature& f) {
    return f.kind == FeatureKind::Edge ? !f.level.empty() : mayHoldOrigin(f);
}

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
    n.state_.forms.resize(s.levels.size());
    for (std::size_t i = 0; i < s.stations.size(); ++i) {
        n.state_.stations[i].group = indexOf(s.groups, s.stations[i].group);
        if (n.state_.stations[i].group < 0) return notFound("has no camera", describe(s, s.stations[i].id));
    }
    for (std::size_t i = 0; i < s.features.size(); ++i) {
        const survey::Feature& f = s.features[i];
        n.state_.features[i].kind = f.kind;
        n.state_.features[i].level = f.level.empty() ? -1 : indexOf(s.levels, f.level);
        const bool mustLie = f.kind == FeatureKind::Slot || f.kind == FeatureKind::Curve;
        if (n.state_.features[i].level < 0 && (!f.level.empty() || mustLie))
            return notFound("lies on no known level", describe(s, f.id));
    }
    if (auto r = n.chooseDatum(); !r) return r.error();
    if (auto r = n.compileMarks(); !r) return r.error();
    const InUse used = n.inUse();
    if (auto r = n.compileReadings(used); !r) return r.error();
    if (auto r = n.compileConditions(used); !r) return r.error();
    n.compilePriors(used);
    n.compileStationPriors(used);
    if (auto r = n.compileFocus(used); !r) return r.error();
    n.chooseNodes();
    n.layColumns(used);
    for (NetworkCondition& c : n.conditions_)
        c.components = static_cast<int>(evaluate(c.term, n.state_, n.columns_).size());
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
    if (!d.origin.empty() && (!usable(origin_) || !mayHoldOrigin(survey_->features[at(origin_)])))
        return notFound("must be a marked corner, hole or arc", "datum origin");
    if (!d.direction.empty() && (!usable(direction_) || !mayHoldAxis(survey_->features[at(direction_)])))
        return notFound("must be a marked feature, and an edge must lie in a level", "datum direction");
    // Minimal constraints for a survey that names no datum: the two points seen most often.
    for (int pass = 0; pass < 2; ++pass) {
        int& wanted = pass == 0 ? origin_ : direction_;
        if (wanted >= 0) continue;
        for (std::size_t f = 0; f < views.size(); ++f) {
            const int i = static_cast<int>(f);
            if (!mayHoldOrigin(survey_->features[f]) || i == origin_ || views[f] == 0) continue;
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
        const Vec2 offset = firstOffset(station.photo);
        for (const survey::MarkPoint& p : m.points)
            points_.push_back({s, f, p.px + offset, p.sigma_px, owner, p.growth_px});
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
    used.growth.assign(state_.groups.size(), false);
    used.levels[at(datumLevel_)] = true;
    for (const ImagePoint& p : points_) {
        if (!owners_[at(p.owner)].active) continue;
        used.features[at(p.feature)] = true;
        used.stations[at(p.station)] = true;
        used.groups[at(state_.stations[at(p.station)].group)] = true;
        if (!p.growth.isZero()) used.growth[at(state_.stations[at(p.station)].group)] = true;
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
        term->jawFlat = r.jawFlat_mm;
        readings_.push_back({*term, owner, r.measured});
    }
    return {};
}

Result<void> Network::compileConditions(const InUse& used) {
    for (const survey::Condition& c : survey_->conditions) {
        auto term = resolve(*survey_, c);
        if (!term) return term.error();
        bool seen = true;
        for (const auto& o : term->objects)
            seen = seen &&
                   (o.kind == QuantityTerm::Object::Kind::Feature ? used.features : used.levels)[at(o.index)];
        if (!seen) continue;
        const int owner = addOwner(c.id, describe(*survey_, c.id), Owner::Kind::Condition, !c.excluded);
        conditions_.push_back({*term, owner, c.measured.sigma});
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
        for (int k = 0; k < static_cast<int>(kGroupUnknowns); ++k) {
            if (k == 9 && !used.growth[at(g)]) continue;
            if (constants[at(k)]->mode != ConstantMode::Prior) continue;
            const int owner =
                addOwner(group.id, std::string(kConstantNames[at(k)]) + " of " + describe(*survey_, group.id),
                         Owner::Kind::CameraPrior, true);
            priors_.push_back({g, k, owner});
        }
    }
}

/// What only one photograph is concerned with besides its marks.
void Network::compileStationPriors(const InUse& used) {
    for (std::size_t i = 0; i < survey_->stations.size(); ++i) {
        const survey::Station& s = survey_->stations[i];
        if (!used.stations[i]) continue;
        const int station = static_cast<int>(i);
        if (s.mirror && s.view != survey::View::Oblique)
            mirrors_.emplace_back(station, addOwner(s.id, "mirror mark in " + describe(*survey_, s.id),
                                                    Owner::Kind::Mirror, true));
        if (cropUnknown(s.photo))
            crops_.emplace_back(station, addOwner(s.id, "offset of the crop in " + describe(*survey_, s.id),
                                                  Owner::Kind::CropPrior, true));
    }
    mirrorSigma_.assign(mirrors_.size(), std::nan(""));
}

Result<void> Network::compileFocus(const InUse& used) {
    const auto firstStation = [&](int group) {
        for (std::size_t i = 0; i < state_.stations.size(); ++i)
            if (used.stations[i] && state_.stations[i].group == group) return static_cast<int>(i);
        return -1;
    };
    for (std::size_t g = 0; g < survey_->groups.size(); ++g) {
        const survey::CameraGroup& group = survey_->groups[g];
        if (group.refocusedFrom.empty()) continue;
        FocusPair pair;
        pair.group = static_cast<int>(g);
        pair.other = indexOf(survey_->groups, group.refocusedFrom);
        if (pair.other < 0)
            return notFound("names another camera that is not there", describe(*survey_, group.id));
        if (!used.groups[g] || !used.groups[at(pair.other)]) continue;
        if (!(group.pixelPitch_mm > 0) || !(survey_->groups[at(pair.other)].pixelPitch_mm > 0))
            return Error{ErrorCode::BadValue, "is refocused, but its magnification needs the pixel pitch",
                         describe(*survey_, group.id), "enter the pixel pitch of both cameras"};
        pair.station = firstStation(pair.group);
        pair.otherStation = firstStation(pair.other);
        pair.owner = addOwner(group.id,
                              "focal length shared by " + describe(*survey_, group.id) + " and " +
                                  describe(*survey_, group.refocusedFrom),
                              Owner::Kind::FocusPrior, true);
        focus_.push_back(pair);
    }
    return {};
}

/// Middle of the features that each station's marks show.
std::vector<Vec3> Network::middlesShown() const {
    std::vector<Vec3> sum(state_.stations.size(), Vec3::Zero());
    std::vector<double> count(sum.size(), 0.0);
    for (const ImagePoint& p : points_) {
        if (!owners_[at(p.owner)].active) continue;
        const FeatureState& f = state_.features[at(p.feature)];
        sum[at(p.station)] += state_.point(f);
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

}  // namespace trammel::adjust
