// SPDX-License-Identifier: GPL-3.0-or-later
// Which unknowns core/adjust/Network.h has, and what rows and columns are called.
#include <algorithm>

#include "core/adjust/Network.h"
#include "core/adjust/NetworkConstants.h"
#include "core/adjust/Shape.h"

namespace trammel::adjust {
namespace {

using survey::ConstantMode;
using survey::FeatureKind;

/// How long a row of nodes a free curve needs: one for every two points of its longest mark.
constexpr std::size_t kLeastNodes = 4, kMostNodes = 24, kPointsPerNode = 2;
constexpr double kClosingGap = 1.5;  ///< in steps between its points

}  // namespace

/// A free curve's nodes: how many, and whether it closes (the ends of its longest mark lie hardly
/// farther apart than its points do). Their places come with the start values.
void Network::chooseNodes() {
    columns_.nodes.resize(state_.features.size());
    std::vector<const survey::Mark*> longest(state_.features.size(), nullptr);
    std::vector<bool> used(state_.features.size(), false);
    for (const survey::Mark& m : survey_->marks) {
        const int f = lookUp(featureAt_, m.feature), st = lookUp(stationAt_, m.station);
        if (f < 0 || st < 0 || state_.features[at(f)].kind != FeatureKind::Curve) continue;
        // One out of use serves where there is no other: it is still tested.
        const bool inUse = !m.excluded && !survey_->stations[at(st)].excluded;
        const survey::Mark*& best = longest[at(f)];
        const bool better = !best || (inUse && !used[at(f)]);
        if (better || (inUse == used[at(f)] && m.points.size() > best->points.size())) {
            best = &m;
            used[at(f)] = inUse;
        }
    }
    for (std::size_t f = 0; f < longest.size(); ++f) {
        if (!longest[f] || longest[f]->points.size() < 2) continue;
        const auto& points = longest[f]->points;
        double length = 0.0;
        for (std::size_t i = 1; i < points.size(); ++i) length += (points[i].px - points[i - 1].px).norm();
        const double spacing = length / static_cast<double>(points.size() - 1);
        state_.features[f].closed = (points.front().px - points.back().px).norm() < kClosingGap * spacing;
        state_.features[f].nodes.assign(
            std::clamp((points.size() + 1) / kPointsPerNode, kLeastNodes, kMostNodes), Vec2::Zero());
    }
}

/// Which of a feature's own unknowns the data may move.
std::array<bool, 6> Network::freeUnknowns(int feature) const {
    const FeatureState& f = state_.features[at(feature)];
    std::array<bool, 6> free{};
    const int count = ownUnknowns(f.kind, f.level >= 0);
    for (int k = 0; k < count; ++k) free[at(k)] = true;
    if (feature == origin_) free[0] = free[1] = false;
    if (feature == direction_ && f.kind != FeatureKind::Edge) free[1] = false;
    return free;
}

/// Features that share a row with another one.
std::vector<bool> Network::coupledFeatures() const {
    std::vector<bool> coupled(state_.features.size(), false);
    const auto couple = [&](const std::vector<QuantityTerm::Object>& objects) {
        if (objects.size() < 2) return;
        for (const auto& o : objects)
            if (o.kind == QuantityTerm::Object::Kind::Feature) coupled[at(o.index)] = true;
    };
    for (const NetworkReading& r : readings_) couple(r.term.objects);
    for (const NetworkCondition& c : conditions_) couple(c.term.objects);
    return coupled;
}

/// Eliminated blocks first; features coupled by a reading come among the kept, and so do a free curve's
/// nodes.
void Network::layFeatureColumns(const InUse& used) {
    const std::vector<bool> coupled = coupledFeatures();
    columns_.features.assign(state_.features.size(), {-1, -1, -1, -1, -1, -1});
    int next = 0;
    for (const bool kept : {false, true}) {
        for (std::size_t i = 0; i < state_.features.size(); ++i) {
            if (coupled[i] != kept || !used.features[i]) continue;
            const auto free = freeUnknowns(static_cast<int>(i));
            const int start = next;
            for (std::size_t k = 0; k < free.size(); ++k)
                if (free[k]) columns_.features[i][k] = next++;
            if (static_cast<int>(i) == direction_ && state_.features[i].kind == FeatureKind::Edge) {
                columns_.features[i][1] = columns_.features[i][0];  // the edge may shift, not turn
                next = start + 1;
            }
            if (!kept && next > start) layout_.blockStart.push_back(start);
        }
        if (!kept) layout_.eliminatedColumns = next;
    }
    for (std::size_t i = 0; i < state_.features.size(); ++i)
        if (used.features[i])
            for (std::size_t k = 0; k < state_.features[i].nodes.size(); ++k)
                columns_.nodes[i].push_back(next++);
    layout_.columns = next;
}

void Network::layLevelColumns(const InUse& used, int& next) {
    const survey::Survey& s = *survey_;
    columns_.levels.assign(s.levels.size(), -1);
    columns_.forms.assign(s.levels.size(), {-1, -1, -1, -1, -1});
    for (std::size_t i = 0; i < s.levels.size(); ++i) {
        if (!used.levels[i]) continue;
        const bool datum = static_cast<int>(i) == datumLevel_;
        if (!datum) columns_.levels[i] = next++;
        const survey::LevelForm form = s.levels[i].form;
        for (std::size_t k = 0; k < 5; ++k)
            if (k < 2 ? form != survey::LevelForm::Flat && !datum : form == survey::LevelForm::Bowed)
                columns_.forms[i][k] = next++;
    }
}

void Network::layStationColumns(const InUse& used, int& next) {
    const survey::Survey& s = *survey_;
    columns_.stations.assign(s.stations.size(), {-1, -1, -1, -1, -1, -1, -1, -1});
    for (std::size_t i = 0; i < s.stations.size(); ++i) {
        if (!used.stations[i]) continue;
        for (std::size_t k = 0; k < 6; ++k) columns_.stations[i][k] = next++;
        const survey::Photo& p = s.stations[i].photo;
        if (!cropUnknown(p)) continue;
        if (p.crop.fullWidth > p.width) columns_.stations[i][6] = next++;
        if (p.crop.fullHeight > p.height) columns_.stations[i][7] = next++;
    }
}

void Network::layColumns(const InUse& used) {
    const survey::Survey& s = *survey_;
    layFeatureColumns(used);
    int next = layout_.columns;
    layLevelColumns(used, next);
    layStationColumns(used, next);
    columns_.groups.assign(s.groups.size(), {-1, -1, -1, -1, -1, -1, -1, -1, -1, -1});
    for (std::size_t i = 0; i < s.groups.size(); ++i) {
        const auto constants = constantsOf(s.groups[i]);
        for (std::size_t k = 0; k < kGroupUnknowns; ++k)
            if ((k == 9 ? used.growth[i] : used.groups[i]) && constants[k]->mode != ConstantMode::Fixed)
                columns_.groups[i][k] = next++;
    }
    // Only what is square to a side view tells how the sides lie to the datum's axes.
    for (const auto* list : {&squares_, &mirrors_})
        for (const auto& [station, owner] : *list)
            if (s.stations[at(station)].view != survey::View::Top &&
                s.stations[at(station)].view != survey::View::Bottom && columns_.azimuth < 0)
                columns_.azimuth = next++;
    layout_.columns = next;
}

void Network::placeForms() {
    for (std::size_t l = 0; l < state_.levels.size(); ++l) {
        Vec2 sum = Vec2::Zero();
        int count = 0;
        for (std::size_t f = 0; f < state_.features.size(); ++f)
            if (at(state_.features[f].level) == l && state_.features[f].level >= 0 &&
                (columns_.features[f][0] >= 0 || columns_.features[f][2] >= 0 || !columns_.nodes[f].empty()))
                sum += state_.point(state_.features[f]).head<2>(), ++count;
        if (count > 0) state_.forms[l].middle = sum / count;
    }
}

std::vector<int> Network::rowOwners() const {
    std::vector<int> owners;
    for (const ImagePoint& p : points_) owners.push_back(p.owner);
    for (const NetworkReading& r : readings_) owners.push_back(r.owner);
    for (const auto& square : squares_) owners.push_back(square.second);
    for (const auto& prior : priors_) owners.push_back(prior[2]);
    for (const NetworkCondition& c : conditions_) owners.insert(owners.end(), at(c.components), c.owner);
    for (const auto& mirror : mirrors_) owners.push_back(mirror.second);
    for (const auto& crop : crops_) owners.push_back(crop.second);
    for (const FocusPair& pair : focus_) owners.push_back(pair.owner);
    return owners;
}

double Network::sigmaOfRow(std::size_t row) const {
    if (row < points_.size()) return points_[row].sigma;
    row -= points_.size();
    if (row < readings_.size()) return readings_[row].measured.sigma;
    row -= readings_.size();
    if (row < squares_.size()) return survey_->stations[at(squares_[row].first)].squareSigma_rad;
    row -= squares_.size();
    if (row < priors_.size()) return 1.0;
    row -= priors_.size();
    for (const NetworkCondition& c : conditions_) {
        if (row < at(c.components)) return c.sigma;
        row -= at(c.components);
    }
    return row < mirrors_.size() && std::isfinite(mirrorSigma_[row]) ? mirrorSigma_[row] : 1.0;
}

std::string Network::columnName(int column) const {
    const survey::Survey& s = *survey_;
    const auto in = [column](const auto& list) {
        for (const int c : list)
            if (c == column) return true;
        return false;
    };
    for (std::size_t i = 0; i < s.features.size(); ++i)
        if (in(columns_.features[i]) || in(columns_.nodes[i]))
            return "position of " + describe(s, s.features[i].id);
    for (std::size_t i = 0; i < s.levels.size(); ++i) {
        if (columns_.levels[i] == column) return "height of " + describe(s, s.levels[i].id);
        if (in(columns_.forms[i])) return "tilt or bow of " + describe(s, s.levels[i].id);
    }
    for (std::size_t i = 0; i < s.stations.size(); ++i)
        if (in(columns_.stations[i])) return "camera position of " + describe(s, s.stations[i].id);
    for (std::size_t i = 0; i < s.groups.size(); ++i)
        for (std::size_t k = 0; k < kGroupUnknowns; ++k)
            if (columns_.groups[i][k] == column)
                return std::string(kConstantNames[k]) + " of " + describe(s, s.groups[i].id);
    return "direction of the side views";
}

}  // namespace trammel::adjust
