// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/storage/SurveyFile.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <nlohmann/json.hpp>

#include "RandomSurvey.h"
#include "TemporaryFolder.h"

using namespace trammel;
using namespace trammel::storage;

namespace {

/// The sentence with which a document is refused; empty when it is read.
std::string refusal(const std::string& text, ErrorCode code = ErrorCode::FileDamaged) {
    const Result<survey::Survey> s = fromJson(text, "x.trammel");
    if (s) return "";
    CHECK(s.error().code == code);
    return s.error().sentence();
}

/// A valid document with the value at a JSON pointer replaced.
std::string with(const char* pointer, const nlohmann::json& value) {
    survey::Survey s;
    s.groups.resize(1);
    s.groups[0].id = "G1";
    s.stations.resize(1);
    s.stations[0].id = "S1";
    s.levels = {{"L1", ""}};
    s.features = {{"F1", "", survey::FeatureKind::Corner, "L1"}};
    s.marks = {{"M1", "S1", "F1", {{Vec2(1, 2), 0.5}}, survey::MarkOrigin::Hand, false}};
    nlohmann::json j = nlohmann::json::parse(toJson(s));
    j[nlohmann::json::json_pointer(pointer)] = value;
    return j.dump();
}

}  // namespace

TEST_CASE("a survey and its document round-trip exactly") {
    for (unsigned seed = 0; seed < 300; ++seed) {
        test::RandomSurvey r(seed);
        const survey::Survey s = r.survey();
        const std::string text = toJson(s);
        const Result<survey::Survey> back = fromJson(text, "x");
        REQUIRE(back);
        REQUIRE(*back == s);
        REQUIRE(toJson(*back) == text);
    }
}

TEST_CASE("awkward doubles round-trip to the bit") {
    for (const double v : {0.1, 1.0 / 3.0, -0.0, 5e-324, 2.2250738585072014e-308, 1.7976931348623157e308,
                           9007199254740993.0, 1e23, -123456789.12345679, 100.0}) {
        survey::Survey s;
        s.readings.resize(1);
        s.readings[0].measured = {v, std::nextafter(v, 1e9)};
        const Result<survey::Survey> back = fromJson(toJson(s), "x");
        REQUIRE(back);
        CHECK(back->readings[0].measured.value == v);
        CHECK(std::signbit(back->readings[0].measured.value) == std::signbit(v));
        CHECK(back->readings[0].measured.sigma == s.readings[0].measured.sigma);
    }
}

TEST_CASE("a value that is no number survives as one, so an unsound survey can be saved") {
    survey::Survey s;
    s.readings.resize(1);
    s.readings[0].measured = {std::numeric_limits<double>::quiet_NaN(),
                              std::numeric_limits<double>::infinity()};
    const Result<survey::Survey> back = fromJson(toJson(s), "x");
    REQUIRE(back);
    CHECK(std::isnan(back->readings[0].measured.value));
    CHECK(std::isnan(back->readings[0].measured.sigma));
}

TEST_CASE("names that are no UTF-8 do not stop a save") {
    survey::Survey s;
    s.title = "b\xe4r";
    const Result<survey::Survey> back = fromJson(toJson(s), "x");
    REQUIRE(back);
    CHECK(back->title == "b\xef\xbf\xbdr");
}

TEST_CASE("a newer version is refused by name") {
    CHECK(refusal(with("/version", kFormatVersion + 1), ErrorCode::FileNewer) ==
          "x.trammel: was written by a newer version of the program (format 5, this one reads up to 4); "
          "update the "
          "program.");
    // A newer document may look different throughout; the version decides first.
    CHECK_FALSE(refusal(R"({"format": "trammel survey", "version": 7, "stations": 3})", ErrorCode::FileNewer)
                    .empty());
    CHECK(refusal(with("/version", 0)) == "x.trammel: version 0 never existed; correct it.");
}

TEST_CASE("a document of the first version has no wanted ± and is read") {
    const Result<survey::Survey> s = fromJson(
        R"({"format": "trammel survey", "version": 1, "dimensions": [{"id": "D1", "quantity": "height"}]})",
        "x");
    REQUIRE(s);
    CHECK(s->dimensions.at(0).target == 0.0);
}

TEST_CASE("a document of the second version has sharp features and is read") {
    const Result<survey::Survey> s = fromJson(
        R"({"format": "trammel survey", "version": 2, "features": [{"id": "F1", "kind": "edge"}]})", "x");
    REQUIRE(s);
    CHECK(s->features.at(0).transition == survey::Transition::Sharp);
    CHECK(s->features.at(0).transition_mm == 0.0);
    CHECK(refusal(with("/features/0/transition", "bevel")) ==
          "x.trammel: features[0].transition holds the unknown word \"bevel\"; correct it.");
}

TEST_CASE("a document of the third version knows nothing of the growth of light and is read") {
    const Result<survey::Survey> s = fromJson(
        R"({"format": "trammel survey", "version": 3, "cameras": [{"id": "G1"}], "marks": [{"id": "M1",
            "photograph": "S1", "feature": "F1", "origin": "fitted", "points_px": [[1, 2, 0.1]]}]})",
        "x");
    REQUIRE(s);
    CHECK(s->groups.at(0).lightGrowth == survey::Constant{});
    CHECK(s->marks.at(0).points.at(0).growth_px == Vec2(0, 0));
    CHECK(refusal(with("/marks/0/points_px/0", {1, 2, 0.1, 4})) ==
          "x.trammel: marks[0].points_px[0] must hold three numbers, x, y and σ, or five with the growth in "
          "x and "
          "y; correct it or take an older copy.");
}

TEST_CASE("a wrong value is refused in one sentence that names its place") {
    CHECK(refusal(with("/marks/0/points_px/0/1", "2")) ==
          "x.trammel: marks[0].points_px[0][1] must be a number but is a string; correct it or take an older "
          "copy.");
    CHECK(refusal(with("/marks/0/points_px/0", 5)) ==
          "x.trammel: marks[0].points_px[0] must hold three numbers, x, y and σ, or five with the growth in "
          "x and y; correct it or take an older "
          "copy.");
    CHECK(refusal(with("/stations/0/photograph/width", 1.5)) ==
          "x.trammel: stations[0].photograph.width must be a whole number but is 1.5; correct it.");
    CHECK(refusal(with("/stations/0/photograph/width", 1e10)) ==
          "x.trammel: stations[0].photograph.width must be a whole number but is 10000000000.0; correct it.");
    CHECK(refusal(with("/stations/0/photograph/width", 10000000000ull)) ==
          "x.trammel: stations[0].photograph.width must be a whole number but is 10000000000; correct it.");
    CHECK(refusal(with("/stations/0/view", "sideways")) ==
          "x.trammel: stations[0].view holds the unknown word \"sideways\"; correct it.");
    CHECK(refusal(with("/stations", nlohmann::json::object())) ==
          "x.trammel: stations must be an array but is an object; correct it or take an older copy.");
    CHECK(refusal(with("/features/0", 7)) ==
          "x.trammel: features[0] must be an object but is a number; correct it or take an older copy.");
    CHECK(refusal(with("/levels/0/hieght", 7)) ==
          "x.trammel: levels[0].hieght is a key that this format does not have; correct its spelling or "
          "remove it.");
    CHECK(refusal(with("/cameras/0/k1/mode", "loose")) ==
          "x.trammel: cameras[0].k1.mode holds the unknown word \"loose\"; correct it.");
    CHECK(refusal(R"({"format": "trammel survey", "version": 1, "levels": [{"name": "x"}]})") ==
          "x.trammel: levels[0].id is absent; add it or take an older copy.");
}

TEST_CASE("every value of every type in every place is read or refused, never a crash") {
    const std::vector<nlohmann::json> values = {nullptr,    true,
                                                -1,         1e300,
                                                "",         "word",
                                                {1, 2},     nlohmann::json::object(),
                                                {{"a", 1}}, 18446744073709551615ull};
    const nlohmann::json flat = nlohmann::json::parse(with("/note", "")).flatten();
    int refused = 0;
    for (const auto& item : flat.items())
        for (const nlohmann::json& value : values) {
            const Result<survey::Survey> s = fromJson(with(item.key().c_str(), value), "x.trammel");
            if (!s) {
                ++refused;
                const std::string sentence = s.error().sentence();
                CHECK(sentence.find("x.trammel: ") == 0);
                CHECK(sentence.find('\n') == std::string::npos);
            }
        }
    CHECK(refused > 200);
}

TEST_CASE("a document cut short at any byte is refused") {
    test::RandomSurvey r(5);
    const std::string text = toJson(r.survey());
    const std::size_t whole = text.find_last_not_of('\n') + 1;
    for (std::size_t n = 0; n < whole; n += 7) {
        const Result<survey::Survey> s = fromJson(text.substr(0, n), "x");
        REQUIRE_FALSE(s);
        CHECK(s.error().code == ErrorCode::FileDamaged);
    }
    CHECK(refusal("{\n\"format\": \"trammel survey\",\n\"version\": 1,\n\"ti") ==
          "x.trammel: the text breaks off or is no JSON at line 4; take an older copy.");
    CHECK(refusal("") == "x.trammel: the file is empty; take an older copy.");
    CHECK(refusal("[1]") ==
          "x.trammel: the document must be an object but is an array; correct it or take an older copy.");
    CHECK(refusal("{}") ==
          "x.trammel: is no survey (its \"format\" does not say so); open a *.trammel file.");
    CHECK(refusal(std::string(1000000, '[')).find("is no JSON") != std::string::npos);
    CHECK(refusal("{\"version\": 1e999}").find("out of range") != std::string::npos);
}

TEST_CASE("a missing file and a folder are one sentence each") {
    test::TemporaryFolder folder;
    const Result<survey::Survey> missing = load(folder / "no.trammel");
    REQUIRE_FALSE(missing);
    CHECK(missing.error().code == ErrorCode::FileMissing);
    CHECK(missing.error().sentence().find("cannot be opened (No such file or directory)") !=
          std::string::npos);
    const Result<survey::Survey> dir = load(folder.path());
    REQUIRE_FALSE(dir);
    CHECK(dir.error().sentence().find("is a folder, not a file") != std::string::npos);
}
