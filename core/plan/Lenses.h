// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <map>
#include <string>
#include <vector>

#include "core/plan/Optics.h"
#include "core/plan/StandIn.h"
#include "core/plan/Task.h"

namespace trammel::plan {

inline constexpr double kMargin = 0.04;      ///< of the picture's width or height, kept free on every side
inline constexpr double kBehind_mm = 300.0;  ///< behind the lens: the body, and a hand (ours)
inline constexpr double kSharp_px = 1.0;  ///< σ of the blur up to which a mark is as good as promised (ours)

/// What one lens at one focal length comes to for a set of views.
struct LensUse {
    Setup setup;
    double pixel_mm = 0.0;                    ///< on the part, at the datum level
    double fieldX_mm = 0.0, fieldY_mm = 0.0;  ///< what the picture of the top view shows at the datum level
    double nearest_mm = 0.0, furthest_mm = 0.0;  ///< distances of part between which all must be sharp
    DepthOfField sharp;                          ///< with a blur circle of two pixels, focused as said
    double airy_px = 0.0;                        ///< diameter of the Airy disc
    std::map<std::string, double> blur_px;       ///< of each view: σ of all that smears, where it is worst
    double uncorrected_mm = 0.0;  ///< what the height of a level does to a place when no one reckons with it
};

/// Chooses stand-off and aperture. At the shortest stand-off every planned view shows part and reference
/// lengths with kMargin around, and the lens focuses. Nearer means finer pixels, but also more blur before
/// and behind the focused plane: of the stand-offs from there to the end of the room that with the least mean
/// square of pixel size times blurFactor is taken, rounded up to a number that a person can set. The aperture
/// is the full stop with the least mean square of blurFactor over the nearest and furthest places of each of
/// `views`, the focus the same for all of them. Refused, with the reason, where the room is too short or the
/// lens focuses too far away.
Result<LensUse> useLens(const Task& task, const Lens& lens, double focal_mm,
                        const std::vector<std::string>& views);

/// The same stand-off with aperture and focus chosen for other views.
LensUse refocused(const Task& task, const Lens& lens, LensUse use, const std::vector<std::string>& views);

/// By how much the σ of a mark grows where the picture is blurred by more than kSharp_px: in proportion
/// (ours, on the safe side: an edge fit's σ grows with between the square root and the first power of the
/// blur).
double blurFactor(double blur_px);

/// Height error of a place r from the plumb point, h above the plane that scales the picture: r h / (u − h)
/// (derived; similar triangles).
double heightShift(double standOff_mm, double radius_mm, double height_mm);

}  // namespace trammel::plan
