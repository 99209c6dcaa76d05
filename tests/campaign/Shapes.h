// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <cstdint>
#include <string>
#include <vector>

#include "core/render/Observe.h"
#include "core/render/Random.h"
#include "core/render/Truth.h"

/// Surveys of invented parts without a picture: features in space, cameras, and which camera sees what. Every
/// observation is drawn: marks and readings about their truth, principal distance and k1 as a calibration
/// would give them, and the cameras' departure from "square" itself, which the survey takes for zero ± its σ.
/// Only then must the ± cover as promised.
namespace trammel::campaign {

struct Shape {
    std::string name;
    render::Scene scene;  ///< no solids; the cameras of principal views still square
    std::vector<render::Sighting> seen;
    std::vector<std::string> loose;  ///< corners entered as free in space, on no level
    double sigma_px = 1.5;           ///< of a mark
    bool fitted = false;             ///< more points a mark
    double squareSigma = 0.0175;     ///< rad, drawn anew for each survey; 0: no prior, cameras stand as given
    double focalPrior = 0.10;        ///< fraction of the principal distance; 0: free
    double k1Sigma = 0.05;           ///< 0: held at the truth
    double pointSigma_px = 0.0;      ///< of the principal point; 0: held at the truth
};

/// A survey and what is true of it.
struct Drawn {
    survey::Survey survey;
    render::Truth truth;
};

Drawn draw(const Shape& shape, std::uint64_t seed, bool noise = true);

/// Six ways of working that differ where it matters: field of view 2° to 40°, three to twelve photographs,
/// with and without oblique ones, one reading or many, two levels to six.
std::vector<Shape> shapes();

/// Makes a part's features and cameras. The origin is a hole of the datum level, +x runs to a second one.
class ShapeMaker {
  public:
    explicit ShapeMaker(std::string name, std::uint64_t seed) : random_(seed) {
        shape_.name = std::move(name);
    }
    Shape& shape() { return shape_; }
    render::Random& random() { return random_; }

    /// The datum level: a plate with four corners, four edges and two or more holes. Call first.
    void plate(double width, double height, int holes);
    /// A further level with a block on it: corners and edges, or arcs where it has rounded corners, and a
    /// hole.
    void block(double height, const Vec2& from, const Vec2& to, double rounding = 0.0);
    int lens(double focal_mm, double pixelPitch_mm = 0.006);
    /// A camera whose frame the part fills; oblique: from azimuth and angle off z, rad.
    void camera(const std::string& name, survey::View view, int lens, double azimuth = 0.0,
                double offAxis = 0.0, double roll = 0.0);
    /// Decides who sees what. A camera passes over a feature that it could see with probability 1 − share.
    void look(double share, double sideShare);
    /// Readings in the order in which a person takes them: one reference, then diameters, depths, distances.
    void readings(int count, double sigma, bool tapes);
    Shape take() { return std::move(shape_); }

  private:
    void feature(survey::FeatureKind kind, int level, const Vec2& centre, render::SceneFeature f);
    void ring(int level, const Vec2& from, const Vec2& to, double rounding);
    bool couldSee(const render::SceneCamera& camera, std::size_t feature) const;
    void reading(survey::Quantity quantity, const std::vector<std::string>& objects, double sigma,
                 bool reference = false);

    Shape shape_;
    render::Random random_;
    std::vector<Vec2> middle_;  ///< of the block that a feature belongs to
    Vec2 low_ = Vec2::Zero(), high_ = Vec2::Zero();
};

}  // namespace trammel::campaign
