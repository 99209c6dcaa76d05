// SPDX-License-Identifier: GPL-3.0-or-later
#include <unistd.h>
#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <memory>
#include <set>

#include "Scenes.h"
#include "core/photo/Decode.h"
#include "core/photo/Exif.h"
#include "core/render/Observe.h"
#include "core/render/Picture.h"
#include "core/render/Truth.h"

using namespace trammel;
using namespace trammel::render;
namespace fs = std::filesystem;

namespace {

/// A folder that goes away with the test.
struct Folder {
    fs::path path = fs::temp_directory_path() / ("trammel-photographs-" + std::to_string(getpid()));
    Folder() { fs::create_directories(path); }
    ~Folder() {
        std::error_code ignored;
        fs::remove_all(path, ignored);
    }
};

std::string outputOf(const std::string& command) {
    std::string out;
    std::array<char, 4096> part;
    std::unique_ptr<FILE, int (*)(FILE*)> pipe(popen((command + " 2>/dev/null").c_str(), "r"), pclose);
    while (pipe && std::fgets(part.data(), part.size(), pipe.get())) out += part.data();
    return out;
}

bool installed(const char* program) {
    return std::system((std::string("command -v ") + program + " >/dev/null").c_str()) == 0;
}

Scene threeSmall() {
    Scene scene = test::slab();
    scene.cameras.resize(6);
    for (SceneCamera& camera : scene.cameras) {
        camera.cropX += camera.cropWidth / 2 - 60;
        camera.cropY += camera.cropHeight / 2 - 40;
        camera.cropWidth = 120;
        camera.cropHeight = 80;
        camera.quality = 97;
    }
    scene.lenses[0].make = "Nobody";
    scene.lenses[0].body = "N-1";
    scene.lenses[0].lens = "Nobody 50 mm";
    return scene;
}

}  // namespace

TEST_CASE("photographs are written upright or turned, and read back the same way up") {
    const Folder folder;
    const Scene scene = threeSmall();
    PictureOptions options;
    const auto done = writePhotographs(scene, folder.path, options);
    if (!done) FAIL(done.error().sentence());
    std::set<int> orientations;
    for (std::size_t i = 0; i < scene.cameras.size(); ++i) {
        const SceneCamera& camera = scene.cameras[i];
        const auto read = photo::decode(folder.path / photographPath(camera));
        REQUIRE(read);
        REQUIRE(read->width == camera.cropWidth);
        REQUIRE(read->height == camera.cropHeight);
        const photo::Image made = develop(expose(camera, gatherLight(scene, camera, options), options, i));
        double difference = 0.0;
        for (std::size_t j = 0; j < made.data.size(); ++j)
            difference += std::abs(int(made.data[j]) - int(read->data[j]));
        INFO(camera.name << " orientation " << camera.orientation);
        CHECK(difference / static_cast<double>(made.data.size()) < 1.5);  // JPEG at quality 97
        orientations.insert(camera.orientation);
    }
    CHECK(orientations == std::set<int>{1, 3, 6, 8});
}

// Values against exiftool and the exiv2 program, which read what they find without us.
TEST_CASE("other programs read the camera data that we write") {
    const Folder folder;
    Scene scene = threeSmall();
    scene.cameras = {scene.cameras[4]};  // orientation 6
    REQUIRE(writePhotographs(scene, folder.path));
    const std::string file = (folder.path / photographPath(scene.cameras[0])).string();
    if (installed("exiftool")) {
        const auto tag = [&](const std::string& name) {
            return outputOf("exiftool -s3 -n -" + name + " '" + file + "'");
        };
        CHECK(tag("FocalLength") == "50\n");
        CHECK(tag("FocalLengthIn35mmFormat") == "60\n");                   // 50 · 36 / (0.01 · 3000)
        CHECK(std::stod(tag("FocalPlaneXResolution")) == Approx(1000.0));  // px per cm at 0.01 mm
        CHECK(tag("FocalPlaneResolutionUnit") == "3\n");
        CHECK(tag("Orientation") == "6\n");
        CHECK(tag("Make") == "Nobody\n");
        CHECK(tag("Model") == "N-1\n");
        CHECK(tag("LensModel") == "Nobody 50 mm\n");
        CHECK(tag("SubjectDistance") == "1.2\n");
        CHECK(tag("YCbCrSubSampling") == "1 1\n");
        CHECK(outputOf("exiftool -validate -warning -a '" + file + "'").find("Error") == std::string::npos);
    } else {
        WARN("skipped: exiftool is not installed");
    }
    if (installed("exiv2")) {
        const std::string all = outputOf("exiv2 -pt '" + file + "'");
        CHECK_THAT(all, Catch::Contains("Exif.Photo.FocalLength") && Catch::Contains("50.0 mm"));
        CHECK_THAT(all, Catch::Contains("Exif.Photo.FocalLengthIn35mmFilm"));
    } else {
        WARN("skipped: the exiv2 program is not installed");
    }
    const auto exif = photo::readExif(file);
    REQUIRE(exif);
    CHECK(exif->orientation == 6);
    CHECK(exif->focalLength_mm.value_or(0) == Approx(50.0));
    CHECK(exif->focalPlaneResolution_per_mm.value_or(0) == Approx(100.0));
}

TEST_CASE("photographs and truth that cannot be written give one sentence") {
    const Scene scene = threeSmall();
    const Folder folder;
    std::ofstream(folder.path / "photographs") << "a file where the folder should be";
    const auto done = writePhotographs(scene, folder.path);
    REQUIRE_FALSE(done);
    CHECK(done.error().code == ErrorCode::WriteFailed);
    CHECK_FALSE(writeTruth(scene, folder.path / "photographs" / "truth.json"));
}
