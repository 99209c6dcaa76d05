// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <limits>
#include <vector>

/// The thin lens, its depth of field and its diffraction. Formulas: A. R. Greenleaf, Photographic Optics
/// (1950); S. F. Ray, Applied Photographic Optics (from memory; checked against a maker's published table of
/// depth of field in the tests). All lengths mm. u is the distance of the focused plane from the lens's front
/// principal plane, N the f-number as set at infinity, m the magnification (image over object).
namespace trammel::plan {

/// m = f / (u − f); NaN where u ≤ f (no image).
double magnification(double focal_mm, double distance_mm);
/// u = f (1 + 1/m).
double distanceFor(double focal_mm, double magnification);
/// v = f (1 + m): principal distance, and the image's distance behind the lens.
double imageDistance(double focal_mm, double magnification);
/// N (1 + m/p), p the pupil magnification (1 of a symmetrical lens).
double effectiveFNumber(double fNumber, double magnification, double pupil = 1.0);
/// H = f² / (N c), to which some handbooks add f.
double hyperfocal(double focal_mm, double fNumber, double blurCircle_mm);

/// Nearest and furthest distance that are sharp to a blur circle of this diameter; far may be infinite.
struct DepthOfField {
    double near_mm = 0.0, far_mm = std::numeric_limits<double>::infinity();
};
DepthOfField depthOfField(double focal_mm, double fNumber, double distance_mm, double blurCircle_mm);

/// Diameter in the image of the blur of a point `towards` mm nearer to the camera than the focused plane
/// (negative: beyond it): m (f/N) |d| / (u − d).
double blurCircle(double focal_mm, double fNumber, double distance_mm, double towards_mm);

/// Diameter of the Airy disc (first zero), 2.44 λ N_eff, for green light of 550 nm.
double airyDisc(double effectiveFNumber);

/// Standard deviation in the image of all that smears a point: an even disc of diameter c has c/4 (exact),
/// the Airy pattern the Gaussian nearest to it, 0.42 λ N_eff (Zhang, Zerubia, Olivo-Marin, Applied Optics 46
/// (2007) 1819, from memory), a square pixel its pitch / √12. Variances add. What the glass itself smears is
/// not known and not in it.
double blurSigma(double blurCircle_mm, double effectiveFNumber, double pitch_mm);

/// The focused distance at which near and far are equally blurred: the harmonic mean (from the blur circle).
double focusBetween(double near_mm, double far_mm);

/// Full stops from 1.4 to 45 that lie within the lens's range; its ends themselves where none does.
std::vector<double> stopsWithin(double widest, double narrowest);

}  // namespace trammel::plan
