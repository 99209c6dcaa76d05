// SPDX-License-Identifier: GPL-3.0-or-later
// board and lenses as a user runs them.
#include <catch2/catch.hpp>
#include <fstream>
#include <nlohmann/json.hpp>

#include "RunProgram.h"
#include "core/photo/Exif.h"

using namespace trammel;
using namespace trammel::test;

TEST_CASE("a board is written as PDF and as SVG, and what cannot be one is refused in a sentence") {
    const TemporaryFolder folder;
    for (const char* name : {"board.pdf", "board.SVG"}) {
        const std::string file = (folder / name).string();
        const Ran ran = runProgram(TRAMMEL_PROGRAM, {"board", "--out", file, "--columns", "9", "--rows", "6",
                                                     "--square", "20", "--coded"});
        INFO(ran.out << ran.err);
        CHECK(ran.code == 0);
        CHECK(ran.out.find("9 by 6 squares of 20 mm on A4 (297 × 210 mm)") != std::string::npos);
        CHECK(bytesOf(folder / name).size() > 2000);
    }
    CHECK(bytesOf(folder / "board.pdf").find("%PDF") == 0);
    const std::string pdf = (folder / "no.pdf").string();
    for (const std::vector<std::string>& wrong : std::vector<std::vector<std::string>>{
             {"board", "--out", (folder / "board.png").string()},
             {"board", "--out", pdf, "--square", "-3"},
             {"board", "--out", pdf, "--columns", "1"},
             {"board", "--out", pdf, "--columns", "30", "--paper", "A4"},
             {"board", "--out", pdf, "--paper", "B9"},
             {"board", "--out", pdf, "--columns", "40", "--coded"},
             {"board", "--out", (folder / "absent" / "board.pdf").string()}}) {
        const Ran ran = runProgram(TRAMMEL_PROGRAM, wrong);
        INFO(ran.err);
        CHECK(ran.code == 2);
        CHECK(ran.oneSentence());
    }
    CHECK(bytesOf(folder / "no.pdf").empty());
}

TEST_CASE("kept lenses are listed, a damaged file is named, and none is no fault") {
    const TemporaryFolder folder;
    const std::string place = (folder / "lenses").string();
    const Ran none = runProgram(TRAMMEL_PROGRAM, {"lenses", "--folder", place});
    CHECK(none.code == 0);
    CHECK(none.out.find("No lenses are kept in ") == 0);
    std::filesystem::create_directory(folder / "lenses");
    nlohmann::json zeros = nlohmann::json::array();
    for (int i = 0; i < 8; ++i) {
        nlohmann::json row = nlohmann::json::array();
        for (int j = 0; j < 8; ++j) row.push_back(i == j && i < 4 ? 1e-4 : 0.0);
        zeros.push_back(row);
    }
    const nlohmann::json record{{"format", "trammel lens"},
                                {"version", 1},
                                {"body", "Example E1 no. 1"},
                                {"lens", "Example Optics 200"},
                                {"focal_length_mm", 200},
                                {"frame_px", {{"width", 6000}, {"height", 4000}}},
                                {"constants",
                                 {{"principal_distance_px", 34000},
                                  {"principal_x_px", 3000},
                                  {"principal_y_px", 2000},
                                  {"k1", 0.5},
                                  {"k2", 0},
                                  {"k3", 0},
                                  {"p1", 0},
                                  {"p2", 0}}},
                                {"covariance", zeros},
                                {"date", "2026-05-01"}};
    std::ofstream(folder / "lenses" / "one.lens.json") << record.dump();
    std::ofstream(folder / "lenses" / "two.lens.json") << "{";
    const Ran some = runProgram(TRAMMEL_PROGRAM, {"lenses", "--folder", place});
    CHECK(some.code == 0);
    CHECK(some.out.find("Example E1 no. 1, Example Optics 200, 200 mm, 6000 × 4000 px, 2026-05-01") == 0);
    CHECK(some.err.find("two.lens.json: ") == 0);
    CHECK(some.oneSentence());
    const Ran json = runProgram(TRAMMEL_PROGRAM, {"lenses", "--folder", place, "--json"});
    CHECK(nlohmann::json::parse(json.out)["lenses"][0]["constants"]["k1"] == 0.5);
    const Ran missing =
        runProgram(TRAMMEL_PROGRAM, {"lenses", "--database", (folder / "absent.jpg").string()});
    CHECK(missing.code == 2);
    CHECK(missing.oneSentence());
}

TEST_CASE("the open lens database is asked for the lens of a photograph") {
    const TemporaryFolder folder;
    const auto file = folder / "photograph.jpg";
    std::filesystem::copy_file(std::filesystem::path(TRAMMEL_SAMPLES) / "stepped-board/photographs/top.jpg",
                               file);
    photo::Exif exif;  // a published entry: lensfun database, slr-canon.xml, CC BY-SA 3.0
    exif.make = "Canon", exif.model = "Canon EOS 5D Mark III", exif.lensModel = "EF100-300mm f/5.6L";
    exif.focalLength_mm = 300.0;
    REQUIRE(photo::writeExif(file, exif));
    const Ran ran = runProgram(TRAMMEL_PROGRAM, {"lenses", "--database", file.string()});
    INFO(ran.out << ran.err);
    CHECK(ran.code == 0);
    CHECK(ran.out.find(
              "Canon EF 100-300mm f/5.6L at 300 mm, of the open lens database: moves the corners by +") == 0);
    CHECK(ran.out.find("another specimen was measured") != std::string::npos);
}
