// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <array>
#include <vector>

#include "core/adjust/Index.h"
#include "core/camera/Camera.h"
#include "core/math/Types.h"
#include "core/survey/Survey.h"

namespace trammel::adjust {

/// Unknowns of a camera group. Kept as κ = 1/c so that a long lens tends to the finite limit κ = 0, and with
/// Brown's constants relative to a fixed radius ρ (px) so that they do not change when c does:
/// K1 = k1 (ρκ)², K2 = k2 (ρκ)⁴, K3 = k3 (ρκ)⁶, P1 = p1 ρκ, P2 = p2 ρκ.
struct GroupState {
    double lnKappa = 0.0;  ///< ln(1/c), c in px
    Vec2 pp = Vec2::Zero();
    double pupil = 0.0;  ///< entrance pupil behind the front of the lens, mm
    double rho = 1.0;
    std::array<double, 5> K{};  ///< K1 K2 K3 P1 P2
    double growth = 0.0;        ///< of the light side of edges, see survey::CameraGroup::lightGrowth

    camera::Constants constants() const;
};
inline constexpr std::array<double, 5> kBrownPower = {2, 4, 6, 1, 1};  ///< power of ρκ in K of the above

/// Unknowns of a station: a scaled orthographic camera (rotation R about the datum origin, scale m at the
/// origin in px/mm, image g of the origin) whose perspective strength is κ m:
/// q = (m (R X)_xy + g − pp) / (1 + κ m (R X)_z). At a field of view of 2° these stay nearly uncorrelated,
/// where position and principal distance would be almost one unknown (Luhmann;
/// Förstner & Wrobel).
struct StationState {
    Mat3 R = Mat3::Identity();
    double lnScale = 0.0;
    Vec2 g = Vec2::Zero();  ///< px of the full frame
    int group = 0;
    Vec2 crop = Vec2::Zero();  ///< what a doubtful offset of the picture in the full frame was wrong by, px
};

struct FeatureState {
    survey::FeatureKind kind = survey::FeatureKind::Corner;
    int level = -1;                            ///< −1: free in space
    Vec3 p = Vec3::Zero();                     ///< corner, centre; z used only when free
    double r = 1.0;                            ///< circle; half the width of a slot
    Vec2 a = Vec2::Zero(), b = Vec2::UnitX();  ///< edge: two points of the line, at the ends of its marks;
                                               ///< slot: the centres of its round ends
    double za = 0.0, zb = 0.0;                 ///< heights of a and b of an edge free in space
    Vec3 normal = Vec3::UnitZ();               ///< of a circle free in space
    std::vector<Vec2> nodes;                   ///< free curve: control points it passes near, in order
    bool closed = false;                       ///< free curve: the last node is followed by the first
};

/// How a level departs from z = constant: z = height + slope·d + bow·(dx², dx dy, dy²), d from `middle`.
struct LevelFormState {
    Vec2 middle = Vec2::Zero();  ///< of its features at the start: keeps height and slope apart
    Vec2 slope = Vec2::Zero();   ///< mm/mm
    Vec3 bow = Vec3::Zero();     ///< 1/mm
    double z(const Vec2& xy) const {
        const Vec2 d = xy - middle;
        return slope.dot(d) + bow.x() * d.x() * d.x() + bow.y() * d.x() * d.y() + bow.z() * d.y() * d.y();
    }
    Vec2 gradient(const Vec2& xy) const {
        const Vec2 d = xy - middle;
        return slope + Vec2(2 * bow.x() * d.x() + bow.y() * d.y(), bow.y() * d.x() + 2 * bow.z() * d.y());
    }
};

struct State {
    std::vector<GroupState> groups;
    std::vector<StationState> stations;
    std::vector<FeatureState> features;
    std::vector<double> levels;  ///< heights, in the middle of the level's features where it is not flat
    std::vector<LevelFormState> forms;
    double azimuth = 0.0;  ///< of the principal views about z against the datum's axes, rad

    double zAt(int level, const Vec2& xy) const {
        const auto l = static_cast<std::size_t>(level);
        return levels[l] + forms[l].z(xy);
    }
    /// Height of a feature: of its point or centre, or of the middle of an edge, slot or curve.
    double z(const FeatureState& f) const;
    /// Corner, centre of a circle or slot; middle of an edge or curve.
    Vec3 point(const FeatureState& f) const;
    camera::Pose pose(const StationState& s) const;
};

inline constexpr std::size_t kGroupUnknowns = 10;

/// Column of each unknown, −1 where fixed.
struct Columns {
    std::vector<std::array<int, kGroupUnknowns>> groups;  ///< ln κ, pp x, pp y, K1 K2 K3 P1 P2, pupil, growth
    std::vector<std::array<int, 8>> stations;             ///< rotation (left), ln m, g, crop
    /// Corner x y z | edge offset at a, at b across it in its level, free ones also along the second normal |
    /// circle x y r, free ones also z and tilt about two axes of its plane | slot a x y, b x y, r.
    std::vector<std::array<int, 6>> features;
    std::vector<std::vector<int>> nodes;  ///< free curve: offset of each node across the curve
    std::vector<int> levels;
    std::vector<std::array<int, 5>> forms;  ///< slope x y, bow xx xy yy
    int azimuth = -1;
};

/// Moves every unknown by its entry of delta.
void move(State& state, const Columns& columns, const VecX& delta);

/// Brown's constants fixed in the normalised sense follow the principal distance.
void refreshFixed(GroupState& group, const survey::CameraGroup& definition);

/// Re-expresses the state with the point o (mm) as origin and the axes turned by −angle about z, so that a
/// direction at `angle` becomes +x. Images do not change.
void moveDatum(State& state, const Vec2& origin, double angle);

/// Multiplies all lengths by f; images do not change.
void rescale(State& state, double f);

}  // namespace trammel::adjust
