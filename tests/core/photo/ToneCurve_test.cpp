// SPDX-License-Identifier: GPL-3.0-or-later
// Profiles made by Little CMS; the expected codes are worked from the curves' formulas.
#include "core/photo/ToneCurve.h"

#include <lcms2.h>

#include <catch2/catch.hpp>
#include <cmath>

#include "MakePhotographs.h"
#include "MakeTiffs.h"
#include "TemporaryFolder.h"
#include "core/photo/Decode.h"

using namespace trammel;
using namespace trammel::photo;
using namespace trammel::test;

namespace {

std::string bytesOfProfile(cmsHPROFILE profile) {
    cmsUInt32Number size = 0;
    cmsSaveProfileToMem(profile, nullptr, &size);
    std::string out(size, '\0');
    cmsSaveProfileToMem(profile, out.data(), &size);
    cmsCloseProfile(profile);
    return out;
}

std::string rgbProfile(double gamma) {
    const cmsCIExyY white = {0.3127, 0.3290, 1.0};
    const cmsCIExyYTRIPLE primaries = {{0.64, 0.33, 1.0}, {0.21, 0.71, 1.0}, {0.15, 0.06, 1.0}};
    cmsToneCurve* curve = cmsBuildGamma(nullptr, gamma);
    cmsToneCurve* curves[3] = {curve, curve, curve};
    const std::string out = bytesOfProfile(cmsCreateRGBProfile(&white, &primaries, curves));
    cmsFreeToneCurve(curve);
    return out;
}

double srgbCode(double l) { return l <= 0.0031308 ? 12.92 * l : 1.055 * std::pow(l, 1 / 2.4) - 0.055; }

}  // namespace

TEST_CASE("a profile's curve is told from sRGB's") {
    CHECK(curveOf("") == CurveKind::Srgb);
    CHECK(curveOf(bytesOfProfile(cmsCreate_sRGBProfile())) == CurveKind::Srgb);
    CHECK(curveOf(rgbProfile(2.2)) == CurveKind::Mapped);
    CHECK(curveOf(rgbProfile(1.8)) == CurveKind::Mapped);
    CHECK(curveOf("not a profile") == CurveKind::Unknown);
    CHECK(curveOf(bytesOfProfile(cmsCreateLab4Profile(nullptr))) == CurveKind::Unknown);
}

TEST_CASE("codes of another curve become codes of sRGB's, with 16 bits") {
    TemporaryFolder folder;
    const auto sample = [](int x, int y, int) { return (x * 6 + y) % 256; };
    for (const double gamma : {1.0, 1.8, 563.0 / 256.0}) {
        const std::string icc = rgbProfile(gamma);
        TiffKind k;
        k.icc.assign(icc.begin(), icc.end());
        makeTiff(folder / "a.tif", k, sample);
        const Result<Image> image = decode(folder / "a.tif");
        REQUIRE(image);
        REQUIRE(image->isDeep());
        CHECK(image->codeStep == 1.0f);
        double worst = 0.0;
        for (int x = 0; x < k.width; ++x) {
            const double wanted = 65535 * srgbCode(std::pow(sample(x, 5, 0) / 255.0, gamma));
            worst = std::max(worst, std::abs(image->deepAt(x, 5)[1] - wanted));
        }
        // A profile keeps gamma in 1/256 steps (ISO 15076-1, curveType).
        CHECK(worst < 40.0);
    }
    const std::string srgb = bytesOfProfile(cmsCreate_sRGBProfile());
    TiffKind plain;
    plain.icc.assign(srgb.begin(), srgb.end());
    makeTiff(folder / "s.tif", plain, sample);
    CHECK_FALSE(decode(folder / "s.tif")->isDeep());
}
