// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/storage/ImportPhotograph.h"

#include <catch2/catch.hpp>

#include "MakePhotographs.h"
#include "TemporaryFolder.h"
#include "core/storage/SurveyFile.h"
#include "core/survey/Check.h"

using namespace trammel;
using namespace trammel::storage;
using namespace trammel::test;

namespace {

/// EXIF of an invented camera: 200 mm, 6350 px per inch (4 µm), a full frame of w × h.
ExifBytes camera(std::uint32_t w, std::uint32_t h, std::uint16_t orientation = 1) {
    ExifBytes tags;
    tags.text(0x010F, "Own").text(0x0110, "Own One").whole(0x0112, orientation).ratio(0x920A, 200, 1);
    tags.longer(0xA002, w).longer(0xA003, h).ratio(0xA20E, 6350, 1).whole(0xA210, 2).text(0xA434, "Long 200");
    return tags;
}

void put(const std::filesystem::path& file, int w, int h, const ExifBytes& tags) {
    makeJpeg(file, w, h, 3, texture, tags.bytes());
}

ImportedPhotograph add(survey::Survey& s, const std::filesystem::path& surveyFile,
                       const std::filesystem::path& file) {
    const Result<ImportedPhotograph> r = importPhotograph(s, surveyFile, file, survey::View::Top);
    REQUIRE(r);
    REQUIRE(survey::apply(s, r->edit));
    CHECK(survey::check(s).empty());
    return *r;
}

}  // namespace

TEST_CASE("a photograph becomes a station, and photographs of one camera share a group") {
    TemporaryFolder folder;
    std::filesystem::create_directory(folder / "pictures");
    const auto file = folder / "x.trammel";
    put(folder / "pictures/a.jpg", 96, 64, camera(96, 64));
    put(folder / "pictures/b.jpg", 96, 64, camera(96, 64).text(0x9003, "later"));
    survey::Survey s;
    const ImportedPhotograph a = add(s, file, folder / "pictures/a.jpg");
    CHECK(a.notes.empty());
    const survey::Station& st = s.stations.at(0);
    CHECK(st.id == "S1");
    CHECK(st.name == "a");
    CHECK(st.photo.path == "pictures/a.jpg");
    CHECK(st.photo.sha256.size() == 64);
    CHECK(st.photo.width == 96);
    CHECK(st.photo.crop == survey::FrameCrop{96, 64, 0, 0, true});
    const survey::CameraGroup& g = s.groups.at(0);
    CHECK(g.body == "Own One");
    CHECK(g.lens == "Long 200");
    CHECK(g.focalLength_mm == 200.0);
    CHECK(g.pixelPitch_mm == Approx(0.004));
    CHECK(g.principalDistance.value == Approx(50000.0));
    CHECK(g.principalDistance.sigma == Approx(5000.0));
    CHECK(g.principalDistance.mode == survey::ConstantMode::Prior);
    CHECK(g.principalX.value == 47.5);
    CHECK(g.principalY.value == 31.5);
    CHECK(g.principalX.mode == survey::ConstantMode::Prior);

    const ImportedPhotograph b = add(s, file, folder / "pictures/b.jpg");
    CHECK(b.group == "G1");
    CHECK(b.edit.changes.size() == 1);
    CHECK(s.groups.size() == 1);
    CHECK(checkPhotographs(s, file).empty());
}

TEST_CASE("a turned photograph is upright, and has a group of its own") {
    TemporaryFolder folder;
    put(folder / "a.jpg", 96, 64, camera(96, 64));
    put(folder / "b.jpg", 96, 64, camera(96, 64, 6));
    put(folder / "c.jpg", 96, 64, camera(96, 64, 5));
    survey::Survey s;
    add(s, folder / "x", folder / "a.jpg");
    add(s, folder / "x", folder / "b.jpg");
    CHECK(s.groups.size() == 2);
    CHECK(s.stations[1].photo.width == 64);
    CHECK(s.stations[1].photo.crop == survey::FrameCrop{64, 96, 0, 0, true});
    CHECK(s.groups[1].principalX.value == 31.5);
    const ImportedPhotograph c = add(s, folder / "x", folder / "c.jpg");
    REQUIRE(c.notes.size() == 1);
    CHECK(c.notes[0].find("mirrored (orientation 5)") != std::string::npos);
}

TEST_CASE("a crop, a resized picture and a silent file are told apart, and the user is asked") {
    TemporaryFolder folder;
    put(folder / "crop.jpg", 96, 64, camera(300, 100));
    put(folder / "small.jpg", 96, 64, camera(192, 128));
    makeJpeg(folder / "silent.jpg", 96, 64, 3, texture);
    survey::Survey s;
    const ImportedPhotograph crop = add(s, folder / "x", folder / "crop.jpg");
    CHECK(s.stations[0].photo.crop == survey::FrameCrop{300, 100, 102, 18, false});
    CHECK(s.groups[0].principalDistance.value == Approx(50000.0));
    CHECK(s.groups[0].principalX.value == 149.5);
    CHECK(s.groups[0].principalX.sigma ==
          3.0);  // the frame is known; where the crop lies is the station's doubt
    CHECK(isCropped(s.stations[0].photo));
    REQUIRE(crop.notes.size() == 1);
    CHECK(crop.notes[0].find("is part of one of 300 × 100") != std::string::npos);

    const ImportedPhotograph small = add(s, folder / "x", folder / "small.jpg");
    CHECK(s.stations[1].photo.crop == survey::FrameCrop{96, 64, 0, 0, false});
    CHECK(s.groups[1].principalDistance.value == Approx(25000.0));
    CHECK(s.groups[1].pixelPitch_mm == Approx(0.008));
    CHECK(small.notes[0].find("resized from 192 × 128") != std::string::npos);

    const ImportedPhotograph silent = add(s, folder / "x", folder / "silent.jpg");
    CHECK(silent.notes.size() == 2);
    CHECK(s.groups[2].principalDistance.mode == survey::ConstantMode::Free);
    CHECK_FALSE(s.stations[2].photo.crop.known);
}

TEST_CASE("what is no photograph is not added") {
    TemporaryFolder folder;
    putBytes(folder / "a.jpg", "text");
    makeJpeg(folder / "b.jpg", 64, 48, 3, texture);
    putBytes(folder / "b.jpg", bytesOf(folder / "b.jpg").substr(0, 900));
    const auto sentence = [&](const char* name) {
        const auto r = importPhotograph({}, folder / "x", folder / name, survey::View::Top);
        REQUIRE_FALSE(r);
        return r.error().sentence();
    };
    CHECK(sentence("a.jpg").find("is no photograph of a kind that is read here") != std::string::npos);
    CHECK(sentence("b.jpg").find("truncated") != std::string::npos);
    CHECK(sentence("none.jpg").find("cannot be opened") != std::string::npos);
}

TEST_CASE("photographs that are missing, cut short, changed or no pictures are named one by one") {
    TemporaryFolder folder;
    const auto file = folder / "x.trammel";
    survey::Survey s;
    for (const char* name : {"a.jpg", "b.jpg", "c.jpg", "d.jpg"}) {
        put(folder / name, 96, 64, camera(96, 64));
        add(s, file, folder / name);
    }
    CHECK(checkPhotographs(s, file).empty());
    std::filesystem::remove(folder / "a.jpg");
    putBytes(folder / "b.jpg", bytesOf(folder / "b.jpg").substr(0, 2000));
    put(folder / "c.jpg", 96, 64, camera(96, 64).text(0x9003, "edited"));
    putBytes(folder / "d.jpg", "a letter");
    std::vector<std::string> sentences;
    for (const Error& e : checkPhotographs(s, file)) sentences.push_back(e.sentence());
    CHECK(sentences ==
          std::vector<std::string>{
              "photograph a (a.jpg): the file is missing; put it back, or go by the marks alone (in "
              "batch: --marks-only).",
              "photograph b (b.jpg): the photograph is truncated; copy it from the camera again.",
              "photograph c (c.jpg): the file has changed since it was marked; put the original back, or add "
              "this one "
              "as a new photograph and mark it.",
              "photograph d (d.jpg): is no photograph of a kind that is read here; choose a JPEG, PNG, TIFF, "
              "HEIC or camera raw file."});
    s.stations.erase(s.stations.begin(), s.stations.end() - 2);
    s.stations[0].photo.sha256.clear();
    s.stations[0].photo.width = 97;
    CHECK(checkPhotographs(s, file)[0].sentence().find(
              "the picture is 96 × 64, but the survey was made on 97 × 64") != std::string::npos);
}

// The sample's photographs were cropped hard and say their own size as if it were the frame's, as programs
// that crop do; focal length, equivalent and resolution give 6000 px away (samples/stepped-board/scene.json).
TEST_CASE("a crop that hides is found by focal length, equivalent and resolution") {
    const std::filesystem::path photographs = TRAMMEL_SAMPLES "/stepped-board/photographs";
    survey::Survey s;
    const ImportedPhotograph level = add(s, photographs / "x", photographs / "top.jpg");
    const survey::FrameCrop& crop = s.stations[0].photo.crop;
    CHECK_FALSE(crop.known);
    CHECK(crop.fullWidth == 6000);
    CHECK(crop.fullHeight == 4000);
    REQUIRE_FALSE(level.notes.empty());
    CHECK(level.notes[0].find("frame seems to be 6000 × 4000 px") != std::string::npos);
    add(s, photographs / "x", photographs / "left.jpg");  // the body was held upright
    CHECK(s.stations[1].photo.crop.fullWidth == 4000);
    CHECK(s.stations[1].photo.crop.fullHeight == 6000);
}
