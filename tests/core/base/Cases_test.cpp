// SPDX-License-Identifier: GPL-3.0-or-later
// The reader of reference figures must refuse what it cannot vouch for.
#include "Cases.h"

#include <unistd.h>

#include <catch2/catch.hpp>
#include <filesystem>

using trammel::test::Cases;

namespace {

/// A file of the given content, gone at the end of the test.
struct TemporaryFile {
    std::string path;
    explicit TemporaryFile(const std::string& content)
        : path((std::filesystem::temp_directory_path() /
                ("trammel-cases-" + std::to_string(getpid()) + ".csv"))
                   .string()) {
        std::ofstream(path) << content;
    }
    ~TemporaryFile() { std::filesystem::remove(path); }
};

}  // namespace

TEST_CASE("a case file gives its source, tolerance and cells by name") {
    const TemporaryFile file("# source: a book, p. 3\n# tolerance: 1e-3\n# remark\nname,value\na,1.5\nb,\n");
    const Cases cases(file.path);
    CHECK(cases.source() == "a book, p. 3");
    CHECK(cases.tolerance() == "1e-3");
    REQUIRE(cases.rows().size() == 2);
    CHECK(cases.rows()[0].text("name") == "a");
    CHECK(cases.rows()[0].number("value") == 1.5);
    CHECK_FALSE(cases.rows()[1].has("value"));
    CHECK_THROWS_WITH(cases.rows()[0].text("other"), Catch::Contains("no column \"other\""));
    CHECK_THROWS_WITH(cases.rows()[0].number("name"), Catch::Contains(":5: \"a\" is no number"));
}

TEST_CASE("a case file without source, tolerance, rows or whole lines is refused") {
    CHECK_THROWS_WITH(Cases("no-such-file"), Catch::Contains("cannot be read"));
    for (const char* content : {"# tolerance: 1\na\n1\n", "# source: x\na\n1\n"}) {
        const TemporaryFile file(content);
        CHECK_THROWS_WITH(Cases(file.path), Catch::Contains("needs the lines"));
    }
    const TemporaryFile empty("# source: x\n# tolerance: 1\na,b\n");
    CHECK_THROWS_WITH(Cases(empty.path), Catch::Contains("holds no case"));
    const TemporaryFile ragged("# source: x\n# tolerance: 1\na,b\n1\n");
    CHECK_THROWS_WITH(Cases(ragged.path), Catch::Contains("another number of cells"));
}
