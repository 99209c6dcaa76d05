// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/fit/CurveFit.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "core/fit/CoarseSearch.h"
#include "core/fit/Growth.h"
#include "core/fit/StripPixels.h"

namespace trammel::fit {
namespace {

constexpr double kWidest = 12.0;          // px, half the strip's width at most
constexpr double kCompanionShare = 0.12;  // of the main step's steepness, to be modelled
constexpr double kLeastContrast = 0.004;  // linear light
constexpr double kLeastCodes =
    2.0;  // as the file holds them: a lone step of one code is the rounding of a ramp

double halfWidth(double blur) { return std::clamp(3.0 * blur + 2.0, 4.0, kWidest); }

/// The strip's limits across the edge and the neighbouring edges inside it.
struct Room {
    double low = 0.0, high = 0.0;
    std::vector<double> companions;
};

/// Mean steepness over the profiles of one stretch, with its standard error.
struct MeanProfile {
    std::vector<double> mean, error;
};

MeanProfile meanProfile(const Profiles& profiles, double s0, double s1) {
    MeanProfile out;
    out.mean.assign(profiles.perProfile, 0.0);
    out.error.assign(profiles.perProfile, 0.0);
    int n = 0;
    for (std::size_t p = 0; p < profiles.s.size(); ++p) {
        if (profiles.s[p] < s0 || profiles.s[p] > s1) continue;
        ++n;
        for (int k = 0; k < profiles.perProfile; ++k) {
            const double g = profiles.steep[p * profiles.perProfile + k];
            out.mean[k] += g;
            out.error[k] += g * g;
        }
    }
    for (int k = 0; k < profiles.perProfile && n > 0; ++k) {
        out.mean[k] /= n;
        out.error[k] =
            std::sqrt(std::max(0.0, out.error[k] / n - out.mean[k] * out.mean[k]) / std::max(1, n - 1));
    }
    return out;
}

/// Looks on both sides of the edge for further steps and makes room for one on each side.
Room roomFor(const Profiles& profiles, double s0, double s1, double blur) {
    const double w = halfWidth(blur), total = std::sqrt(blur * blur + 1.0 / 12.0);
    Room room{-w, w, {}};
    const MeanProfile m = meanProfile(profiles, s0, s1);
    const int mid = profiles.perProfile / 2;
    double main = 0.0;
    for (int k = -3; k <= 3; ++k) main = std::max(main, std::abs(m.mean[mid + k]));
    for (int side : {-1, 1})
        for (int k = 1; k < mid; ++k) {
            const double d = k * Profiles::kStep;
            if (d > w + 2.5 * total) break;
            const int i = mid + side * k;
            const double g = m.mean[i], before = m.mean[i - side], after = m.mean[i + side];
            const double sign = g < 0 ? -1.0 : 1.0;
            if (sign * g < sign * before || sign * g <= sign * after) continue;
            if (d < std::max(1.6, 1.6 * total)) continue;
            if (std::abs(g) < kCompanionShare * main || std::abs(g) < 4.0 * m.error[i]) continue;
            // Near enough to reach into the strip: modelled. Further off: the strip ends before it.
            double& limit = side < 0 ? room.low : room.high;
            if (d > w) {
                limit = side * std::max(4.0, d - 2.5 * total);
            } else {
                room.companions.push_back(side * d);
                limit = side * (d + 2.0 * total + 0.5);
            }
            break;
        }
    return room;
}

std::optional<Stretch> fitStretch(StripPixels& source, const Guide& guide, const Profiles& profiles,
                                  double s0, double s1, double blur, bool fixedBlur, const CurveOptions& o) {
    Stretch out{s0, s1, {}};
    const Room room = roomFor(profiles, s0, s1, blur);
    StripModel model;
    model.normal = guide.normal(out.middle());
    model.blur = blur;
    model.fixedBlur = fixedBlur;
    model.tilts = o.tilts;
    model.binLength = o.binLength;
    model.companions = room.companions;
    const std::vector<StripPixel> pixels = source.take(s0, s1, room.low, room.high);
    // Cut by the picture's border: a good part of the strip is missing.
    if (static_cast<double>(pixels.size()) < 0.8 * (s1 - s0) * (room.high - room.low) - 8.0)
        return std::nullopt;
    model.tone = o.tone;
    std::optional<StripFit> fit = fitStrip(pixels, out.length(), model);
    if (!fit) return std::nullopt;
    out.fit = *fit;
    const double shift = 0.5 * (out.fit.blur * out.fit.blur + 1.0 / 12.0) * guide.curvature(out.middle());
    out.fit.offset += shift;
    for (StripBin& b : out.fit.bins) b.offset += shift;
    return out;
}

struct Blur {
    double value = 0.0, sigma = 0.0, pull = 0.0;
};

/// Mean of the blurs of a few long stretches, each weighted by its formal σ and how far it strays from their
/// median; its σ from both.
Blur meanBlur(std::vector<StripFit>& found) {
    std::sort(found.begin(), found.end(),
              [](const StripFit& a, const StripFit& b) { return a.blur < b.blur; });
    const auto formal = [](const StripFit& f) { return std::max(f.blurSigma, 0.01); };
    double total = 0.0, sum = 0.0, scatter = 0.0;
    for (const StripFit& f : found) total += 1.0 / std::pow(formal(f), 2);
    Blur out;
    for (const StripFit& f : found) {
        sum += 1.0 / std::pow(formal(f), 2);
        out.value = f.blur;
        if (sum >= 0.5 * total) break;
    }
    for (int pass = 0; pass < 4; ++pass) {
        double mean = 0.0, pull = 0.0;
        total = scatter = 0.0;
        for (const StripFit& f : found) {
            const double z = (f.blur - out.value) / formal(f),
                         w = 1.0 / std::pow(formal(f), 2) / (1.0 + z * z / 9.0);
            total += w;
            mean += w * f.blur;
            pull += w * f.blurPull;
            scatter += w * (f.blur - out.value) * (f.blur - out.value);
        }
        out.value = mean / total;
        out.pull = pull / total;
    }
    const double n = static_cast<double>(found.size());
    out.sigma = std::sqrt(std::max(1.0, n > 1 ? scatter / (n - 1) : 1.0) / total);
    return out;
}

/// The blur that all stretches share.
std::optional<Blur> commonBlur(StripPixels& source, const Guide& guide, const Profiles& profiles,
                               const CurveOptions& o) {
    const int count = std::clamp(static_cast<int>(guide.length() / 24.0), 1, 6);
    std::vector<StripFit> found;
    for (int k = 0; k < count; ++k) {
        const double a = guide.length() * k / count, b = guide.length() * (k + 1) / count;
        const double piece = std::min(b - a, 120.0), middle = 0.5 * (a + b);
        const auto s = fitStretch(source, guide, profiles, middle - piece / 2, middle + piece / 2,
                                  o.blurStart, false, o);
        if (s && (s->fit.high - s->fit.low) * o.sign > 0.0) found.push_back(s->fit);
    }
    if (found.empty()) return std::nullopt;
    return meanBlur(found);
}

/// dlight/dcode of grey.
double lightPerCode(double light) { return 1.0 / Tone().at(light).slope; }

double medianOf(std::vector<double> v) {
    if (v.empty()) return 0.0;
    std::nth_element(v.begin(), v.begin() + v.size() / 2, v.end());
    return v[v.size() / 2];
}

/// An even surface is stored in whole codes of the file. Where noise does not dither them, either plateau is
/// off by up to half a step: a uniform error of both, faded out as dither removes it.
double plateauDoubt(const photo::Image& codes, double noise) {
    const double step = codes.codeStep / 255.0;
    const double noise2 = std::max(0.0, noise * noise - step * step / 12.0) / (step * step);
    return step * std::sqrt(std::exp(-4.0 * 9.87 * noise2) / 12.0);
}

/// A JPEG rounds each block of 8 × 8 by itself, so that an edge errs block by block and in the mean by the
/// root of their number. Codes a block, as the campaign of fits showed it at qualities 75 to 95.
double blockDoubt(const photo::Image& codes, double length) {
    if (!codes.lossy) return 0.0;
    return (0.9 + 1.35 * codes.levelStep) / 255.0 / std::sqrt(std::max(1.0, length / 8.0));
}

/// What moves the whole curve without showing in its scatter, px: errors of codes against the steepness of
/// the step, what the blur's own error moves, and what the model leaves out.
double commonDoubt(const CurveFit& curve, const photo::Image& codes, double length, double blurPull) {
    constexpr double kModel = 0.008;
    if (curve.stretches.empty() || curve.contrast <= 0.0) return 0.0;
    const StripFit& f = curve.stretches[curve.stretches.size() / 2].fit;
    const double total = std::sqrt(curve.blur * curve.blur + 1.0 / 12.0);
    const double perCode = 1.2533 * total / curve.contrast;
    const double rounded =
        plateauDoubt(codes, curve.noise) * std::hypot(lightPerCode(f.low), lightPerCode(f.high));
    const double stored = blockDoubt(codes, length) * lightPerCode(0.5 * (f.low + f.high));
    return std::hypot(kModel, perCode * std::hypot(rounded, stored), blurPull * curve.blurSigma);
}

}  // namespace

CurveFit fitAlong(const photo::LinearImage& image, const Guide& guide, const CurveOptions& given) {
    CurveFit out;
    CurveOptions options = given;
    const ChannelChoice choice = channelFor(image, guide, options.blurStart);
    options.channel = out.channel = choice.channel;
    options.tone = choice.tone;
    if (choice.reversed) options.sign = -options.sign;
    out.wanted = options.stretches;
    out.binLength = options.binLength;
    const Profiles profiles = sampleProfiles(image, guide, halfWidth(options.blurStart) + 6.0);
    StripPixels source(image, guide, options.channel);
    // Some room more than the start asks: the blur found is often a little larger.
    source.reach(-halfWidth(options.blurStart) - 1.0, halfWidth(options.blurStart) + 1.0);
    const std::optional<Blur> blur = commonBlur(source, guide, profiles, options);
    if (!blur) return out;
    out.blur = blur->value;
    out.blurSigma = blur->sigma;
    std::vector<double> contrast, codes, noise, clipped;
    for (int k = 0; k < options.stretches; ++k) {
        const double a = guide.length() * k / options.stretches,
                     b = guide.length() * (k + 1) / options.stretches;
        const auto s = fitStretch(source, guide, profiles, a, b, blur->value, true, options);
        if (!s) continue;
        const double step = (s->fit.high - s->fit.low) * options.sign;
        clipped.push_back(s->fit.clipped);
        if (step <= 0.0) {
            ++out.wrongSign;
            continue;
        }
        contrast.push_back(step);
        codes.push_back(std::abs(options.tone.at(s->fit.high).code - options.tone.at(s->fit.low).code));
        noise.push_back(s->fit.noise);
        if (s->fit.offsetSigma > 0.5) continue;
        for (const StripBin& bin : s->fit.bins) out.bins.push_back({bin.s + s->middle(), bin.offset});
        out.stretches.push_back(*s);
    }
    out.contrast = medianOf(contrast);
    out.codes = 255.0 * medianOf(codes) / (image.codes.empty() ? 1.0 : image.codes.codeStep);
    out.noise = medianOf(noise);
    out.common = commonDoubt(out, image.codes, guide.length(), blur->pull);
    out.clipped = medianOf(clipped);
    return out;
}

void dropStrays(CurveFit& curve) {
    std::vector<double> size;
    for (const Stretch& s : curve.stretches) size.push_back(std::abs(s.fit.offset));
    if (size.size() < 5) return;
    std::nth_element(size.begin(), size.begin() + static_cast<long>(size.size() / 2), size.end());
    const double typical = 1.4826 * size[size.size() / 2];
    const auto stray = [&](const Stretch& s) {
        return std::abs(s.fit.offset) > std::max({0.3, 5.0 * s.fit.offsetSigma, 4.0 * typical});
    };
    for (const Stretch& s : curve.stretches)
        if (stray(s)) std::erase_if(curve.bins, [&](const StripBin& b) { return b.s >= s.s0 && b.s < s.s1; });
    std::erase_if(curve.stretches, stray);
}

Error refuse(std::string what, std::string remedy) {
    return Error{ErrorCode::Refused, std::move(what), "", std::move(remedy)};
}

std::optional<Error> refusal(const CurveFit& curve, std::size_t least) {
    if (curve.clipped > 0.5)
        return refuse("the bright side of the edge is saturated",
                      "use a shorter exposure or keep the mark by hand");
    if (curve.blur <= 0.0 || curve.contrast < kLeastContrast || curve.codes < kLeastCodes)
        return refuse("no step of light stands out here", "place the points nearer to the edge");
    if (curve.stretches.size() < least)
        return refuse(fmt::format("only {} of {} stretches of the edge can be told from the noise",
                                  curve.stretches.size(), curve.wanted),
                      "mark a longer or clearer piece");
    return std::nullopt;
}

Fit fitOf(const CurveFit& curve, const Guide& guide, const Scatter& scatter, double binLength) {
    Fit out;
    out.channel = curve.channel;
    out.noise = curve.noise;
    out.blur_px = curve.blur;
    out.blurSigma_px = curve.blurSigma;
    out.contrast = curve.contrast;
    out.samples = static_cast<int>(curve.bins.size());
    out.common_px = curve.common;
    std::vector<double> formal, low, high;
    for (const Stretch& s : curve.stretches) low.push_back(s.fit.low), high.push_back(s.fit.high);
    const double below = medianOf(low), above = medianOf(high);
    // +d is the side of `high`: the light side grows away from the lighter one.
    const double growth = std::copysign(
        growthPerUnit(curve.blur, std::min(below, above), std::max(below, above)), below - above);
    for (const Stretch& s : curve.stretches) {
        formal.push_back(s.fit.offsetSigma);
        out.points.push_back({guide.point(s.middle(), s.fit.offset),
                              pointSigma(scatter, s.length() / binLength, s.fit.offsetSigma, curve.common,
                                         curve.stretches.size()),
                              growth * guide.normal(s.middle())});
    }
    out.formal_px = medianOf(formal);
    return out;
}

}  // namespace trammel::fit
