// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <filesystem>
#include <string_view>
#include <vector>

#include "core/base/Result.h"
#include "core/storage/Disk.h"

namespace trammel::storage {

/// Several files that belong together, put under their names all or none.
///
///     FileSet set;
///     auto lies = set.stage("part.dxf", bytes);  // written, not yet under its name: can be read back
///     set.stage("part.csv", more);
///     set.commit();  // now both, or neither
///
/// stage() writes and flushes each file beside its place. commit() keeps a second link to every old file,
/// renames all new ones over them and, when one of these renames fails, puts the old ones back. What was not
/// committed is gone with the set. A power cut in the midst of commit() may leave some files new and some
/// old; each is whole.
class FileSet {
  public:
    FileSet();  ///< the real disk
    explicit FileSet(Disk& disk) : disk_(disk) {}
    ~FileSet() { discard(); }
    FileSet(const FileSet&) = delete;
    FileSet& operator=(const FileSet&) = delete;

    /// Where the bytes lie until commit(). WriteFailed: the set holds what it held before.
    Result<std::filesystem::path> stage(const std::filesystem::path& file, std::string_view bytes);
    /// WriteFailed: every file is as it was before (or, where the sentence says that the disk did not confirm
    /// it, as it should be).
    Result<void> commit();
    /// Takes away what was staged.
    void discard();

  private:
    struct Staged {
        std::filesystem::path place, neighbour, kept;  ///< kept: the old file's second name; empty: none
        bool moved = false;
    };
    int keepOld(Staged& s);
    void putBack();
    Disk& disk_;
    std::vector<Staged> staged_;
};

}  // namespace trammel::storage
