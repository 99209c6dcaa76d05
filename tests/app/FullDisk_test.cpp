// SPDX-License-Identifier: GPL-3.0-or-later
// A command that saves a survey while the disk fills. `fit` rewrites the survey it read.
#include <sys/mount.h>

#include <catch2/catch.hpp>
#include <cerrno>
#include <cstring>

#include "RunProgram.h"
#include "SmallSurvey.h"

using namespace trammel;
using namespace trammel::test;

TEST_CASE("a survey that grows past the allowed file size stays as it was") {
    SmallSurvey s;
    s.values().note = std::string(20000, 'n');
    s.write();
    const std::string before = bytesOf(s.file());
    const std::size_t files = s.folder().count();
    // The limit (in blocks of 512 bytes) makes the write itself fail half way, as a full disk does.
    const Ran ran = runProgram(TRAMMEL_PROGRAM, {"fit", s.file().string(), "--out", s.file().string()},
                               "trap '' XFSZ; ulimit -f 16; ");
    INFO(ran.err);
    CHECK(ran.code == 2);
    CHECK(ran.oneSentence());
    CHECK(ran.err.find("part.trammel: it could not be saved") != std::string::npos);
    CHECK(bytesOf(s.file()) == before);
    CHECK(s.folder().count() == files);
}

TEST_CASE("a survey on a disk that is really full stays as it was") {
    SmallSurvey s;
    s.values().note = std::string(40000, 'n');
    s.write();
    const auto disk = s.folder() / "disk";
    std::filesystem::create_directory(disk);
    if (::mount("tmpfs", disk.c_str(), "tmpfs", 0, "size=800k") != 0) {
        WARN("skipped: mounting a tiny file system needs privileges (" << std::strerror(errno) << ")");
        return;
    }
    for (const auto& entry : std::filesystem::directory_iterator(s.folder().path()))
        if (entry.is_regular_file()) std::filesystem::copy(entry.path(), disk / entry.path().filename());
    putBytes(disk / "filler", std::string(1 << 20, 'x'));  // takes what is left
    const std::string before = bytesOf(disk / "part.trammel");
    const Ran ran = runProgram(TRAMMEL_PROGRAM, {"fit", (disk / "part.trammel").string(), "--out",
                                                 (disk / "part.trammel").string()});
    const std::string after = bytesOf(disk / "part.trammel");
    std::size_t hidden = 0;
    for (const auto& entry : std::filesystem::directory_iterator(disk))
        hidden += entry.path().filename().string().starts_with(".");
    ::umount(disk.c_str());
    INFO(ran.err);
    REQUIRE(before.size() > 40000);
    CHECK(ran.code == 2);
    CHECK(ran.oneSentence());
    CHECK(ran.err.find("part.trammel: the disk is full, so it was not saved; free some space") !=
          std::string::npos);
    CHECK(after == before);
    CHECK(hidden == 0);
}
