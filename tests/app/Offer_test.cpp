// SPDX-License-Identifier: GPL-3.0-or-later
// `trammel fit` on the sample without most marks of one photograph: what it adds and what it tells.
#include <algorithm>
#include <catch2/catch.hpp>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "RunProgram.h"
#include "TemporaryFolder.h"
#include "core/adjust/Adjust.h"
#include "core/storage/SurveyFile.h"

using namespace trammel;
using namespace trammel::test;

namespace {

const std::filesystem::path kSample = TRAMMEL_SAMPLES "/stepped-board/stepped-board.trammel";

/// The sample with only the corners marked in "oblique B", written to this folder.
survey::Survey thinnedSample(const std::filesystem::path& file) {
    auto s = storage::load(kSample);
    REQUIRE(s);
    survey::Id station;
    for (survey::Station& st : s->stations) {
        st.photo.path = (kSample.parent_path() / st.photo.path).string();
        if (st.name == "oblique B") station = st.id;
    }
    std::erase_if(s->marks, [&](const survey::Mark& m) {
        return m.station == station &&
               survey::find(s->features, m.feature)->kind != survey::FeatureKind::Corner;
    });
    REQUIRE(storage::save(*s, file));
    return *s;
}

}  // namespace

TEST_CASE("fit adds sure offers where it is asked to, and lists the others with their reasons") {
    REQUIRE(std::filesystem::exists(kSample));
    TemporaryFolder folder;
    const auto in = folder / "in.trammel", out = folder / "out.trammel";
    const survey::Survey before = thinnedSample(in);
    const Ran plain = runProgram(TRAMMEL_PROGRAM, {"fit", in.string(), "--out", out.string()});
    CHECK(plain.code == 0);
    CHECK(plain.out.find("offered") == std::string::npos);
    CHECK(plain.out.find("may be meant: A (") != std::string::npos);  // rivals are told in the sentence
    CHECK(storage::load(out)->marks.size() == before.marks.size());

    const Ran ran =
        runProgram(TRAMMEL_PROGRAM, {"fit", in.string(), "--out", out.string(), "--offer", "--json"});
    INFO(ran.err);
    REQUIRE(ran.code == 0);
    const auto told = nlohmann::json::parse(ran.out);
    const auto after = storage::load(out);
    REQUIRE(after);
    std::vector<std::string> added;
    int unsure = 0, rivals = 0;
    for (const auto& o : told.at("offers")) {
        if (o.contains("mark")) added.push_back(o.at("mark"));
        CHECK(o.contains("mark") == (o.at("standing") == "sure"));
        CHECK((o.contains("mark") || !o.at("why").get<std::string>().empty()));
        unsure += o.at("standing") == "unsure";
    }
    for (const auto& r : told.at("refused")) {
        if (!r.contains("rivals")) continue;
        ++rivals;
        CHECK(r.at("rivals").at(0).at("letter") == "A");
        CHECK(r.at("rivals").at(0).at("line_px").size() >= 2);
    }
    CHECK(added.size() >= 20);
    CHECK(unsure > 0);
    CHECK(rivals > 0);
    CHECK(after->marks.size() == before.marks.size() + added.size());
    const auto solution = adjust::adjust(*after);
    REQUIRE(solution);
    for (const auto& id : added) {
        REQUIRE(survey::find(after->marks, id));
        CHECK(survey::find(after->marks, id)->origin == survey::MarkOrigin::Fitted);
        CHECK(std::none_of(solution->suspects.begin(), solution->suspects.end(),
                           [&](const adjust::Suspect& s) { return s.object == id; }));
    }
}
