// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <algorithm>
#include <cerrno>
#include <string>

#include "core/storage/Disk.h"

namespace trammel::test {

/// Lets the n-th system call fail, all else reach the disk; on request the file system knows no links. Writes
/// go through in small pieces, so that a disk can also fill half way.
class FailingDisk : public storage::Disk {
  public:
    FailingDisk(int failAt, int code, bool links = true) : left_(failAt), code_(code), links_(links) {}
    int open(const std::filesystem::path& p, int flags, unsigned mode) override {
        return fails("open") ? -1 : Disk::open(p, flags, mode);
    }
    long write(int file, const char* bytes, std::size_t size) override {
        return fails("write") ? -1 : Disk::write(file, bytes, std::min<std::size_t>(size, 100));
    }
    int flush(int file) override { return fails("flush") ? -1 : Disk::flush(file); }
    int close(int file) override {
        const int result = Disk::close(file);  // the handle is gone even when close reports a failure
        return fails("close") ? -1 : result;
    }
    int rename(const std::filesystem::path& from, const std::filesystem::path& to) override {
        return fails("rename") ? -1 : Disk::rename(from, to);
    }
    int link(const std::filesystem::path& from, const std::filesystem::path& to) override {
        if (!links_) return errno = EPERM, -1;
        return fails("link") ? -1 : Disk::link(from, to);
    }
    std::string failed;  ///< the call that failed; empty when none did

  private:
    bool fails(const char* call) {
        if (--left_ != 0) return false;
        failed = call;
        errno = code_;
        return true;
    }
    int left_, code_;
    bool links_;
};

}  // namespace trammel::test
