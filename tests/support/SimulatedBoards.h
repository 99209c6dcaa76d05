// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <Eigen/Geometry>
#include <cmath>
#include <vector>

#include "core/calibrate/BoardModel.h"
#include "core/render/Random.h"

/// Corners of a board as a known camera sees them, with noise, without a picture.
namespace trammel::tests {

struct Lens {
    camera::Constants truth;
    int width = 0, height = 0;
};

/// Turns about x, y and the axis (rad), the middle of the board at `at` in the picture, px per mm there.
struct BoardPose {
    double tiltX = 0.0, tiltY = 0.0, roll = 0.0;
    Vec2 at = Vec2::Zero();
    double scale = 1.0;
};

inline camera::Pose poseOf(const calibrate::Board& board, const Lens& lens, const BoardPose& p) {
    camera::Pose pose;
    pose.R = (Eigen::AngleAxisd(p.tiltX, Vec3::UnitX()) * Eigen::AngleAxisd(p.tiltY, Vec3::UnitY()) *
              Eigen::AngleAxisd(p.roll, Vec3::UnitZ()))
                 .toRotationMatrix();
    const double depth = lens.truth.c / p.scale;
    const Vec2 xy = (p.at - lens.truth.pp) / lens.truth.c;
    const Vec2 middle = 0.5 * board.size();
    pose.t = Vec3(xy.x() * depth, xy.y() * depth, depth) - pose.R * Vec3(middle.x(), middle.y(), 0.0);
    return pose;
}

/// A sound set: square on, tilted by about 30° each way, turned by 90°, near and far, all over the frame.
inline std::vector<BoardPose> goodPoses(const calibrate::Board& board, const Lens& lens, int count,
                                        render::Random& random) {
    std::vector<BoardPose> out;
    const Vec2 size(lens.width, lens.height);
    const double whole = 0.85 * std::min(size.x() / board.size().x(), size.y() / board.size().y());
    for (int n = 0; n < count; ++n) {
        BoardPose p;
        const double angle = 2.0 * M_PI * n / count;
        const double tilt = n == 0 ? 0.0 : 0.45 + 0.15 * random.uniform();
        p.tiltX = tilt * std::cos(angle);
        p.tiltY = tilt * std::sin(angle);
        p.roll = (n % 3 == 2 ? M_PI / 2 : 0.0) + 0.1 * random.normal();
        // Whole board on one in three, larger than the frame allows on none: towards the sides, smaller.
        const bool middle = n % 3 == 0;
        p.scale = (middle ? 1.0 : 0.6) * whole * (n % 3 == 2 ? 0.8 : 1.0);
        const Vec2 towards(n % 4 == 1 || n % 4 == 2 ? 1.0 : -1.0, n % 4 < 2 ? 1.0 : -1.0);
        p.at = 0.5 * size + (middle ? 0.0 : 0.21) * towards.cwiseProduct(size);
        out.push_back(p);
    }
    return out;
}

/// Corners inside the frame, with noise of this σ in x and y.
inline std::vector<calibrate::BoardFrame> simulate(const calibrate::Board& board, const Lens& lens,
                                                   const std::vector<BoardPose>& poses, double sigma,
                                                   render::Random& random) {
    std::vector<calibrate::BoardFrame> out;
    for (const BoardPose& p : poses) {
        const camera::Pose pose = poseOf(board, lens, p);
        calibrate::BoardFrame frame{"frame " + std::to_string(out.size() + 1), {}};
        for (int j = 0; j < board.cornerRows(); ++j)
            for (int i = 0; i < board.cornerColumns(); ++i) {
                const Vec2 on = board.corner(i, j);
                const auto at = camera::project(lens.truth, pose, Vec3(on.x(), on.y(), 0.0));
                if (!at || at->x() < 3 || at->y() < 3 || at->x() > lens.width - 4 ||
                    at->y() > lens.height - 4)
                    continue;
                const double dx = sigma * random.normal(), dy = sigma * random.normal();
                frame.corners.push_back({i, j, *at + Vec2(dx, dy), sigma * sigma * Mat2::Identity()});
            }
        out.push_back(frame);
    }
    return out;
}

}  // namespace trammel::tests
