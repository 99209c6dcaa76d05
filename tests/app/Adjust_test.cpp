// SPDX-License-Identifier: GPL-3.0-or-later
// The adjust command as a user runs it: exit codes, the report, and what bad input gets.
#include <catch2/catch.hpp>
#include <cmath>
#include <nlohmann/json.hpp>

#include "RunProgram.h"
#include "SmallSurvey.h"

using namespace trammel;
using namespace trammel::test;

namespace {

Ran adjust(const std::filesystem::path& file, std::vector<std::string> more = {}) {
    more.insert(more.begin(), {"adjust", file.string()});
    return runProgram(TRAMMEL_PROGRAM, more);
}

/// Adjusts; expects exit 2, nothing on standard output, one sentence with these parts, an untouched survey.
void refuses(const SmallSurvey& s, const std::vector<std::string>& parts) {
    const std::string before = bytesOf(s.file());
    const std::size_t files = s.folder().count();
    for (const std::vector<std::string>& options : {std::vector<std::string>{}, {"--json"}}) {
        const Ran ran = adjust(s.file(), options);
        INFO(ran.err);
        CHECK(ran.code == 2);
        CHECK(ran.out.empty());
        CHECK(ran.oneSentence());
        for (const std::string& part : parts) {
            INFO(part);
            CHECK(ran.err.find(part) != std::string::npos);
        }
        CHECK(bytesOf(s.file()) == before);
        CHECK(s.folder().count() == files);
    }
}

}  // namespace

TEST_CASE("a sound survey is adjusted, for people and for machines") {
    SmallSurvey s;
    const Ran text = adjust(s.file());
    INFO(text.out << text.err);
    CHECK(text.code == 0);
    CHECK(text.err.empty());
    CHECK(text.out.find("diagonal") != std::string::npos);
    CHECK(text.out.find("±") != std::string::npos);

    const Ran machine = adjust(s.file(), {"--json"});
    CHECK(machine.code == 0);
    CHECK(machine.err.empty());
    const nlohmann::json j = nlohmann::json::parse(machine.out);
    CHECK(j["agrees"] == true);
    REQUIRE(j["dimensions"].size() == 2);
    const nlohmann::json& diagonal = j["dimensions"][0];
    CHECK(diagonal["name"] == "diagonal");
    CHECK(diagonal["unit"] == "mm");
    // The places behind the marks are known: the ± must be small and hold the truth (twice over, to be safe).
    const double value = diagonal["value"], plusMinus = diagonal["plus_minus"];
    CHECK(plusMinus > 0.0);
    CHECK(plusMinus < 0.2);
    CHECK(std::abs(value - std::hypot(100.0, 60.0)) < 2 * plusMinus);
    CHECK(std::abs(j["levels"][1]["height_mm"].get<double>() - 20.0) < 0.1);
    CHECK(j["features"].size() == 8);
    CHECK(j["observations"].size() >= 43);
    CHECK(j["photographs"].size() == 5);
    CHECK(j["suspects"].empty());
}

TEST_CASE("the adjustment ends with what to do next, and stops where every wanted ± is met") {
    SmallSurvey s;
    const Ran text = adjust(s.file());
    CHECK(text.out.find("\nNext: ") != std::string::npos);
    const nlohmann::json j = nlohmann::json::parse(adjust(s.file(), {"--json"}).out);
    const nlohmann::json& advice = j["advice"];
    CHECK(advice["good_enough"] == false);
    CHECK(text.out.find(advice["sentence"].get<std::string>()) != std::string::npos);
    REQUIRE(advice["proposals"].size() >= 2);
    for (const nlohmann::json& p : advice["proposals"]) {
        CHECK(p.contains("reading") != p.contains("photograph"));
        CHECK(p["worst"]["plus_minus"].get<double>() > 0);
        CHECK(p["same"]["figure"].get<double>() <= advice["worst"]["figure"].get<double>() * (1 + 1e-9));
    }

    // A caliper that opens to nothing reads nothing.
    const nlohmann::json none = nlohmann::json::parse(adjust(s.file(), {"--json", "--caliper", "0.5"}).out);
    for (const nlohmann::json& p : none["advice"]["proposals"])
        CHECK((!p.contains("reading") || p["reading"]["instrument"] != "caliper"));
    CHECK(adjust(s.file(), {"--caliper", "-1"}).code == 2);

    for (survey::Dimension& d : s.values().dimensions) d.target = 1.0;
    s.write();
    const Ran enough = adjust(s.file());
    CHECK(enough.code == 0);
    CHECK(enough.out.find("\nNext: Good enough, stop here: ") != std::string::npos);
    const nlohmann::json met = nlohmann::json::parse(adjust(s.file(), {"--json"}).out);
    CHECK(met["advice"]["good_enough"] == true);
    CHECK(met["dimensions"][0]["target"] == 1.0);
}

TEST_CASE("a survey that disagrees exits 1 and names the suspect") {
    SmallSurvey s;
    s.values().marks[10].points[0].px.x() += 12.0;
    s.write();
    const Ran ran = adjust(s.file());
    CHECK(ran.code == 1);
    CHECK(ran.err.empty());
    const Ran machine = adjust(s.file(), {"--json"});
    CHECK(machine.code == 1);
    const nlohmann::json j = nlohmann::json::parse(machine.out);
    CHECK(j["agrees"] == false);
    REQUIRE_FALSE(j["suspects"].empty());
    CHECK(j["suspects"][0]["object"] == "M11");
}

TEST_CASE("a missing photograph stops the adjustment unless only the marks are asked for") {
    SmallSurvey s;
    std::filesystem::remove(s.photograph("left slope"));
    refuses(s, {"photograph left slope (left slope.jpg): the file is missing; put it back"});
    const Ran ran = adjust(s.file(), {"--marks-only"});
    CHECK(ran.code == 0);
    CHECK(ran.err.empty());
}

TEST_CASE("a truncated photograph stops it") {
    SmallSurvey s;
    putBytes(s.photograph("top"), bytesOf(s.photograph("top")).substr(0, 20000));
    refuses(s, {"photograph top (top.jpg): the photograph is truncated; copy it from the camera again."});
}

TEST_CASE("a photograph changed since it was marked stops it") {
    SmallSurvey s;
    makeJpeg(s.photograph("top"), 600, 400, 3, texture);
    refuses(s, {"photograph top (top.jpg): the file has changed since it was marked; put the original back"});
}

TEST_CASE("a file that is no image stops it") {
    SmallSurvey s;
    putBytes(s.photograph("top"), "Dear Sirs\n");
    refuses(s, {"photograph top (top.jpg): is no photograph of a kind that is read here; choose a JPEG, PNG, "
                "TIFF, HEIC or camera raw file."});
    putBytes(s.photograph("top"), "");
    refuses(s, {"photograph top (top.jpg): the file is empty; copy it"});
}

TEST_CASE("a reference of no length is named") {
    SmallSurvey s;
    s.values().readings[0].measured.value = 0.0;
    s.write();
    refuses(
        s,
        {"reference length: length is 0, which is not above zero; enter the measured length or remove it."});
}

TEST_CASE("two features at one place are both named") {
    SmallSurvey s;
    s.values().features.push_back({"F9", "P9", survey::FeatureKind::Corner, "L1"});
    const std::vector<survey::Mark> marks = s.values().marks;
    for (const survey::Mark& m : marks)
        if (m.feature == "F7") {
            survey::Mark copy = m;
            copy.id = m.id + "0000", copy.feature = "F9";
            s.values().marks.push_back(copy);
        }
    s.write();
    refuses(s, {"corner P7: lies at the place of corner P9", "remove one of them"});
}

TEST_CASE("a survey of a newer version is left alone") {
    SmallSurvey s;
    std::string text = bytesOf(s.file());
    const std::string now = fmt::format("\"version\": {}", storage::kFormatVersion);
    text.replace(text.find(now), now.size(), "\"version\": 99");
    putBytes(s.file(), text);
    refuses(s, {"part.trammel: was written by a newer version of the program (format 99,",
                "update the program."});
}

TEST_CASE("a photograph that shares nothing with the others is named") {
    SmallSurvey s;
    auto& v = s.values();
    // The rear photograph gets features of its own and loses the common ones.
    std::erase_if(v.marks, [](const survey::Mark& m) { return m.station == "S5"; });
    for (int i = 0; i < 4; ++i) {
        const survey::Id id = fmt::format("F{}", 20 + i);
        v.features.push_back({id, fmt::format("only rear {}", i), survey::FeatureKind::Corner, "L1"});
        v.marks.push_back({fmt::format("M{}", 200 + i),
                           "S5",
                           id,
                           {{Vec2(100 + 80 * i, 90 + 61 * (i % 2)), 0.2}},
                           survey::MarkOrigin::Hand,
                           false});
    }
    s.write();
    refuses(s, {"rear slope"});
}

TEST_CASE("a survey file that is missing, a folder, cut short or misspelt gets one sentence") {
    SmallSurvey s;
    const Ran missing = adjust(s.folder() / "none.trammel");
    CHECK(missing.code == 2);
    CHECK(missing.oneSentence());
    const Ran dir = adjust(s.folder().path());
    CHECK(dir.code == 2);
    CHECK(dir.oneSentence());
    const std::string whole = bytesOf(s.file());
    putBytes(s.file(), whole.substr(0, whole.size() / 2));
    refuses(s, {"part.trammel: the text breaks off or is no JSON at line", "take an older copy."});
    std::string misspelt = whole;
    misspelt.replace(misspelt.find("\"sigma\""), 7, "\"sigms\"");
    putBytes(s.file(), misspelt);
    refuses(s, {"sigms is a key that this format does not have; correct its spelling or remove it."});
    putBytes(s.file(), "");
    refuses(s, {"part.trammel: the file is empty"});
}

TEST_CASE("a report that meets a full disk is a failure, not half a report") {
    SmallSurvey s;
    for (const char* option : {"--marks-only", "--json"}) {
        const Ran ran = runProgram(TRAMMEL_PROGRAM, {"adjust", s.file().string(), option}, "", "> /dev/full");
        CHECK(ran.code == 2);
        CHECK(ran.oneSentence());
        CHECK(ran.err.find("could not be written out; free some space") != std::string::npos);
    }
}

TEST_CASE("a word that is no command is one sentence, and so is a missing display") {
    const Ran wrong = runProgram(TRAMMEL_PROGRAM, {"fot"});
    CHECK(wrong.code == 2);
    CHECK(wrong.oneSentence());
    CHECK(wrong.err.find("fot: is neither a command nor a survey") == 0);
    for (const char* name : {"DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM"}) ::unsetenv(name);
    const Ran blind = runProgram(TRAMMEL_PROGRAM, {});
    CHECK(blind.code == 2);
    CHECK(blind.oneSentence());
}
