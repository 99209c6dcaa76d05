// SPDX-License-Identifier: GPL-3.0-or-later
// Entries of the open lens database (lensfun 0.3.3 of Debian, data CC BY-SA 3.0) against the library's own
// correction, run on a grid, and against figures kept outside the project.
#include "core/calibrate/LensDatabase.h"

#include <lensfun.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdlib>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "TemporaryFolder.h"

using namespace trammel;
using namespace trammel::calibrate;

namespace {

const LensDatabase& database() {
    static const auto loaded = LensDatabase::load();
    REQUIRE(loaded);
    return *loaded;
}

const lfDatabase& library() { return *static_cast<const lfDatabase*>(database().handle()); }

photo::Exif exif(const char* make, const char* model, const char* lens, double focal) {
    photo::Exif e;
    e.make = make, e.model = model, e.lensModel = lens;
    e.focalLength_mm = focal;
    return e;
}

/// Largest distance in px between where the library takes a corrected pixel from and where the converted
/// constants do, over a grid of the frame.
double missOfLibrary(const lfLens& lens, const DatabaseLens& found, int width, int height) {
    lfModifier modifier(&lens, static_cast<float>(found.cropFactor), width, height);
    const int done = modifier.Initialize(&lens, LF_PF_U8, static_cast<float>(found.focalLength_mm), 8.0F,
                                         1000.0F, 1.0F, LF_RECTILINEAR, LF_MODIFY_DISTORTION, false);
    REQUIRE(done == LF_MODIFY_DISTORTION);
    const Vec2 middle = 0.5 * Vec2(width - 1, height - 1);
    const auto& k = found.conversion.constants;
    double worst = 0.0;
    for (int j = 0; j <= 24; ++j)
        for (int i = 0; i <= 36; ++i) {
            const float x = static_cast<float>(i * (width - 1) / 36.0);
            const float y = static_cast<float>(j * (height - 1) / 24.0);
            float from[2];
            REQUIRE(modifier.ApplyGeometryDistortion(x, y, 1, 1, from));
            const Vec2 theirs = Vec2(from[0], from[1]) - middle;
            if (std::abs(theirs.x()) > width / 2.0 || std::abs(theirs.y()) > height / 2.0) continue;
            const Vec2 ideal = (Vec2(x, y) - middle) * found.conversion.idealPerPx;
            worst = std::max(worst, (k.c * camera::distort(k, ideal) - theirs).norm());
        }
    return worst;
}

const lfLens* entryOf(const DatabaseLens& found) {
    for (auto l = library().GetLenses(); *l; ++l)
        if (found.lens == (*l)->Model && found.measuredCrop == (*l)->CropFactor) return *l;
    return nullptr;
}

}  // namespace

TEST_CASE("a lens is found by what the photograph says, and moves pixels as the library does") {
    struct Case {
        const char *make, *model, *lens, *entry;
        double focal;
        const char* kind;
        int width, height;
        double within_px;  // beyond what the conversion itself says
    };
    // Upright and lying; a sensor smaller than the one that was measured (crop 1.6 against 1).
    const Case cases[] = {
        {"Canon", "Canon EOS 5D Mark III", "EF70-200mm f/2.8L IS USM", "Canon EF 70-200mm f/2.8L IS USM", 200,
         "cubic", 6000, 4000, 0.02},
        {"Canon", "Canon EOS 5D Mark III", "EF70-200mm f/2.8L IS USM", "Canon EF 70-200mm f/2.8L IS USM", 137,
         "cubic", 4000, 6000, 0.02},
        {"Canon", "Canon EOS 60D", "EF70-200mm f/2.8L IS USM", "Canon EF 70-200mm f/2.8L IS USM", 200,
         "quartic", 5184, 3456, 0.02},
        {"Canon", "Canon EOS 5D Mark III", "EF100mm f/2.8L Macro IS USM",
         "Canon EF 100mm f/2.8L Macro IS USM", 100, "quartic", 6000, 4000, 0.02},
        {"Canon", "Canon EOS 60D", "EF100-300mm f/5.6L", "Canon EF 100-300mm f/5.6L", 300, "cubic", 5184,
         3456, 0.02},
    };
    bool otherSensor = false;
    for (const Case& c : cases) {
        INFO(c.lens << " at " << c.focal << " on " << c.model);
        const auto found = database().find(exif(c.make, c.model, c.lens, c.focal), c.width, c.height);
        REQUIRE(found);
        CHECK(found->lens == c.entry);
        CHECK(found->model == c.kind);
        const double miss = missOfLibrary(*entryOf(*found), *found, c.width, c.height);
        CHECK(miss < c.within_px + found->conversion.worst_px);
        if (found->model != "quartic") CHECK(found->conversion.worst_px < 1e-6);  // Brown's own terms
        CHECK(std::abs(found->conversion.corner_px) > 1.0);  // there is something to compare
        CHECK(found->sentence().find(c.entry) == 0);
        otherSensor = otherSensor || std::abs(found->cropFactor - found->measuredCrop) > 0.5;
    }
    CHECK(otherSensor);
}

TEST_CASE("a quintic curve moves pixels as the library does") {
    lfLens lens;  // invented: the database has such curves for compact cameras only
    lens.SetModel("Example 200mm f/4");
    lens.CropFactor = 1.0F;
    lens.AspectRatio = 1.5F;
    lens.Type = LF_RECTILINEAR;
    const lfLensCalibDistortion entry{LF_DIST_MODEL_POLY5, 200.0F, {-0.02F, 0.004F, 0.0F}};
    lens.AddCalibDistortion(&entry);
    DatabaseLens found;
    found.focalLength_mm = 200, found.cropFactor = 1;
    const double unit_px = 0.5 * std::hypot(5999, 3999) / std::hypot(1.5, 1);
    const auto made = toBrown({RadialKind::Quintic, {-0.02, 0.004}}, unit_px, 33333, 6000, 4000);
    REQUIRE(made);
    found.conversion = *made;
    CHECK(made->corner_px < -30);
    CHECK(missOfLibrary(lens, found, 6000, 4000) < 0.02);
}

TEST_CASE("every entry of the database converts, or its error is stated") {
    std::vector<double> worst;
    int refused = 0;
    for (auto l = library().GetLenses(); *l; ++l) {
        if ((*l)->Type != LF_RECTILINEAR) continue;
        for (auto d = (*l)->CalibDistortion; d && *d; ++d) {
            if ((*d)->Model == LF_DIST_MODEL_NONE) continue;
            RadialCurve curve{(*d)->Model == LF_DIST_MODEL_POLY3   ? RadialKind::Cubic
                              : (*d)->Model == LF_DIST_MODEL_POLY5 ? RadialKind::Quintic
                                                                   : RadialKind::Quartic,
                              {(*d)->Terms[0], (*d)->Terms[1], (*d)->Terms[2]}};
            // Frames of 24 megapixels on the sensor that was measured.
            const auto made =
                toBrown(curve, 1999.5, 6000 / 36.0 * (*d)->Focal * (*l)->CropFactor, 6000, 4000);
            if (!made) {
                ++refused;
                continue;
            }
            worst.push_back(made->worst_px);
            if (curve.kind != RadialKind::Quartic) CHECK(made->worst_px < 1e-6);  // Brown's own terms
            CHECK(made->rms_px <= made->worst_px);
        }
    }
    std::sort(worst.begin(), worst.end());
    REQUIRE(worst.size() > 1000);
    WARN(worst.size() << " entries converted, " << refused
                      << " refused; error of the conversion at 6000 × 4000: median "
                      << worst[worst.size() / 2] << " px, 95 % below " << worst[worst.size() * 95 / 100]
                      << " px, worst " << worst.back() << " px");
    CHECK(refused < 20);
    // A term in r² bends the middle as no Brown's constants do: what is left is stated with every entry.
    CHECK(worst[worst.size() / 2] < 1.0);
    CHECK(worst[worst.size() * 95 / 100] < 7.2);  // more than a thousandth of the diagonal is refused
}

TEST_CASE("conversions agree with figures computed outside") {
    const char* folder = std::getenv("TRAMMEL_REFERENCE");
    const std::string name = std::string(folder ? folder : "") + "/lenses/lensfun-telephoto-examples.csv";
    std::ifstream file(name);
    if (!file) {
        WARN("not compared: TRAMMEL_REFERENCE names no folder with lenses/lensfun-telephoto-examples.csv");
        return;
    }
    std::string line;
    std::getline(file, line);
    int compared = 0;
    while (std::getline(file, line)) {
        std::vector<std::string> cells;
        std::stringstream split(line);
        for (std::string cell; std::getline(split, cell, ',');) cells.push_back(cell);
        if (cells.size() < 13 || cells[4] != "poly3") continue;
        INFO(line);
        // On a frame of 36 × 24 mm, half the short side is 12 mm: c in those units is focal / 12.
        const double focal = std::stod(cells[3]);
        const auto made =
            toBrown({RadialKind::Cubic, {std::stod(cells[5])}}, 1999.5, focal / 12 * 1999.5, 6000, 4000);
        REQUIRE(made);
        CHECK(made->constants.k1 == Approx(std::stod(cells[12])).epsilon(2e-3));
        CHECK(1.0 / made->idealPerPx / made->constants.c == Approx(1.0 / std::stod(cells[9])).epsilon(1e-6));
        ++compared;
    }
    CHECK(compared >= 20);
}

TEST_CASE("what the database cannot tell is said in a sentence") {
    const auto said = [](const photo::Exif& e, int width = 6000, int height = 4000) {
        const auto found = database().find(e, width, height);
        REQUIRE_FALSE(found);
        CHECK(found.error().sentence().find("lens database: ") == 0);
        return found.error().what;
    };
    CHECK(said(exif("Example Optics", "200", "", 200)) == "the photograph does not name its lens");
    CHECK(said(exif("Example Optics", "200", "Example 200mm f/4", 200)) ==
          "nothing was measured for \"Example 200mm f/4\" at 200 mm");
    CHECK(said(exif("Canon", "Canon EOS 5D Mark III", "EF70-200mm f/2.8L IS USM", 500)) ==
          "nothing was measured for \"EF70-200mm f/2.8L IS USM\" at 500 mm");
    CHECK(said(exif("", "", "Canon EF 70-200mm f/2.8L IS USM", 200)).find("does not know the camera") !=
          std::string::npos);
    photo::Exif none = exif("Canon", "Canon EOS 5D Mark III", "EF70-200mm f/2.8L IS USM", 200);
    none.focalLength_mm.reset();
    CHECK(said(none) == "the photograph does not say its focal length");
    CHECK(said(exif("Canon", "Canon EOS 5D Mark III", "EF70-200mm f/2.8L IS USM", 200), 0, 0) ==
          "the photograph has no size");

    const test::TemporaryFolder empty;
    for (const auto& folder : {empty.path(), empty / "absent"}) {
        const auto missing = LensDatabase::load(folder);
        REQUIRE_FALSE(missing);
        CHECK(missing.error().code == ErrorCode::FileMissing);
        CHECK(missing.error().remedy.find("liblensfun-data-v1") != std::string::npos);
    }
}

TEST_CASE("a curve that turns back is refused, and a doubt grows with the distortion") {
    CHECK_FALSE(toBrown({RadialKind::Quintic, {-0.3, 0}}, 1999.5, 8000, 6000, 4000));
    CHECK_FALSE(toBrown({RadialKind::Cubic, {0.01}}, 0, 8000, 6000, 4000));
    CHECK_FALSE(toBrown({RadialKind::Cubic, {std::nan("")}}, 1999.5, 8000, 6000, 4000));
    const auto strong =
        database().find(exif("Canon", "Canon EOS 5D Mark III", "EF70-200mm f/2.8L IS USM", 200), 6000, 4000);
    const auto weak =
        database().find(exif("Canon", "Canon EOS 5D Mark III", "EF70-200mm f/2.8L IS USM", 100), 6000, 4000);
    REQUIRE(strong);
    REQUIRE(weak);
    CHECK(strong->cornerDoubt_px == Approx(0.3 * std::abs(strong->conversion.corner_px)));
    CHECK(weak->cornerDoubt_px == Approx(3605.2 / 2000).epsilon(1e-3));
    CHECK(strong->cSigmaRelative >= 0.1);
    const LensRecord record =
        strong->record(exif("Canon", "Canon EOS 5D Mark III", "a lens", 200), 6000, 4000);
    CHECK(record.sigma(kDistance) >= 0.1 * record.constants.c);
    CHECK(record.sigma(kK1) == Approx(strong->k1Sigma));
    CHECK(record.sigma(kPointX) == Approx(60));
    CHECK(fromJson(toJson(record)));
    // One σ of k1 moves the corner by that much.
    camera::Constants k = strong->conversion.constants;
    const Vec2 corner(2999.5 / k.c, 1999.5 / k.c);
    const Vec2 before = camera::distort(k, corner);
    k.k1 += strong->k1Sigma;
    CHECK((camera::distort(k, corner) - before).norm() * k.c == Approx(strong->cornerDoubt_px).epsilon(1e-6));
}
