// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/fit/Channel.h"
#include "core/fit/Guide.h"
#include "core/fit/Strip.h"
#include "core/photo/Image.h"

namespace trammel::fit {

/// The original pixels along a whole guide, each located once and handed out by stretches: to locate a pixel
/// costs more than to compare it with a model. Holds references: image and guide must outlive it.
class StripPixels {
  public:
    StripPixels(const photo::LinearImage& image, const Guide& guide, Channel channel)
        : image_(image), guide_(guide), channel_(channel) {}

    /// Sees to it that pixels with distances in [low, high] are at hand.
    void reach(double low, double high);

    /// Every pixel whose foot on the guide lies in [s0, s1) and whose distance lies in [low, high]; s from
    /// the stretch's middle. Reaches further where it must.
    std::vector<StripPixel> take(double s0, double s1, double low, double high);

  private:
    void gather();
    std::size_t bucketAt(double s) const;

    const photo::LinearImage& image_;
    const Guide& guide_;
    Channel channel_;
    double low_ = 0.0, high_ = 0.0;
    std::vector<std::vector<StripPixel>> buckets_;  ///< of equal lengths of the guide
};

}  // namespace trammel::fit
