// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

namespace trammel::fit {

/// How far a wrong tone curve moves an edge. Fits take the camera to follow the sRGB curve. Where light l is
/// written as the code of l^(1+e) instead, the profile of a step from `dark` to `light` is skewed, and the
/// step fitted to it lies off by e·blur·0.95·share, towards the light side for e > 0: to the first order in e
/// the shift goes with the blur and with a share that depends on dark/light alone. Growth is that shift with
/// its sign turned, in units of the blur of an edge between white and black (share 1); with the curve of
/// another camera it stands for more than an exponent, and the share is then right in its trend only.
///
/// `share` is (1 − s)(1 − 0.38 s) with s = √(dark/light), within 5 % of the shift of fits calculated
/// numerically (Growth_test.cpp). Linear light; what is not above zero counts as zero.
double growthShare(double dark, double light);

/// px by which the light side grows over the edge for one unit of growth; the pixel's own square counts as
/// blur.
double growthPerUnit(double blur_px, double dark, double light);

}  // namespace trammel::fit
