// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/AdviceCandidates.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <set>

#include "core/adjust/Covariance.h"

namespace trammel::adjust {

using survey::FeatureKind;
using survey::Quantity;

namespace {

constexpr double kParallel_rad = 0.0087;      ///< half a degree: over 10 mm of jaw under 0.1 mm
constexpr double kNeverParallel_rad = 0.087;  ///< 5°, however short the edges
constexpr double kLeastAngle_rad = 0.035;     ///< 2°: a protractor's blade needs an opening
constexpr double kLeastDistance_mm = 1.0;     ///< nothing goes between
constexpr double kPastMarks = 0.25;  ///< an edge goes on past its marks by this share of them, at either end
constexpr double kSameHeight_mm = 0.05;
constexpr double kLeastTape_mm = 5.0;

/// A feature as an instrument meets it.
struct End {
    enum class Kind { Corner, Round, Edge } kind = Kind::Corner;
    const survey::Feature* feature = nullptr;
    const FeatureGeometry* geometry = nullptr;
    int index = 0;
    Vec3 point = Vec3::Zero();
    double sigma = 0.0;           ///< of a caliper's jaw on it
    double from = 0.0, to = 0.0;  ///< edge: where it runs along its direction, from the middle of its marks
};

/// Whether something that covers this interval along the edge lies beside it, to within `room`.
bool beside(const End& edge, double low, double high, double room) {
    return high > edge.from - room && low < edge.to + room;
}

double along(const End& edge, const Vec2& p) {
    return edge.geometry->direction.dot(p - edge.point.head<2>());
}

using Key = std::pair<Quantity, std::vector<Id>>;

Key keyOf(Quantity quantity, std::vector<Id> objects) {
    if (quantity == Quantity::Radius) quantity = Quantity::Diameter;
    std::sort(objects.begin(), objects.end());
    return {quantity, std::move(objects)};
}

}  // namespace

std::vector<Id> besideThePart(const survey::Survey& s) {
    std::set<Id> objects;
    for (const survey::Reading& r : s.readings)
        if (r.reference) objects.insert(r.objects.begin(), r.objects.end());
    if (objects.empty()) return {};
    std::set<Id> levels;
    for (const survey::Feature& f : s.features)
        if (objects.contains(f.id)) levels.insert(f.level);
    for (const survey::Feature& f : s.features)
        if (!objects.contains(f.id)) levels.erase(f.level);
    objects.insert(levels.begin(), levels.end());
    return {objects.begin(), objects.end()};
}

std::set<Id> accused(const Solution& solution) {
    std::set<Id> all;
    for (const Suspect& suspect : solution.suspects) {
        all.insert(suspect.object);
        all.insert(suspect.alternatives.begin(), suspect.alternatives.end());
    }
    return all;
}

/// Builds the list: one function an instrument.
class ReadingList {
  public:
    ReadingList(const Solution& solution, const AdviceOptions& options, PossibleReadings& out)
        : solution_(solution),
          options_(options),
          covariance_(*solution.covariance),
          survey_(covariance_.survey()),
          out_(out) {
        const std::vector<Id> beside = besideThePart(survey_);
        beside_.insert(beside.begin(), beside.end());
        const std::set<Id> aside = accused(solution);
        for (const survey::Reading& r : survey_.readings)
            if (!r.excluded && !aside.contains(r.id)) read_.insert(keyOf(r.quantity, r.objects));
        for (std::size_t i = 0; i < survey_.features.size(); ++i) addEnd(static_cast<int>(i));
    }

    void caliper() {
        for (const End& e : ends_)
            if (e.kind == End::Kind::Round && 2 * e.geometry->radius >= options_.leastHole_mm &&
                2 * e.geometry->radius <= options_.caliperReach_mm)
                add(Quantity::Diameter, Instrument::Caliper, e.sigma, {Object::Feature, e.index},
                    &e.feature->id);
        for (std::size_t i = 0; i < ends_.size(); ++i)
            for (std::size_t k = i + 1; k < ends_.size(); ++k) span(ends_[i], ends_[k]);
    }

    void depthRod() {
        const auto& levels = survey_.levels;
        for (std::size_t i = 0; i < levels.size(); ++i) {
            if (!usable(solution_.levels, levels[i].id)) continue;
            for (std::size_t k = i + 1; k < levels.size(); ++k)
                if (usable(solution_.levels, levels[k].id) &&
                    std::abs(solution_.levels.at(levels[i].id) - solution_.levels.at(levels[k].id)) <=
                        options_.depthReach_mm)
                    add(Quantity::Depth, Instrument::DepthRod, options_.depthRod_mm,
                        {Object::Level, static_cast<int>(i)}, &levels[i].id,
                        {Object::Level, static_cast<int>(k)}, &levels[k].id);
            if (levels[i].id != survey_.datum.level) continue;
            for (const End& e : ends_)
                if (e.feature->level.empty() && e.kind == End::Kind::Corner &&
                    std::abs(e.point.z()) <= options_.depthReach_mm)
                    add(Quantity::Depth, Instrument::DepthRod, options_.depthRod_mm,
                        {Object::Level, static_cast<int>(i)}, &levels[i].id, {Object::Feature, e.index},
                        &e.feature->id);
        }
    }

    void tape() {
        for (std::size_t i = 0; i < survey_.stations.size(); ++i) {
            const auto st = solution_.stations.find(survey_.stations[i].id);
            if (st == solution_.stations.end()) continue;
            const double sigma = std::max(kLeastTape_mm, options_.tapeShare * st->second.standOff_mm);
            add(Quantity::Tape, Instrument::Tape, sigma, {Object::Station, static_cast<int>(i)},
                &survey_.stations[i].id);
        }
    }

    void protractor() {
        for (std::size_t i = 0; i < ends_.size(); ++i)
            for (std::size_t k = i + 1; k < ends_.size(); ++k) {
                const End &a = ends_[i], &b = ends_[k];
                if (a.kind != End::Kind::Edge || b.kind != End::Kind::Edge || !sameLevel(a, b)) continue;
                const double angle = std::asin(std::min(1.0, std::abs(cross(a, b))));
                // An angle is told as 0 to 90°: near a right one, a reading of 91° would be taken for 89°.
                if (angle < kLeastAngle_rad || angle > std::numbers::pi / 2 - 4 * options_.protractor_rad)
                    continue;
                add(Quantity::Angle, Instrument::Protractor, options_.protractor_rad,
                    {Object::Feature, a.index}, &a.feature->id, {Object::Feature, b.index}, &b.feature->id);
            }
    }

  private:
    struct Object {
        using Kind = QuantityTerm::Object::Kind;
        static constexpr Kind Feature = Kind::Feature, Level = Kind::Level, Station = Kind::Station;
    };

    template <class Map>
    bool usable(const Map& map, const Id& id) const {
        return map.contains(id) && !beside_.contains(id);
    }

    void addEnd(int index) {
        const survey::Feature& f = survey_.features[at(index)];
        if (!usable(solution_.features, f.id)) return;
        const FeatureGeometry& g = solution_.features.at(f.id);
        End e;
        e.feature = &f, e.geometry = &g, e.index = index, e.point = g.point;
        if (f.kind == FeatureKind::Corner) {
            e.kind = End::Kind::Corner;
            e.sigma = options_.caliperCorner_mm;
        } else if (f.kind == FeatureKind::Hole || (f.kind == FeatureKind::Arc && halfTurn(g))) {
            e.kind = End::Kind::Round;
            e.sigma = options_.caliperHole_mm;
        } else if (f.kind == FeatureKind::Edge && !f.level.empty()) {
            e.kind = End::Kind::Edge;
            e.sigma = options_.caliperFace_mm;
            const double a = along(e, g.spanFrom), b = along(e, g.spanTo);
            const double past = kPastMarks * std::abs(b - a);
            e.from = std::min(a, b) - past, e.to = std::max(a, b) + past;
        } else {
            return;
        }
        ends_.push_back(e);
    }

    static bool halfTurn(const FeatureGeometry& g) {
        const Vec2 a = g.spanFrom - g.point.head<2>(), b = g.spanTo - g.point.head<2>();
        double sweep = std::atan2(a.x() * b.y() - a.y() * b.x(), a.dot(b));
        if (sweep <= 0) sweep += 2 * std::numbers::pi;
        return sweep >= std::numbers::pi;
    }

    static bool sameLevel(const End& a, const End& b) {
        return !a.feature->level.empty() && a.feature->level == b.feature->level;
    }
    static double cross(const End& a, const End& b) {
        const Vec2 &u = a.geometry->direction, &v = b.geometry->direction;
        return u.x() * v.y() - u.y() * v.x();
    }

    /// To half a degree, as far as the adjustment can tell.
    bool parallel(const End& a, const End& b) {
        const double angle = std::asin(std::min(1.0, std::abs(cross(a, b))));
        if (angle <= kParallel_rad) return true;
        if (angle > kNeverParallel_rad) return false;
        term_.quantity = Quantity::Angle;
        term_.objects = {{Object::Feature, a.index}, {Object::Feature, b.index}};
        const auto q = evaluate(term_, covariance_.state(), covariance_.columns());
        return angle - 2 * covariance_.sigma(q.gradient) <= kParallel_rad;
    }

    /// A caliper over two features, where it can be laid.
    void span(const End& a, const End& b) {
        const bool edgeA = a.kind == End::Kind::Edge, edgeB = b.kind == End::Kind::Edge;
        const double room = options_.jawDepth_mm / 2;
        const double step = std::abs(a.point.z() - b.point.z());
        const bool level = sameLevel(a, b) || step < kSameHeight_mm;
        double length = (b.point - a.point).head<2>().norm();
        if (edgeA && edgeB) {
            if (!parallel(a, b)) return;
            const double middle = along(a, b.point.head<2>()), half = (b.to - b.from) / 2;
            if (!beside(a, middle - half, middle + half, room)) return;
            length = offset(a, b);
        } else if (edgeA || edgeB) {
            const End &edge = edgeA ? a : b, &point = edgeA ? b : a;
            const double p = along(edge, point.point.head<2>());
            if (!beside(edge, p, p, room)) return;
            length = offset(edge, point);
        } else if (!level) {
            if (a.kind != End::Kind::Corner || b.kind != End::Kind::Corner) return;
            length = (b.point - a.point).norm();
        }
        if ((edgeA || edgeB) && !level && step > options_.jawDepth_mm) return;
        if (length < kLeastDistance_mm || length > options_.caliperReach_mm) return;
        const double sigma = std::max(a.sigma, b.sigma) * (level ? 1.0 : options_.acrossLevels);
        add(Quantity::Distance, Instrument::Caliper, sigma, {Object::Feature, a.index}, &a.feature->id,
            {Object::Feature, b.index}, &b.feature->id);
    }

    static double offset(const End& edge, const End& other) {
        const Vec2 d = (other.point - edge.point).head<2>(), &u = edge.geometry->direction;
        return std::abs(u.x() * d.y() - u.y() * d.x());
    }

    void add(Quantity quantity, Instrument instrument, double sigma, QuantityTerm::Object first,
             const Id* firstId, QuantityTerm::Object second = {}, const Id* secondId = nullptr) {
        if (!read_.empty()) {
            std::vector<Id> ids{*firstId};
            if (secondId) ids.push_back(*secondId);
            if (read_.contains(keyOf(quantity, std::move(ids)))) return;
        }
        term_.quantity = quantity;
        term_.objects.assign(1, first);
        if (secondId) term_.objects.push_back(second);
        for (const auto& [column, value] :
             evaluate(term_, covariance_.state(), covariance_.columns()).gradient)
            if (column >= 0) out_.columns_.push_back(column), out_.values_.push_back(value);
        out_.list_.push_back({quantity, instrument, firstId, secondId, sigma, out_.columns_.size()});
    }

    const Solution& solution_;
    const AdviceOptions& options_;
    const Covariance& covariance_;
    const survey::Survey& survey_;
    PossibleReadings& out_;
    std::set<Id> beside_;
    std::set<Key> read_;
    std::vector<End> ends_;
    QuantityTerm term_;
};

PossibleReadings::PossibleReadings(const Solution& solution, const AdviceOptions& options) {
    ReadingList list(solution, options, *this);
    list.caliper();
    list.depthRod();
    list.tape();
    list.protractor();
}

AdvisedReading PossibleReadings::reading(std::size_t i) const {
    const Entry& e = list_[i];
    AdvisedReading r{e.quantity, {*e.first}, e.sigma, e.instrument};
    if (e.second) r.objects.push_back(*e.second);
    return r;
}

estimate::Gradient PossibleReadings::gradient(std::size_t i) const {
    estimate::Gradient g;
    for (std::size_t k = 0; k < count(i); ++k) g.emplace_back(columns(i)[k], values(i)[k]);
    return g;
}

}  // namespace trammel::adjust
