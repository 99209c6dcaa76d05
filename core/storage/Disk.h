// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <cstddef>
#include <filesystem>
#include <string_view>

#include "core/base/Result.h"

namespace trammel::storage {

/// The few system calls that a save makes, so that a test can let any one of them fail.
/// Each returns what the call of its name returns (POSIX): -1 and errno on failure.
class Disk {
  public:
    virtual ~Disk() = default;
    virtual int open(const std::filesystem::path& path, int flags, unsigned mode);
    virtual long write(int file, const char* bytes, std::size_t size);
    virtual int flush(int file);  ///< fsync
    virtual int close(int file);
    virtual int rename(const std::filesystem::path& from, const std::filesystem::path& to);
    virtual int link(const std::filesystem::path& from, const std::filesystem::path& to);
    virtual int remove(const std::filesystem::path& path);  ///< unlink
};

/// Puts bytes under this name, all or none: written to a neighbour file, flushed, renamed over the old file,
/// folder flushed. On failure the neighbour is gone and the file under this name is whole: the old one, or,
/// when only the last flush of the folder failed, the new one. Keeps the old file's permissions; follows a
/// symbolic link.
Result<void> writeWhole(const std::filesystem::path& file, std::string_view bytes, Disk& disk);
Result<void> writeWhole(const std::filesystem::path& file, std::string_view bytes);

/// All bytes of a file. FileMissing when it cannot be opened, FileDamaged when reading fails.
Result<std::string> readWhole(const std::filesystem::path& file);

}  // namespace trammel::storage
