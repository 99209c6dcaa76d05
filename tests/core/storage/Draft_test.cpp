// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/storage/Draft.h"

#include <sys/stat.h>
#include <unistd.h>

#include <catch2/catch.hpp>

#include "RandomSurvey.h"
#include "TemporaryFolder.h"

using namespace trammel;
using namespace trammel::storage;
namespace fs = std::filesystem;
using trammel::test::bytesOf;
using trammel::test::putBytes;

namespace {

Draft someDraft(unsigned seed) {
    Draft draft;
    draft.surveyFile = "/somewhere/board.trammel";
    draft.photoFolder = "/somewhere";
    draft.surveyFileState = "12 34";
    draft.time = "2020-02-03T04:05:06Z";
    draft.survey = test::RandomSurvey(seed).survey();
    return draft;
}

}  // namespace

TEST_CASE("a draft comes back as it was") {
    const test::TemporaryFolder folder;
    for (unsigned seed = 1; seed <= 20; ++seed) {
        const Draft draft = someDraft(seed);
        const fs::path file = folder.path() / "a.draft";
        REQUIRE(writeDraft(draft, file));
        const auto back = readDraft(file);
        REQUIRE(back);
        CHECK(back->survey == draft.survey);
        CHECK(back->surveyFile == draft.surveyFile);
        CHECK(back->photoFolder == draft.photoFolder);
        CHECK(back->surveyFileState == draft.surveyFileState);
        CHECK(back->time == draft.time);
    }
}

TEST_CASE("a damaged draft is a sentence") {
    const test::TemporaryFolder folder;
    const fs::path file = folder.path() / "a.draft";
    REQUIRE(writeDraft(someDraft(1), file));
    const std::string whole = bytesOf(file);
    for (std::size_t keep = 0; keep < whole.size(); keep += 997) {
        putBytes(file, whole.substr(0, keep));
        const auto back = readDraft(file);
        REQUIRE_FALSE(back);
        CHECK(back.error().code == ErrorCode::FileDamaged);
    }
    putBytes(file, R"({"format": "something else"})");
    CHECK_FALSE(readDraft(file));
    std::string newer = whole;
    newer.replace(newer.find("\"version\":1"), 11, "\"version\":9");
    putBytes(file, newer);
    CHECK(readDraft(file).error().code == ErrorCode::FileNewer);
    CHECK(readDraft(folder.path() / "none.draft").error().code == ErrorCode::FileMissing);
}

TEST_CASE("a draft is abandoned once its place is let go, and then one alone may take it over") {
    const test::TemporaryFolder folder;
    const fs::path drafts = folder.path() / "deep" / "drafts";
    fs::path file;
    {
        const auto place = DraftPlace::claim(drafts);
        REQUIRE(place);
        file = place->file();
        REQUIRE(writeDraft(someDraft(1), file));
        CHECK(abandonedDrafts(drafts).empty());
        CHECK(DraftPlace::takeOver(file).error().code == ErrorCode::Refused);
        const auto other = DraftPlace::claim(drafts);
        REQUIRE(other);
        CHECK(other->file() != file);
    }
    CHECK(abandonedDrafts(drafts) == std::vector<fs::path>{file});
    {
        const auto taken = DraftPlace::takeOver(file);
        REQUIRE(taken);
        CHECK(abandonedDrafts(drafts).empty());
        taken->clear();
    }
    CHECK(abandonedDrafts(drafts).empty());
    CHECK(fs::is_empty(drafts));  // no lock stays behind
}

TEST_CASE("the newest of several drafts comes first") {
    const test::TemporaryFolder folder;
    for (const char* name : {"a.draft", "b.draft", "c.draft"})
        REQUIRE(writeDraft(someDraft(1), folder.path() / name));
    const auto now = fs::file_time_type::clock::now();
    fs::last_write_time(folder.path() / "a.draft", now - std::chrono::hours(1));
    fs::last_write_time(folder.path() / "b.draft", now);
    fs::last_write_time(folder.path() / "c.draft", now - std::chrono::hours(2));
    const auto found = abandonedDrafts(folder.path());
    REQUIRE(found.size() == 3);
    CHECK(found[0].filename() == "b.draft");
    CHECK(found[2].filename() == "c.draft");
}

TEST_CASE("a folder that cannot be had is a sentence, not an endless search for a name") {
    const test::TemporaryFolder folder;
    putBytes(folder.path() / "file", "x");
    const auto place = DraftPlace::claim(folder.path() / "file" / "drafts");
    REQUIRE_FALSE(place);
    CHECK(place.error().code == ErrorCode::WriteFailed);
    CHECK(abandonedDrafts(folder.path() / "none").empty());
}

TEST_CASE("the state of a file changes when it is written, and is empty where there is none") {
    const test::TemporaryFolder folder;
    const fs::path file = folder.path() / "f";
    CHECK(stateOf(file).empty());
    putBytes(file, "one");
    const std::string before = stateOf(file);
    CHECK(stateOf(file) == before);
    putBytes(file, "three");
    CHECK(stateOf(file) != before);
}
