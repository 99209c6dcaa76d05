// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <array>
#include <optional>
#include <string>
#include <tuple>
#include <utility>
#include <vector>

#include "core/calibrate/Board.h"
#include "core/calibrate/LensRecord.h"
#include "core/estimate/Problem.h"

namespace trammel::calibrate {

/// An inner corner of the board located in a photograph, px of the frame as the sensor lies level.
struct BoardCorner {
    int i = 0, j = 0;  ///< as in Board::corner
    Vec2 px = Vec2::Zero();
    Mat2 covariance = Mat2::Identity();  ///< px²; what counts is the proportion, see Calibration::factor
};

/// The corners of one photograph.
struct BoardFrame {
    std::string name;
    std::vector<BoardCorner> corners;
};

/// Unknowns that all photographs share, in the order of their columns after the frames' own.
enum Shared { kLnKappa, kSharedX, kSharedY, kBrown1, kBrown2, kBrown3, kTangent1, kTangent2, kRatio, kBow };
inline constexpr int kSharedCount = 12;  ///< three of bow

/// The lens by κ = 1/c and Brown's constants relative to the radius ρ (px), as in core/adjust/State.h: at a
/// narrow field of view these stay nearly uncorrelated where c and the distances would be one unknown. The
/// board by the ratio of its pitches, its bow, and what each of its corners is off by: photographs of one
/// print share that, so taken as noise it would pass for better than it is.
struct SharedState {
    double lnKappa = 0.0;
    Vec2 pp = Vec2::Zero();
    std::array<double, 5> K{};  ///< K1 K2 K3 P1 P2: K1 = k1 (ρκ)², K2 = k2 (ρκ)⁴, ..., P = p ρκ
    double ratio = 0.0;         ///< ln of true over stated pitchX / pitchY
    Vec3 bow = Vec3::Zero();  ///< mm: z = bow · (ξ², ξη, η²), ξ η from the board's middle in half diagonals
    double rho = 1.0;
    /// mm: where each inner corner was printed besides the even grid, row by row.
    std::vector<Vec2> offsets;

    camera::Constants constants() const;
};

/// A photograph as a scaled orthographic camera with perspective strength κ m: q = (m (R X)_xy + g − pp) /
/// (1 + κ m (R X)_z), X from the middle of the photograph's corners.
struct FrameState {
    Mat3 R = Mat3::Identity();
    double lnScale = 0.0;
    Vec2 g = Vec2::Zero();
    Vec3 pivot = Vec3::Zero();  ///< board mm; fixed
};

/// What calibrates: corners against the model, least squares over all photographs at once, each photograph's
/// six unknowns an eliminated block.
class BoardProblem final : public estimate::Problem {
  public:
    BoardProblem(const Board& board, std::vector<const BoardFrame*> frames, double rho);

    SharedState shared;
    std::vector<FrameState> states;
    double factor = 1.0;                    ///< of the corners' standard uncertainties
    std::array<bool, kSharedCount> open{};  ///< unknowns; the others stay as they are
    /// σ of the corners' offsets about zero, mm; 0: none are unknown.
    double offsetSigma = 0.0;
    double ratioSigma = 0.0, bowSigma = 0.0;   ///< of their priors about zero, where they are open
    std::vector<std::vector<double>> weights;  ///< of each corner; 0: inactive

    /// To be called after `open` was changed, or offsets were taken up or given up.
    void layOut();
    int column(int sharedIndex) const { return columns_[static_cast<std::size_t>(sharedIndex)]; }

    /// First of the two columns of a corner's offset; −1 where there are none.
    int offsetColumn(int i, int j) const {
        return offsetStart_ < 0 ? -1 : offsetStart_ + 2 * (j * board_.cornerColumns() + i);
    }
    int offsetCount() const { return offsetStart_ < 0 ? 0 : board_.cornerColumns() * board_.cornerRows(); }

    const estimate::Layout& layout() const override { return layout_; }
    bool linearise(std::vector<estimate::Rows>& rows, bool derivatives) const override;
    void step(const VecX& delta) override;
    void save() override { saved_ = {shared, states}; }
    void restore() override { std::tie(shared, states) = saved_; }

    /// The same with one photograph alone and nothing shared open.
    BoardProblem alone(std::size_t frame) const;

    const std::vector<const BoardFrame*>& frames() const { return frames_; }
    /// Point of the board in mm, its unevenness counted in.
    Vec3 boardPoint(int i, int j) const;
    /// Where the model has this corner, px; nothing behind the camera.
    std::optional<Vec2> project(std::size_t frame, int i, int j) const;
    /// Observed less computed, px, of all corners of a frame in their order.
    std::vector<Vec2> residuals(std::size_t frame) const;
    /// One row of the corner as if it had been observed at the model's own place with this σ.
    std::optional<estimate::Rows> planned(const FrameState& state, int i, int j, double sigma,
                                          int firstColumn) const;

  private:
    bool fill(const FrameState& f, int i, int j, const Vec2& observed, const Mat2& whitening, int firstColumn,
              bool derivatives, estimate::Rows& row) const;

    const Board& board_;
    std::vector<const BoardFrame*> frames_;
    std::vector<std::vector<Mat2>> whitening_;
    estimate::Layout layout_;
    std::array<int, kSharedCount> columns_{};
    int offsetStart_ = -1;
    std::pair<SharedState, std::vector<FrameState>> saved_;
};

}  // namespace trammel::calibrate
