// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/fit/Guide.h"
#include "core/fit/Tone.h"
#include "core/photo/Image.h"

namespace trammel::fit {

/// Whether the picture's codes are there to be read.
bool holdsCodes(const photo::LinearImage& image);

/// Code 0..1 of one pixel, by its index in the picture. Without codes: that of its light.
double codeAt(const photo::LinearImage& image, std::size_t index, Channel channel);

struct ChannelChoice {
    Channel channel = Channel::Luma;
    Tone tone{};            ///< between the surfaces on both sides
    bool reversed = false;  ///< the step runs the other way than in luminance
};

/// The channel in which the step across a guide stands out best from noise: the surfaces' colours are looked
/// up beside the guide. Luma, unless one of the colours is clearly better: a JPEG stores luma at full size
/// and most finely, so that a colour channel must make up for that.
ChannelChoice channelFor(const photo::LinearImage& image, const Guide& guide, double blur_px);

}  // namespace trammel::fit
