// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>
#include <vector>

#include "core/plan/Task.h"
#include "core/render/Observe.h"

/// A part in place of the maker's own, of which nothing is known yet but its size and heights: a plate with
/// four holes near its corners whose top is the datum level, on it a block with a hole for each level above,
/// in openings of it a stub for each level below, and beside it reference lengths. Its survey has as many and
/// as well-spread features as a simple part has; a part with more of them comes out a little better.
namespace trammel::plan {

/// How one lens is used.
struct Setup {
    double focal_mm = 0.0;
    double standOff_mm = 0.0;  ///< entrance pupil (thin lens) to the middle of the datum level, in every view
    double magnification = 0.0;
    double fNumber = 0.0;
    double blur_px = 0.0;   ///< σ of all that smears a point, where it is worst
    double focus_mm = 0.0;  ///< distance of the plane that is focused on
    double principal_px = 0.0;
    bool upright = false;  ///< the sensor's long side runs along the part's y
};

/// Where reference lengths may lie; names of levels and readings in the scene.
inline constexpr const char* kAlongX = "reference length along x";
inline constexpr const char* kAlongY = "reference length along y";
inline constexpr const char* kRaised = "reference length at another height";

/// Box that holds part and reference lengths, mm in the part's frame.
struct Box {
    Vec3 low = Vec3::Zero(), high = Vec3::Zero();
};
Box partBox(const Task& task);
Box wholeBox(const Task& task);
/// The point at which every camera aims: the middle of the datum level.
Vec3 aimOf(const Task& task);
/// How high the raised reference length lies: at the highest level, or a fifth of the part where it is flat.
double raisedHeight(const Task& task);
/// Length of the stretch that lies along x or y: what is at hand, no longer than the part.
double stretchAlong(const Task& task, bool alongX);

/// Cameras of every planned view without tilt, the part and its features, readings and wanted dimensions.
render::Scene standIn(const Task& task, const Setup& setup);

}  // namespace trammel::plan
