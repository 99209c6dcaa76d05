// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QString>
#include <map>
#include <memory>
#include <optional>

#include "core/unfold/Projector.h"
#include "core/unfold/Seen.h"
#include "ui/document/Document.h"
#include "ui/settings/SheetSettings.h"

namespace trammel::ui {

using unfold::View;

/// "top", "front"... as people read it.
QString viewWord(View view);

/// One view of the sheet: which photograph fills it, or why none does.
struct UnfoldedSide {
    View view = View::Front;
    survey::Id station;  ///< empty: nothing to show
    QString name, path;  ///< of the photograph
    adjust::StationResult camera;
    QString missing;  ///< a sentence where there is no picture
};

/// A feature as one view has it, in mm of the sheet.
struct SheetLine {
    int feature = 0;  ///< index into the scene's features
    View view = View::Front;
    std::vector<Vec2> points;
    Vec2 anchor = Vec2::Zero();  ///< its point: centre, corner, middle
    unfold::Frame box;
};

struct SheetHit {
    int feature = -1;
    View view = View::Front;
    bool operator==(const SheetHit&) const = default;
};

/// An outline of the part in one view.
struct SheetOutline {
    survey::Id level;
    View view = View::Top;
    std::vector<Vec2> points;  ///< closed
};

/// The unfolded part as plain values: made anew when the survey, its adjustment or the arrangement changes,
/// never while looking around. Needs a solution.
class UnfoldedScene {
  public:
    UnfoldedScene(const Document& document, const SheetSettings& settings,
                  const survey::Id& preferredStation);

    const unfold::Arrangement& arrangement() const { return arrangement_; }
    const std::vector<unfold::Placed>& features() const { return features_; }
    const std::vector<SheetLine>& lines() const { return lines_; }
    const std::vector<SheetOutline>& outlines() const { return outlines_; }
    const std::vector<UnfoldedSide>& sides() const { return sides_; }
    const UnfoldedSide* side(View view) const;
    const adjust::Solution& solution() const { return *solution_; }
    const survey::Survey& survey() const { return survey_; }
    double turn() const { return turn_; }

    const unfold::Placed* feature(int index) const;
    int indexOf(const survey::Id& feature) const;  ///< −1: not on the sheet
    const SheetLine* line(int feature, View view) const;
    /// The view in which a feature is best looked at: the first that shows it.
    std::optional<View> homeOf(int feature) const;

    /// Nearest feature within `reach` mm, of this level before others.
    std::optional<SheetHit> at(const Vec2& sheet, double reach, const survey::Id& level) const;
    /// Nearest feature of the level in a direction of the sheet (unit), from a place.
    std::optional<SheetHit> next(const Vec2& from, const Vec2& direction, const survey::Id& level,
                                 const SheetHit& except) const;

    /// How long the photograph's residuals of features are, mm: the 90 % quantile, for a fitting enlargement.
    double usualResidual() const { return usualResidual_; }
    double usualPlusMinus() const { return usualPlusMinus_; }
    /// Smallest and largest ± of the part's features, mm; both 0 where unknown.
    std::pair<double, double> plusMinusRange() const { return range_; }
    const std::vector<unfold::Seen>& seen(int line) const { return seen_[static_cast<std::size_t>(line)]; }

  private:
    void chooseSides(const Document& document, const SheetSettings& settings, const survey::Id& preferred);
    void lay();
    void layOutlines();
    void judge();

    survey::Survey survey_;
    std::shared_ptr<const adjust::Solution> solution_;
    double turn_ = 0.0;
    std::vector<unfold::Placed> features_;
    std::map<survey::Id, int> index_;
    std::vector<UnfoldedSide> sides_;
    unfold::Arrangement arrangement_;
    std::vector<SheetLine> lines_;
    std::vector<std::vector<unfold::Seen>> seen_;  ///< by line
    std::vector<SheetOutline> outlines_;
    double usualResidual_ = 0.0, usualPlusMinus_ = 0.0;
    std::pair<double, double> range_;
};

}  // namespace trammel::ui
