// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <memory>
#include <optional>
#include <vector>

#include "core/base/Result.h"
#include "core/math/Types.h"
#include "core/photo/Image.h"

namespace trammel::fit {

/// Smoothed gradient of the root of light, which has about the same noise in light and shade. Worked out in
/// squares as they are asked for: a path looks at a small part of the photograph only.
class GradientField {
  public:
    static constexpr int kSquare = 32;
    explicit GradientField(const photo::LinearImage& image);
    struct Gradient {
        float x = 0.0f, y = 0.0f;
    };
    Gradient at(int x, int y) const;
    bool inside(int x, int y) const { return x >= 0 && y >= 0 && x < width_ && y < height_; }
    int width() const { return width_; }
    int height() const { return height_; }
    /// Standard deviation of a component in the quieter part of the square about a pixel: what texture and
    /// noise amount to there.
    double noiseAt(int x, int y) const { return square(x / kSquare, y / kSquare).noise; }

  private:
    struct Square {
        std::vector<Gradient> data;
        double noise = 0.0;
    };
    const Square& square(int i, int j) const;
    const photo::LinearImage& image_;
    int width_ = 0, height_ = 0, across_ = 0;
    mutable std::vector<std::unique_ptr<Square>> squares_;
};

/// Where a click's edge runs: the pixel that is steepest near it, distance weighed in.
struct Foothold {
    int x = 0, y = 0;
    double steep = 0.0;
};

/// Follows the strongest edge from click to click (the minimal path of Mortensen & Barrett 1995 and Cohen &
/// Kimmel 1997): a step costs its length times 1 for an edge as strong as at the clicks and 20 for none. The
/// gradient counts only across the step and with the side on which it is lighter, which may change along the
/// way at a price. Dijkstra's search with the distance to the goal as bound (A*) over buckets of whole costs
/// (Dial 1969), inside an ellipse about the two clicks. Hold one for a photograph: what it has looked at is
/// kept. Not for two threads at once.
class EdgeFollower {
  public:
    explicit EdgeFollower(const photo::LinearImage& image) : field_(image) {}
    /// Nothing where no edge is near enough.
    std::optional<Foothold> foothold(const Vec2& click, double handSigma_px) const;
    /// Pixels from a to b, both included, each a neighbour of the one before. Nothing when no edge leads
    /// there: where a run of 16 px shows next to nothing, it is a gap.
    std::optional<std::vector<Vec2>> follow(const Foothold& a, const Foothold& b) const;
    const GradientField& field() const { return field_; }

  private:
    GradientField field_;
};

}  // namespace trammel::fit
