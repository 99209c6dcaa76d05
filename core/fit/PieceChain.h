// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>
#include <vector>

#include "core/math/Types.h"

namespace trammel::fit {

/// A line or circle with the points that it is to fit; px.
struct ChainMember {
    bool arc = false;
    std::vector<Vec2> points;  ///< in order
    std::vector<double> sigmas;
    Vec2 at = Vec2::Zero();  ///< line: a place on it; arc: its centre
    double angle = 0.0;      ///< line: direction of travel
    double radius = 0.0;     ///< arc
    double turn = 1.0;       ///< arc: +1 travels from +x towards +y, −1 the other way
    Vec2 first = Vec2::Zero(), last = Vec2::Zero();  ///< of the run, where the breaks were found
    Vec2 direction() const { return {std::cos(angle), std::sin(angle)}; }
    Vec2 normal() const { return {-std::sin(angle), std::cos(angle)}; }
    /// Signed distance: line, to the right of travel (y down); arc, outwards.
    double distance(const Vec2& p) const;
    Vec2 nearest(const Vec2& p) const;
    /// Direction of travel at the place nearest to p.
    Vec2 travel(const Vec2& p) const;
};

/// Own least-squares fit of a member to its points; points farther off than 4 robust deviations are dropped.
/// False when there are too few or they make no such shape.
bool fitMember(ChainMember& member);

/// Where member k meets member k + 1.
struct ChainJoint {
    bool tangent = false;
    Vec2 at = Vec2::Zero();
    Mat2 covariance = Mat2::Zero();
};

/// A row of members that meet one after the other; a closed one's last meets its first.
class PieceChain {
  public:
    PieceChain(std::vector<ChainMember> members, bool closed, double plusMinus_px);
    /// Fits all members at once. Neighbours are held tangent where the miss of their separate fits is not
    /// refuted at 1 % by their covariance and they leave each other at less than 35°; if the whole gets worse
    /// than chance explains (0.1 %), the joint that missed most is let go and all is fitted again.
    void fit();
    const std::vector<ChainMember>& members() const { return members_; }
    const std::vector<ChainJoint>& joints() const { return joints_; }  ///< of an open chain one fewer
    /// Standard uncertainty of a member's offset at a place on it, and of an arc's radius.
    double sigmaAt(std::size_t member, const Vec2& place) const;
    double radiusSigma(std::size_t member) const;
    /// Root of χ² over degrees of freedom of the separate fits, 1 at least: by this every σ is widened.
    double scale() const { return scale_; }

  private:
    struct Miss {
        double value = 0.0;
        std::vector<std::pair<Eigen::Index, double>> row;
    };
    std::size_t jointCount() const {
        return closed_ && members_.size() > 1 ? members_.size() : members_.size() - 1;
    }
    std::size_t after(std::size_t k) const { return k + 1 < members_.size() ? k + 1 : 0; }
    std::optional<Miss> miss(std::size_t joint) const;
    double accumulate(MatX& normal, VecX& gradient, bool constraints) const;
    void move(const VecX& step);
    double solve(bool constraints);
    void chooseTangents();
    void placeJoints();
    Vec2 meeting(const ChainMember& a, const ChainMember& b, bool tangent) const;

    std::vector<ChainMember> members_;
    bool closed_;
    double plusMinus_;
    double scale_ = 1.0;
    std::vector<ChainJoint> joints_;
    MatX covariance_;
};

}  // namespace trammel::fit
