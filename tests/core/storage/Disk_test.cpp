// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/storage/Disk.h"

#include <fcntl.h>
#include <sys/mount.h>
#include <sys/stat.h>
#include <unistd.h>

#include <catch2/catch.hpp>
#include <cerrno>
#include <cstring>
#include <set>

#include "FailingDisk.h"
#include "RandomSurvey.h"
#include "TemporaryFolder.h"
#include "core/storage/SurveyFile.h"

using namespace trammel;
using namespace trammel::storage;
using trammel::test::bytesOf;
using trammel::test::FailingDisk;
using trammel::test::putBytes;

namespace {

/// Takes nothing, or is interrupted once.
class OddDisk : public Disk {
  public:
    explicit OddDisk(bool full) : full_(full) {}
    long write(int file, const char* bytes, std::size_t size) override {
        if (full_) return 0;
        if (!interrupted_) {
            interrupted_ = true;
            errno = EINTR;
            return -1;
        }
        return Disk::write(file, bytes, size);
    }

  private:
    bool full_, interrupted_ = false;
};

}  // namespace

TEST_CASE("whichever step of a save fails, the survey on disk is whole and nothing else is left") {
    const survey::Survey before = test::RandomSurvey(1).survey(), after = test::RandomSurvey(2).survey();
    std::set<std::string> seen;
    for (const int code : {ENOSPC, EIO, EACCES}) {
        for (int step = 1;; ++step) {
            test::TemporaryFolder folder;
            const auto file = folder / "x.trammel";
            REQUIRE(save(before, file));
            const std::string old = bytesOf(file);
            FailingDisk disk(step, code);
            const Result<void> saved = save(after, file, disk);
            if (disk.failed.empty()) {
                REQUIRE(saved);
                REQUIRE(bytesOf(file) == toJson(after));
                break;
            }
            seen.insert(disk.failed);
            CHECK(folder.count() == 1);
            const std::string now = bytesOf(file);
            if (saved) {  // closing the flushed folder has nothing left to lose
                CHECK(disk.failed == "close");
                CHECK(now == toJson(after));
                continue;
            }
            CHECK(saved.error().code == ErrorCode::WriteFailed);
            const bool renamed = saved.error().what.find("did not confirm") != std::string::npos;
            CHECK(now == (renamed ? toJson(after) : old));
            if (code == ENOSPC && !renamed)
                CHECK(saved.error().sentence() ==
                      "x.trammel: the disk is full, so it was not saved; free some space and save again; the "
                      "file on "
                      "disk is as it was before.");
        }
    }
    CHECK(seen == std::set<std::string>{"open", "write", "flush", "close", "rename"});
}

TEST_CASE("a first save that fails leaves no file") {
    test::TemporaryFolder folder;
    FailingDisk disk(3, ENOSPC);
    CHECK_FALSE(save(test::RandomSurvey(1).survey(), folder / "x.trammel", disk));
    CHECK(folder.count() == 0);
}

TEST_CASE("an interrupted write goes on; a disk that takes nothing is full") {
    test::TemporaryFolder folder;
    OddDisk interrupted(false), full(true);
    REQUIRE(writeWhole(folder / "a", "bytes", interrupted));
    CHECK(bytesOf(folder / "a") == "bytes");
    CHECK_FALSE(writeWhole(folder / "a", "other", full));
    CHECK(bytesOf(folder / "a") == "bytes");
    CHECK(folder.count() == 1);
}

TEST_CASE("a disk that is really full keeps the old survey") {
    test::TemporaryFolder folder;
    const auto mounted = folder / "small";
    std::filesystem::create_directory(mounted);
    if (::mount("tmpfs", mounted.c_str(), "tmpfs", 0, "size=64k") != 0) {
        WARN("skipped: mounting a tiny file system needs privileges (" << std::strerror(errno) << ")");
        return;
    }
    {
        const auto file = mounted / "x.trammel";
        const survey::Survey before = test::RandomSurvey(1).survey();
        survey::Survey after = before;
        after.note = std::string(100000, 'n');
        const Result<void> first = save(before, file), second = save(after, file);
        const std::string now = bytesOf(file);
        std::size_t files = 0;
        for ([[maybe_unused]] const auto& e : std::filesystem::directory_iterator(mounted)) ++files;
        ::umount(mounted.c_str());
        REQUIRE(first);
        REQUIRE_FALSE(second);
        CHECK(second.error().what == "the disk is full, so it was not saved");
        CHECK(now == toJson(before));
        CHECK(files == 1);
    }
}

TEST_CASE("a save keeps permissions, follows a link, and explains a missing or forbidden folder") {
    test::TemporaryFolder folder;
    putBytes(folder / "real", "old");
    ::chmod((folder / "real").c_str(), 0640);
    std::filesystem::create_symlink(folder / "real", folder / "link");
    REQUIRE(writeWhole(folder / "link", "new"));
    CHECK(std::filesystem::is_symlink(folder / "link"));
    CHECK(bytesOf(folder / "real") == "new");
    struct stat st {};
    ::stat((folder / "real").c_str(), &st);
    CHECK((st.st_mode & 07777) == 0640);

    const Result<void> missing = writeWhole(folder / "no/such/x", "new");
    REQUIRE_FALSE(missing);
    CHECK(missing.error().sentence().find("does not exist; create it or choose another.") !=
          std::string::npos);
    const Result<void> dir = writeWhole(folder.path(), "new");
    REQUIRE_FALSE(dir);
    CHECK(dir.error().sentence().find("is a folder") != std::string::npos);
    if (::geteuid() == 0) return;  // root may write everywhere
    ::chmod(folder.path().c_str(), 0500);
    const Result<void> forbidden = writeWhole(folder / "x", "new");
    ::chmod(folder.path().c_str(), 0700);
    REQUIRE_FALSE(forbidden);
    CHECK(forbidden.error().sentence().find("may not be written to") != std::string::npos);
}

TEST_CASE("reading a device that fails is an error, not an empty text") {
    const Result<std::string> r = readWhole("/proc/self/mem");  // reading address 0 fails
    REQUIRE_FALSE(r);
    CHECK(r.error().code == ErrorCode::FileDamaged);
}
