// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/fit/TrailEdit.h"

#include <fmt/core.h>

#include <Eigen/LU>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/survey/Names.h"

namespace trammel::fit {
namespace {

using survey::FeatureKind;

constexpr double kLeastCorner = 0.262;  // rad, 15°: flatter ones are badly placed along the edges

FeatureKind kindOf(const Piece& p) {
    if (p.kind == Piece::Kind::Line) return FeatureKind::Edge;
    return std::abs(p.sweep) > 2.0 * std::numbers::pi - 1e-6 ? FeatureKind::Hole : FeatureKind::Arc;
}

Vec2 travelAt(const Piece& p, bool end) {
    if (p.kind == Piece::Kind::Line) return (p.to - p.from).normalized();
    const Vec2 out = ((end ? p.to : p.from) - p.centre).normalized();
    return (p.sweep < 0.0 ? -1.0 : 1.0) * Vec2(-out.y(), out.x());
}

/// Collects the changes; the working copy of the survey knows which ids and names are taken.
class Writer {
  public:
    Writer(const survey::Survey& survey, const TrailTarget& target) : draft_(survey), target_(target) {}

    survey::Id feature(FeatureKind kind, const std::vector<FitPoint>& points) {
        survey::Feature f;
        f.id = survey::freshId(draft_, 'F');
        f.name = freshName(kind);
        f.kind = kind;
        f.level = target_.level;
        draft_.features.push_back(f);
        edit.changes.push_back(survey::Put<survey::Feature>{f});
        survey::Mark m;
        m.id = survey::freshId(draft_, 'M');
        m.station = target_.station;
        m.feature = f.id;
        m.origin = survey::MarkOrigin::Fitted;
        for (const FitPoint& p : points) m.points.push_back({p.px, p.sigma_px, p.growth_px});
        draft_.marks.push_back(m);
        edit.changes.push_back(survey::Put<survey::Mark>{m});
        return f.id;
    }

    void tangent(const survey::Id& a, const survey::Id& b) {
        survey::Condition c;
        c.id = survey::freshId(draft_, 'C');
        c.kind = survey::ConditionKind::Tangent;
        c.objects = {a, b};
        draft_.conditions.push_back(c);
        edit.changes.push_back(survey::Put<survey::Condition>{c});
    }

    void outline(std::vector<survey::Id> chain) {
        survey::Outline o;
        o.id = survey::freshId(draft_, 'O');
        o.name = target_.outlineName.empty() ? freshOutlineName() : target_.outlineName;
        o.purpose = target_.purpose;
        o.level = target_.level;
        o.chain = std::move(chain);
        draft_.outlines.push_back(o);
        edit.changes.push_back(survey::Put<survey::Outline>{o});
    }

    survey::Edit edit;

  private:
    /// "E7" where E6 is the last edge in use.
    std::string freshName(FeatureKind kind) const {
        const std::string letter = kind == FeatureKind::Corner ? "C"
                                   : kind == FeatureKind::Edge ? "E"
                                   : kind == FeatureKind::Hole ? "H"
                                                               : "A";
        return letter + std::to_string(1 + last(draft_.features, letter));
    }

    std::string freshOutlineName() const {
        const std::string word = std::string(survey::purposeName(target_.purpose)) + " ";
        return word + std::to_string(1 + last(draft_.outlines, word));
    }

    /// Largest number that follows the word in a name.
    template <class T>
    static long last(const std::vector<T>& list, const std::string& word) {
        long most = 0;
        for (const T& item : list) {
            if (item.name.size() <= word.size() || item.name.compare(0, word.size(), word) != 0) continue;
            const std::string digits = item.name.substr(word.size());
            if (digits.size() < 9 &&
                std::all_of(digits.begin(), digits.end(), [](char c) { return c >= '0' && c <= '9'; }))
                most = std::max(most, std::stol(digits));
        }
        return most;
    }

    survey::Survey draft_;
    const TrailTarget& target_;
};

void writeJoint(Writer& writer, const TrailTarget& target, const Piece& a, const Piece& b,
                const survey::Id& idA, const survey::Id& idB) {
    const bool edgeA = a.kind == Piece::Kind::Line, edgeB = b.kind == Piece::Kind::Line;
    if (a.tangentToNext) {
        if (target.tangents && edgeA != edgeB) writer.tangent(edgeA ? idA : idB, edgeA ? idB : idA);
        return;
    }
    const Vec2 ta = travelAt(a, true), tb = travelAt(b, false);
    const double turn = std::acos(std::clamp(ta.dot(tb), -1.0, 1.0));
    if (!target.corners || !edgeA || !edgeB || turn < kLeastCorner || turn > std::numbers::pi - kLeastCorner)
        return;
    // A corner's one σ serves both axes: the larger of the two.
    const double trace = a.toCovariance.trace(), det = a.toCovariance.determinant();
    const double most = 0.5 * trace + std::sqrt(std::max(0.0, 0.25 * trace * trace - det));
    writer.feature(FeatureKind::Corner, {{a.toPx, std::sqrt(std::max(most, 1e-6))}});
}

}  // namespace

Result<survey::Edit> trailEdit(const survey::Survey& survey, const std::vector<Piece>& pieces,
                               const TrailTarget& target) {
    if (!survey::find(survey.stations, target.station))
        return Error{ErrorCode::NotFound, "the trail's photograph is not in the survey", target.station,
                     "choose a photograph"};
    if (!survey::find(survey.levels, target.level))
        return Error{ErrorCode::NotFound, "the trail's level is not in the survey", target.level,
                     "choose a level"};
    if (pieces.empty())
        return Error{ErrorCode::BadValue, "the trail has no pieces", "", "follow an edge first"};
    Writer writer(survey, target);
    std::vector<survey::Id> chain;
    for (const Piece& p : pieces) chain.push_back(writer.feature(kindOf(p), p.points));
    const std::size_t joints = target.closed && pieces.size() > 1 ? pieces.size() : pieces.size() - 1;
    for (std::size_t k = 0; k < joints; ++k) {
        const std::size_t l = (k + 1) % pieces.size();
        writeJoint(writer, target, pieces[k], pieces[l], chain[k], chain[l]);
    }
    if (target.closed) writer.outline(chain);
    writer.edit.name = fmt::format("Trace {} feature{} in {}", pieces.size(), pieces.size() == 1 ? "" : "s",
                                   survey::describe(survey, target.station));
    return writer.edit;
}

}  // namespace trammel::fit
