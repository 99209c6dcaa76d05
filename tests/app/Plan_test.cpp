// SPDX-License-Identifier: GPL-3.0-or-later
// plan as a user runs it: exit codes, the page, JSON, bad input.
#include <catch2/catch.hpp>
#include <fstream>
#include <nlohmann/json.hpp>

#include "RunProgram.h"

using namespace trammel;
using namespace trammel::test;

namespace {

Ran plan(std::vector<std::string> arguments) {
    arguments.insert(arguments.begin(), "plan");
    return runProgram(TRAMMEL_PROGRAM, arguments);
}

const std::vector<std::string> kBoard = {"--size",   "120x80",    "--heights", "0,8", "--sensor", "36x24",
                                         "--pixels", "6000x4000", "--lens",    "105", "--room",   "4"};

std::vector<std::string> with(std::vector<std::string> more) {
    std::vector<std::string> all = kBoard;
    all.insert(all.end(), more.begin(), more.end());
    return all;
}

}  // namespace

TEST_CASE("plan exits 0 when the wanted ± is within reach and 1 when not, and says what would help") {
    const Ran good = plan(with({"--need", "0.2"}));
    CHECK(good.code == 0);
    CHECK(good.out.find("is reached") != std::string::npos);
    CHECK(good.out.find("Cautions") != std::string::npos);
    CHECK(good.err.empty());
    const Ran far = plan(with({"--need", "0.002", "--lens", "50-60"}));
    CHECK(far.code == 1);
    CHECK(far.out.find("not reached") != std::string::npos);
    CHECK(far.out.find("What would help") != std::string::npos);
    const Ran none = plan({"--size", "900x900", "--lens", "400", "--room", "2"});
    CHECK(none.code == 1);
    CHECK(none.out.find("room leaves") != std::string::npos);
}

TEST_CASE("plan says what it assumed and takes a decimal comma for one number") {
    const Ran few = plan({"--size", "120x80", "--lens", "105", "--need", "0,2"});
    CHECK(few.code == 0);
    CHECK(few.out.find("± 0.20 mm is reached") != std::string::npos);
    const auto assumed = few.out.find("Assumed, since not said: ");
    REQUIRE(assumed != std::string::npos);
    CHECK(few.out.find("--sensor", assumed) != std::string::npos);
    CHECK(few.out.find("--need", assumed) == std::string::npos);
    const Ran two = plan({"--size", "120x80", "--lens", "200", "85"});
    CHECK(two.code == 2);
    CHECK(two.err.find("--lens again") != std::string::npos);
}

TEST_CASE("plan writes its page and its figures for machines") {
    const TemporaryFolder folder;
    const std::string pdf = (folder / "plan.pdf").string(), svg = (folder / "plan.SVG").string();
    const Ran made = plan(with({"--need", "0.2", "--out", pdf, "--json"}));
    REQUIRE(made.code == 0);
    CHECK(bytesOf(pdf).substr(0, 5) == "%PDF-");
    const auto j = nlohmann::json::parse(made.out);
    CHECK(j["reachable"] == true);
    CHECK(j["expected"]["plan_plus_minus_mm"].get<double>() <= 0.2);
    CHECK(j["set_up"]["stand_off_mm"].get<double>() > 300);
    CHECK(j["sets"].size() > 5);
    REQUIRE(plan(with({"--need", "0.2", "--out", svg, "--paper", "letter"})).code == 0);
    CHECK(bytesOf(svg).find("215.9mm") != std::string::npos);  // width of ASME Y14.1 size A
}

TEST_CASE("plan takes a task file, and options go before it") {
    const TemporaryFolder folder;
    const std::string file = (folder / "task.json").string();
    std::ofstream(file) << R"({"size_mm": [120, 80], "heights_mm": [0, 8], "lenses": ["105"], "need_mm": 0.2,
                              "room_mm": 4000})";
    CHECK(plan({file}).code == 0);
    CHECK(plan({file, "--need", "0.002"}).code == 1);
    std::ofstream(file) << "{\"size_mm\": ";
    const Ran broken = plan({file});
    CHECK(broken.code == 2);
    CHECK(broken.oneSentence());
    const Ran absent = plan({(folder / "absent.json").string()});
    CHECK(absent.code == 2);
    CHECK(absent.oneSentence());
}

TEST_CASE("bad input to plan is one sentence and exit 2") {
    const std::vector<std::vector<std::string>> bad = {
        {},
        {"--size", "300x200"},
        {"--size", "0x0", "--lens", "200"},
        {"--size", "-5x200", "--lens", "200"},
        {"--size", "nanxnan", "--lens", "200"},
        {"--size", "1e9x1e9", "--lens", "200"},
        {"--size", "300", "--lens", "200"},
        with({"--need", "0"}),
        with({"--need", "nan"}),
        with({"--need=-1"}),
        with({"--need", "1e300"}),
        with({"--need", "0.1,0.2"}),
        with({"--room", "0"}),
        with({"--room", "inf"}),
        with({"--lens", "0"}),
        with({"--lens", "135-85"}),
        with({"--lens", "200,widest=-2"}),
        with({"--lens", "fast one"}),
        with({"--heights", "0,nan"}),
        with({"--heights", "99999"}),
        with({"--pixels", "1x1"}),
        with({"--pixels", "4000x6000"}),
        with({"--pixels", "1e300x1e300"}),
        with({"--sensor", "enormous"}),
        with({"--marks", "guessed"}),
        with({"--mark-sigma", "-3"}),
        with({"--reference", "rule 0"}),
        with({"--square", "laser"}),
        with({"--paper", "A99"}),
        with({"--out", "plan.txt"}),
        with({"--out", "/nowhere/at/all/plan.pdf"}),
        with({"--colour", "red"}),
        with({"--size"}),
        {"one.json", "two.json"},
    };
    for (const auto& arguments : bad) {
        std::string line;
        for (const std::string& a : arguments) line += a + " ";
        INFO(line);
        const Ran ran = plan(arguments);
        INFO(ran.err);
        CHECK(ran.code == 2);
        CHECK(ran.oneSentence());
        CHECK(ran.out.empty());
    }
}
