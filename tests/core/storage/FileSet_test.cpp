// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/storage/FileSet.h"

#include <unistd.h>

#include <catch2/catch.hpp>
#include <cerrno>
#include <map>
#include <set>

#include "FailingDisk.h"
#include "TemporaryFolder.h"

using namespace trammel;
using namespace trammel::storage;
using trammel::test::bytesOf;
using trammel::test::FailingDisk;
using trammel::test::putBytes;

namespace {

Result<void> writeAll(const test::TemporaryFolder& folder, const std::map<std::string, std::string>& files,
                      Disk& disk) {
    FileSet set(disk);
    for (const auto& [name, bytes] : files)
        if (const auto staged = set.stage(folder / name, bytes); !staged) return staged.error();
    return set.commit();
}

}  // namespace

TEST_CASE("whichever step fails, all files of a set are old or all are new, and nothing else is left") {
    const std::map<std::string, std::string> fresh{
        {"a.dxf", std::string(250, 'n')}, {"b.csv", "new"}, {"c.pdf", "new, there was none"}};
    for (const bool links : {true, false}) {
        std::set<std::string> seen;
        int step = 1;
        for (;; ++step) {
            const test::TemporaryFolder folder;
            putBytes(folder / "a.dxf", "old");
            putBytes(folder / "b.csv", "old as well");
            FailingDisk disk(step, ENOSPC, links);
            const auto done = writeAll(folder, fresh, disk);
            if (disk.failed.empty()) {
                CHECK(done);
                CHECK(folder.count() == 3);
                break;
            }
            INFO("step " << step << ": " << disk.failed << (links ? "" : ", without links"));
            seen.insert(disk.failed);
            if (done || done.error().what.find("did not confirm") != std::string::npos) {
                for (const auto& [name, bytes] : fresh) CHECK(bytesOf(folder / name) == bytes);
                CHECK(folder.count() == 3);
                continue;
            }
            CHECK(done.error().code == ErrorCode::WriteFailed);
            CHECK(bytesOf(folder / "a.dxf") == "old");
            CHECK(bytesOf(folder / "b.csv") == "old as well");
            CHECK(folder.count() == 2);
        }
        CHECK(step > 12);
        CHECK(seen.count("rename") == 1);
        CHECK(seen.count("write") == 1);
    }
}

TEST_CASE("a set can be read before it stands under its names, and is gone when nobody commits it") {
    const test::TemporaryFolder folder;
    putBytes(folder / "a", "old");
    {
        FileSet set;
        const auto lies = set.stage(folder / "a", "new");
        REQUIRE(lies);
        CHECK(bytesOf(*lies) == "new");
        CHECK(bytesOf(folder / "a") == "old");
        CHECK_FALSE(set.stage(folder / "a", "twice"));
        CHECK_FALSE(set.stage(folder.path(), "a folder"));
        CHECK_FALSE(set.stage(folder / "none" / "b", "no such folder"));
    }
    CHECK(folder.count() == 1);
    CHECK(bytesOf(folder / "a") == "old");
}
