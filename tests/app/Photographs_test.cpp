// SPDX-License-Identifier: GPL-3.0-or-later
// `trammel photographs` beside two independent readers of EXIF (the packages exiv2 and
// libimage-exiftool-perl).
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdlib>
#include <nlohmann/json.hpp>

#include "MakePhotographs.h"
#include "RunProgram.h"
#include "TemporaryFolder.h"

using namespace trammel;
using namespace trammel::test;
using Json = nlohmann::json;

namespace {

Ran run(std::vector<std::string> arguments) {
    arguments.insert(arguments.begin(), "photographs");
    return runProgram(TRAMMEL_PROGRAM, arguments);
}

/// Numbers that exiftool gives for these tags of a file; nothing when it is not installed.
Json exiftool(const std::string& file) {
    if (std::system("command -v exiftool >/dev/null 2>&1") != 0) {
        WARN("skipped: exiftool of the package libimage-exiftool-perl is not installed");
        return {};
    }
    const Ran ran = runProgram("/usr/bin/exiftool",
                               {"-j", "-n", "-EXIF:FocalLength", "-EXIF:FocalLengthIn35mmFormat",
                                "-EXIF:FNumber", "-EXIF:Orientation", "-EXIF:Make", "-EXIF:Model",
                                "-EXIF:SubjectDistance", "-File:ImageWidth", "-File:ImageHeight", file});
    const Json all = Json::parse(ran.out, nullptr, false);
    return all.is_array() && !all.empty() ? all[0] : Json();
}

void compare(const Json& ours, const Json& theirs) {
    const auto number = [&](const char* a, const char* b) {
        INFO(a);
        if (!theirs.contains(b) || !theirs[b].is_number() || theirs[b].get<double>() == 0.0) return;
        REQUIRE(ours.contains(a));
        CHECK(ours[a].get<double>() == Approx(theirs[b].get<double>()).epsilon(1e-6));
    };
    number("focal_length_mm", "FocalLength");
    number("focal_length_35_mm", "FocalLengthIn35mmFormat");
    number("f_number", "FNumber");
    number("orientation", "Orientation");
    number("subject_distance_m", "SubjectDistance");
    number("stored_width_px", "ImageWidth");
    number("stored_height_px", "ImageHeight");
    if (theirs.contains("Model")) CHECK(ours["model"] == theirs["Model"]);
}

}  // namespace

TEST_CASE("photographs: what a file says is what two other readers say") {
    TemporaryFolder folder;
    const std::string file = (folder / "a.jpg").string();
    makeJpeg(folder / "a.jpg", 96, 64, 3, texture,
             ExifBytes()
                 .text(0x010F, "Example Optics")
                 .text(0x0110, "Example One")
                 .whole(0x0112, 6)
                 .ratio(0x920A, 200, 1)
                 .longer(0xA002, 96)
                 .longer(0xA003, 64)
                 .ratio(0x829D, 80, 10)
                 .ratio(0x9206, 52, 10)
                 .ratio(0xA20E, 6350, 1)
                 .whole(0xA210, 2)
                 .bytes());
    const Ran ran = run({file, "--json"});
    REQUIRE(ran.code == 0);
    const Json ours = Json::parse(ran.out).at("photographs").at(0);
    CHECK(ours["remarks"].empty());
    CHECK(ours["frame"]["width_px"] == 64);
    CHECK(ours["frame"]["known"] == true);
    CHECK(ours["principal_distance"]["px"].get<double>() == Approx(50000.0));  // 200 mm at 4 µm
    if (const Json theirs = exiftool(file); !theirs.is_null()) compare(ours, theirs);
    if (std::system("command -v exiv2 >/dev/null 2>&1") == 0) {
        const Ran text = runProgram("/usr/bin/exiv2", {"-Pkv", file});
        CHECK(text.out.find("200/1") != std::string::npos);
        CHECK(text.out.find("Example One") != std::string::npos);
    }
}

TEST_CASE("photographs: other people's photographs, beside exiftool") {
    std::vector<std::filesystem::path> files;
    const std::filesystem::path package = "/usr/share/doc/opencv-doc/examples/data";
    std::error_code none;
    for (const auto& entry : std::filesystem::directory_iterator(package, none))
        if (entry.path().extension() == ".jpg") files.push_back(entry.path());
    if (const char* reference = std::getenv("TRAMMEL_REFERENCE"))
        files.push_back(std::filesystem::path(reference) /
                        "calibration/highres/laptop-camera-chessboard.jpg");
    if (files.empty()) {
        WARN("skipped: neither TRAMMEL_REFERENCE nor the package opencv-doc is here");
        return;
    }
    std::sort(files.begin(), files.end());
    if (files.size() > 6) files.erase(files.begin(), files.end() - 6);
    for (const auto& file : files) {
        INFO(file.string());
        const Json theirs = exiftool(file.string());
        if (theirs.is_null()) return;
        const Ran ran = run({file.string(), "--json"});
        REQUIRE(ran.code == 0);
        compare(Json::parse(ran.out)["photographs"][0], theirs);
    }
}

TEST_CASE("photographs: notes for people, exit 2 with a sentence for what cannot be read") {
    TemporaryFolder folder;
    makeJpeg(folder / "a.jpg", 96, 64, 3, texture,
             ExifBytes().ratio(0x920A, 200, 1).whole(0xA405, 300).bytes());
    makeJpeg(folder / "b.jpg", 96, 64, 3, texture,
             ExifBytes().ratio(0x920A, 180, 1).whole(0xA401, 3).bytes());
    const Ran good = run({(folder / "a.jpg").string(), (folder / "b.jpg").string()});
    CHECK(good.code == 0);
    for (const char* part : {"JPEG, 96 × 64 px", "at 200 mm (as 300 mm on 36 × 24)",
                             "merged from several exposures", "which part of the camera's full frame",
                             "The focal length of b.jpg differs from that of "
                             "a.jpg"})
        CHECK(good.out.find(part) != std::string::npos);
    putBytes(folder / "letter.jpg", "no picture");
    const Ran bad = run({(folder / "letter.jpg").string(), (folder / "a.jpg").string()});
    CHECK(bad.code == 2);
    CHECK(bad.oneSentence());
    CHECK(bad.out.find("a.jpg") != std::string::npos);
}

TEST_CASE("photographs: a note that several files share is said once") {
    TemporaryFolder folder;
    for (const char* name : {"a.jpg", "b.jpg", "c.jpg"}) makeJpeg(folder / name, 96, 64, 3, texture);
    const Ran ran =
        run({(folder / "a.jpg").string(), (folder / "b.jpg").string(), (folder / "c.jpg").string()});
    CHECK(ran.code == 0);
    const std::string note = "names no focal length";
    const auto at = ran.out.find(note);
    REQUIRE(at != std::string::npos);
    CHECK(ran.out.find(note, at + 1) == std::string::npos);
    CHECK(ran.out.find("(all of them)") != std::string::npos);
}

TEST_CASE("the program says its version") {
    const Ran ran = runProgram(TRAMMEL_PROGRAM, {"--version"});
    CHECK(ran.code == 0);
    CHECK(ran.out.rfind("trammel ", 0) == 0);
}
