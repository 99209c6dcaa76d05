// SPDX-License-Identifier: GPL-3.0-or-later
// drawing as a user runs it: the files, what is said of them, exit codes, bad input.
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "OutlinedSurvey.h"
#include "RunProgram.h"

using namespace trammel;
using namespace trammel::test;

namespace {

Ran draw(const OutlinedSurvey& s, const std::string& name, std::vector<std::string> more = {}) {
    more.insert(more.begin(), {"drawing", s.file().string(), "--out", (s.folder() / name).string()});
    return runProgram(TRAMMEL_PROGRAM, more);
}

}  // namespace

TEST_CASE("a survey is drawn as PDF and SVG, and says scale, paper and class") {
    const OutlinedSurvey s;
    const Ran pdf = draw(s, "part.pdf", {"--json", "--angle", "third", "--thickness", "2"});
    INFO(pdf.out << pdf.err);
    REQUIRE(pdf.code == 0);
    const auto j = nlohmann::json::parse(pdf.out);
    CHECK(j["files"].size() == 1);
    CHECK(j["scale"].get<std::string>().find(':') != std::string::npos);
    CHECK(j["general_tolerance"].is_string());
    CHECK(bytesOf(s.folder() / "part.pdf").rfind("%PDF-", 0) == 0);
    const Ran svg = draw(s, "part.svg", {"--paper", "A4", "--scale", "1:2", "--views", "top,right"});
    INFO(svg.out << svg.err);
    CHECK(svg.code == 0);
    CHECK(svg.out.find("on A4 at 1:2") != std::string::npos);
    CHECK(bytesOf(s.folder() / "part.svg").find("width=\"210mm\"") != std::string::npos);
}

TEST_CASE("what cannot be drawn is one sentence, exit 2, and leaves no file") {
    OutlinedSurvey s;
    struct Bad {
        std::string name;
        std::vector<std::string> options;
        const char* part;
    };
    for (const Bad& bad :
         {Bad{"part.dxf", {}, "ends neither in .pdf nor in .svg"},
          Bad{"part.pdf", {"--scale", "1:3"}, "is no scale of ISO 5455"},
          Bad{"part.pdf", {"--scale", "50:1", "--paper", "A4"}, "no room for these views"},
          Bad{"part.pdf", {"--thickness", "99999"}, "from 0 to 1000 mm"},
          Bad{"part.pdf", {"--views", "inside"}, "--views"}, Bad{"none/part.pdf", {}, "none"}}) {
        const Ran ran = draw(s, bad.name, bad.options);
        INFO(ran.out << ran.err);
        CHECK(ran.code == 2);
        CHECK(ran.out.empty());
        CHECK(ran.oneSentence());
        CHECK(ran.err.find(bad.part) != std::string::npos);
        CHECK_FALSE(std::filesystem::exists(s.folder() / bad.name));
    }
    s.values().readings[0].measured.value += 3.0;
    s.write();
    const Ran ran = draw(s, "part.pdf");
    CHECK(ran.code == 1);
    CHECK(ran.err.find("do not cut from these files") != std::string::npos);
}
