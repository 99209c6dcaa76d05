// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <cmath>
#include <string>
#include <unordered_map>
#include <utility>
#include <vector>

#include "core/adjust/ConditionTerm.h"
#include "core/adjust/Quantity.h"
#include "core/adjust/State.h"
#include "core/estimate/Problem.h"

namespace trammel::adjust {

/// One observed image point of a mark, in full-frame px.
struct ImagePoint {
    int station = 0, feature = 0;
    Vec2 px = Vec2::Zero();
    double sigma = 1.0;
    int owner = 0;
    Vec2 growth = Vec2::Zero();  ///< px a unit of the group's growth of light
};

/// Something that was observed and is tested as a whole: a mark, a reading, a condition, a prior.
struct Owner {
    survey::Id object;  ///< id of the mark, reading, condition, station or group
    std::string description;
    enum class Kind {
        Mark,
        Reading,
        Condition,
        SquarePrior,  ///< the camera square to the part, of a station
        Mirror,       ///< mirror mark of a station
        CropPrior,    ///< offset of a crop, of a station
        CameraPrior,  ///< a camera constant, of a group
        FocusPrior,   ///< the same lens focused elsewhere, of a group
    } kind = Kind::Mark;
    bool active = true;  ///< false: excluded by the user, withheld as a check, or set aside
    bool check = false;
};

/// A reading or reference with its objects resolved.
struct NetworkReading {
    QuantityTerm term;
    int owner = 0;
    survey::Measured measured;
};

/// A condition with its objects resolved; each component is a row of its own.
struct NetworkCondition {
    ConditionTerm term;
    int owner = 0;
    double sigma = 0.0;  ///< mm
    int components = 0;
};

/// Two groups with one lens: a station of each tells the magnification.
struct FocusPair {
    int group = 0, other = 0;
    int station = 0, otherStation = 0;
    int owner = 0;
};

/// What active marks show, by index.
struct InUse {
    std::vector<bool> stations, features, levels, groups;
    std::vector<bool> growth;  ///< groups of which a mark tells what the growth of light does to it
};

/// A survey compiled to indices: the observations as rows, the unknowns as columns. Knows nothing of ids
/// beyond the owners' names.
class Network : public estimate::Problem {
  public:
    /// Resolves ids, fixes the datum's unknowns and lays out the columns. Start values are not set.
    static Result<Network> compile(const survey::Survey& survey);

    const estimate::Layout& layout() const override { return layout_; }
    bool linearise(std::vector<estimate::Rows>& rows, bool derivatives) const override;
    void step(const VecX& delta) override;
    /// The feet go with the state: those of a rejected step would lead the next one astray.
    void save() override {
        saved_ = state_;
        savedFeet_ = feet_;
    }
    void restore() override {
        state_ = saved_;
        feet_ = savedFeet_;
    }

    const survey::Survey& survey() const { return *survey_; }
    State& state() { return state_; }
    /// To be called after the state was replaced from outside: feet are then found anew.
    void forgetFeet() {
        feet_.assign(feet_.size(), std::nan(""));
        mirrorSigma_.assign(mirrors_.size(), std::nan(""));
    }
    /// Puts the middle of each level that is not flat into the middle of its features; before the first step.
    void placeForms();
    const State& state() const { return state_; }
    const Columns& columns() const { return columns_; }
    const std::vector<ImagePoint>& points() const { return points_; }
    /// Parameter of the foot point of each image point on its edge (0 at a, 1 at b) or rim (angle, rad).
    const std::vector<double>& feet() const { return feet_; }
    /// Owner of each row, in the rows' order.
    std::vector<int> rowOwners() const;
    const std::vector<NetworkReading>& readings() const { return readings_; }
    const std::vector<NetworkCondition>& conditions() const { return conditions_; }
    /// Standard uncertainty of a row's first component in the observation's own unit (px, mm, rad; 1 for
    /// priors stated in their own σ).
    double sigmaOfRow(std::size_t row) const;
    /// As the owners' activity is now: an observation set aside may take its station out of use.
    InUse inUse() const;
    std::vector<Owner>& owners() { return owners_; }
    const std::vector<Owner>& owners() const { return owners_; }
    /// A copy whose rows name these columns, which may be more than the layout has: to look at what unknowns
    /// would do that are not there. For linearise() only.
    Network withColumns(Columns columns) const {
        Network copy = *this;
        copy.columns_ = std::move(columns);
        return copy;
    }
    /// The feature that lies in the datum origin, and what gives the direction; −1 where none.
    int originFeature() const { return origin_; }
    int directionFeature() const { return direction_; }
    int datumLevel() const { return datumLevel_; }

    /// What a column is, in words: "height of level X", "photograph front: direction".
    std::string columnName(int column) const;

  private:
    explicit Network(const survey::Survey& survey) : survey_(&survey) {}
    Result<void> compileMarks();
    Result<void> compileReadings(const InUse& used);
    Result<void> compileConditions(const InUse& used);
    void compilePriors(const InUse& used);
    void compileStationPriors(const InUse& used);
    Result<void> compileFocus(const InUse& used);
    Result<void> chooseDatum();
    void layColumns(const InUse& used);
    std::vector<bool> coupledFeatures() const;
    std::array<bool, 6> freeUnknowns(int feature) const;
    void layLevelColumns(const InUse& used, int& next);
    void layStationColumns(const InUse& used, int& next);
    void chooseNodes();
    void layFeatureColumns(const InUse& used);
    int addOwner(const survey::Id& object, const std::string& description, Owner::Kind kind, bool active);

    std::vector<Vec3> middlesShown() const;
    bool pointRow(const ImagePoint& point, estimate::Rows& row, bool derivatives) const;
    bool curveRow(const ImagePoint& point, double& foot, estimate::Rows& row, bool derivatives) const;
    void addStationColumns(const ImagePoint& p, const struct Projected& proj, const Mat2& weigh, bool both,
                           estimate::Rows& row) const;
    void squareRow(int station, estimate::Rows& row) const;
    void priorRow(int group, int constant, estimate::Rows& row) const;
    void mirrorRow(std::size_t mirror, estimate::Rows& row) const;
    void cropRow(int station, estimate::Rows& row) const;
    void focusRow(const FocusPair& pair, estimate::Rows& row) const;

    const survey::Survey* survey_;
    std::unordered_map<survey::Id, int> stationAt_, featureAt_;  ///< marks are many: no search for each
    State state_, saved_;
    Columns columns_;
    estimate::Layout layout_;
    std::vector<ImagePoint> points_;
    mutable std::vector<double> feet_;  ///< last foot point on edge or rim per image point: a warm start
    std::vector<double> savedFeet_;
    std::vector<NetworkReading> readings_;
    std::vector<NetworkCondition> conditions_;
    std::vector<std::pair<int, int>> squares_, mirrors_, crops_;  ///< station, owner
    /// Of the mirror marks, px, with the seat at the principal distance of the first look; constant while the
    /// solver runs, or the sum of squares would not be one function.
    mutable std::vector<double> mirrorSigma_;
    std::vector<FocusPair> focus_;
    std::vector<std::array<int, 3>> priors_;  ///< group, constant (0 = c, 1.. as Columns), owner
    std::vector<Owner> owners_;
    int origin_ = -1, direction_ = -1, datumLevel_ = -1;
};

}  // namespace trammel::adjust
