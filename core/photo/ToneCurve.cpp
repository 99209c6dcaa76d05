// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/photo/ToneCurve.h"

#include <lcms2.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <memory>
#include <optional>
#include <vector>

namespace trammel::photo {
namespace {

/// Curves nearer to sRGB than this part of a code of 8 bit are it: profiles round theirs.
constexpr double kSame = 0.5 / 255.0;

using Table = std::vector<std::uint16_t>;  ///< code of the sRGB curve for each code of 16 bit

double codeOf(double light) {
    const double l = std::clamp(light, 0.0, 1.0);
    return l <= 0.0031308 ? 12.92 * l : 1.055 * std::pow(l, 1.0 / 2.4) - 0.055;
}

struct Curves {
    std::vector<Table> tables;  ///< one for grey, three for colour
    double worst = 0.0;         ///< farthest from sRGB, codes 0..1
};

void add(Curves& curves, const std::function<double(double)>& light) {
    Table table(65536);
    for (std::size_t i = 0; i < table.size(); ++i) {
        const double code = static_cast<double>(i) / 65535.0, ours = codeOf(light(code));
        curves.worst = std::max(curves.worst, std::abs(ours - code));
        table[i] = static_cast<std::uint16_t>(std::lround(65535.0 * ours));
    }
    curves.tables.push_back(std::move(table));
}

/// Nothing where the profile has no plain, rising curve for each of these channels.
std::optional<Curves> read(const std::string& icc) {
    const std::unique_ptr<void, int (*)(void*)> profile(
        cmsOpenProfileFromMem(icc.data(), static_cast<cmsUInt32Number>(icc.size())),
        [](void* p) { return static_cast<int>(cmsCloseProfile(p)); });
    if (!profile) return std::nullopt;
    const bool grey = cmsGetColorSpace(profile.get()) == cmsSigGrayData;
    // Tables of a profile, where it has them, come before its curves: what they do is then not the curve.
    if ((!grey && cmsGetColorSpace(profile.get()) != cmsSigRgbData) ||
        cmsIsTag(profile.get(), cmsSigAToB0Tag))
        return std::nullopt;
    static constexpr std::array<cmsTagSignature, 3> colour = {cmsSigRedTRCTag, cmsSigGreenTRCTag,
                                                              cmsSigBlueTRCTag};
    Curves out;
    for (std::size_t c = 0; c < (grey ? 1u : 3u); ++c) {
        const auto* curve =
            static_cast<const cmsToneCurve*>(cmsReadTag(profile.get(), grey ? cmsSigGrayTRCTag : colour[c]));
        if (!curve || !cmsIsToneCurveMonotonic(curve) || cmsIsToneCurveDescending(curve)) return std::nullopt;
        add(out, [curve](double v) {
            return static_cast<double>(cmsEvalToneCurveFloat(curve, static_cast<float>(v)));
        });
    }
    return out;
}

void apply(Image& image, const Curves& curves) {
    const bool deep = image.isDeep();
    const std::size_t count = deep ? image.deep.size() : image.data.size();
    image.deep.resize(count);
    for (std::size_t c = 0; c < static_cast<std::size_t>(image.channels); ++c) {
        const Table& table = curves.tables[curves.tables.size() == 3 ? c : 0];
        for (std::size_t i = c; i < count; i += static_cast<std::size_t>(image.channels))
            image.deep[i] = table[deep ? image.deep[i] : image.data[i] * std::size_t{257}];
    }
    roundForTheEye(image);
}

}  // namespace

CurveKind curveOf(const std::string& icc) {
    if (icc.empty()) return CurveKind::Srgb;
    const std::optional<Curves> curves = read(icc);
    if (!curves) return CurveKind::Unknown;
    return curves->worst < kSame ? CurveKind::Srgb : CurveKind::Mapped;
}

CurveKind toSrgbCurve(Image& image, const std::string& icc) {
    if (icc.empty()) return CurveKind::Srgb;
    const std::optional<Curves> curves = read(icc);
    if (!curves) return CurveKind::Unknown;
    if (curves->worst < kSame) return CurveKind::Srgb;
    apply(image, *curves);
    return CurveKind::Mapped;
}

}  // namespace trammel::photo
