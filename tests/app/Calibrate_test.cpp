// SPDX-License-Identifier: GPL-3.0-or-later
// calibrate as a user runs it, on computed photographs of a board.
#include <catch2/catch.hpp>
#include <cstdlib>
#include <nlohmann/json.hpp>

#include "RenderedBoards.h"
#include "RunProgram.h"

using namespace trammel;
using namespace trammel::test;

namespace {

const tests::Lens kLens{{1150.0, Vec2(452.0, 297.0), -0.15, 0.12, 0.0, 0.0, 0.0}, 900, 600};

std::vector<std::string> command(const std::vector<std::filesystem::path>& files,
                                 const std::vector<std::string>& options) {
    std::vector<std::string> all{"calibrate"};
    for (const auto& file : files) all.push_back(file.string());
    all.insert(all.end(), options.begin(), options.end());
    return all;
}

}  // namespace

TEST_CASE("a lens is calibrated, kept, listed under its body, and drawn") {
    const TemporaryFolder folder;
    const calibrate::Board board{10, 7, 10.0, 10.0};
    const auto files = tests::renderBoard(board, kLens, 9, folder / "photographs");
    REQUIRE(files);
    ::setenv("XDG_DATA_HOME", (folder / "data").c_str(), 1);
    const std::string page = (folder / "page.pdf").string();
    const Ran ran =
        runProgram(TRAMMEL_PROGRAM, command(*files, {"--columns", "10", "--rows", "7", "--square", "10",
                                                     "--store", "--sheet", page, "--json"}));
    INFO(ran.err);
    REQUIRE(ran.code == 0);
    const auto lens = nlohmann::json::parse(ran.out).at("lens");
    CHECK(lens.at("body") == "Example Optics Body 1");
    CHECK(lens.at("lens") == "Example Optics 35");
    CHECK(bytesOf(folder / "page.pdf").find("%PDF") == 0);

    const Ran kept = runProgram(TRAMMEL_PROGRAM, {"lenses", "--json"});
    REQUIRE(kept.code == 0);
    const std::string listed = kept.out;
    CHECK(listed.find("Example Optics 35") != std::string::npos);
    const Ran text =
        runProgram(TRAMMEL_PROGRAM, command(*files, {"--columns", "10", "--rows", "7", "--square", "10"}));
    CHECK(text.code == 0);
    CHECK(text.out.find("principal distance") != std::string::npos);
    CHECK(text.out.find("±") != std::string::npos);
}

TEST_CASE("a calibration that cannot be says why in one sentence and keeps nothing") {
    const TemporaryFolder folder;
    const calibrate::Board board{10, 7, 10.0, 10.0};
    const auto files = tests::renderBoard(board, kLens, 4, folder / "photographs");
    REQUIRE(files);
    ::setenv("XDG_DATA_HOME", (folder / "data").c_str(), 1);
    const std::vector<std::string> right{"--columns", "10", "--rows", "7", "--square", "10", "--store"};
    const std::vector<std::vector<std::string>> wrong{
        command({files->front()}, right),                                                 // one alone
        command({files->front(), files->front(), files->front()}, right),                 // all alike
        command(*files, {"--columns", "9", "--rows", "7", "--square", "10", "--store"}),  // another board
        command(*files, {"--columns", "10", "--rows", "7", "--square", "0", "--store"}),
        command({folder / "absent.jpg"}, right)};
    for (const auto& arguments : wrong) {
        const Ran ran = runProgram(TRAMMEL_PROGRAM, arguments);
        INFO(ran.out << ran.err);
        CHECK(ran.code == 2);
        CHECK(ran.oneSentence());
    }
    CHECK_FALSE(std::filesystem::exists(folder / "data"));
}
