// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/storage/FileSet.h"

#include <fmt/core.h>

#include <cerrno>
#include <cstring>
#include <set>

#include "core/storage/DiskSteps.h"

namespace trammel::storage {
namespace {

Disk& realDisk() {
    static Disk disk;
    return disk;
}

}  // namespace

FileSet::FileSet() : disk_(realDisk()) {}

Result<std::filesystem::path> FileSet::stage(const std::filesystem::path& file, std::string_view bytes) {
    const auto place = placeOf(file);
    if (!place) return place.error();
    for (const Staged& s : staged_)
        if (s.place == *place)
            return Error{ErrorCode::WriteFailed, "would be written twice", place->filename().string(),
                         "give the files different names"};
    Staged s{*place, neighbourOf(*place), {}, false};
    if (int code = fillNeighbour(disk_, s.neighbour, bytes, s.place)) return writeError(s.place, code);
    staged_.push_back(s);
    return s.neighbour;
}

/// 0, or errno. Where the file system knows no links the old file is moved aside instead.
int FileSet::keepOld(Staged& s) {
    std::error_code ignored;
    if (!std::filesystem::exists(s.place, ignored)) return 0;
    const std::filesystem::path kept = neighbourOf(s.place);
    if (disk_.link(s.place, kept) != 0 && disk_.rename(s.place, kept) != 0) return errno;
    s.kept = kept;
    return 0;
}

void FileSet::putBack() {
    for (auto s = staged_.rbegin(); s != staged_.rend(); ++s) {
        // A link renamed over itself does nothing (POSIX), so the second name is taken away as well.
        if (!s->kept.empty() && disk_.rename(s->kept, s->place) == 0)
            disk_.remove(s->kept);
        else if (s->kept.empty() && s->moved)
            disk_.remove(s->place);
    }
}

Result<void> FileSet::commit() {
    for (Staged& s : staged_) {
        int code = keepOld(s);
        if (code == 0 && disk_.rename(s.neighbour, s.place) != 0) code = errno;
        if (code == 0) {
            s.moved = true;
            continue;
        }
        const Error error = writeError(s.place, code);
        putBack();
        discard();
        return error;
    }
    std::set<std::filesystem::path> folders;
    for (const Staged& s : staged_) {
        if (!s.kept.empty()) disk_.remove(s.kept);
        folders.insert(s.place.parent_path());
    }
    staged_.clear();
    for (const auto& folder : folders)
        if (int code = flushFolder(disk_, folder))
            return Error{ErrorCode::WriteFailed,
                         fmt::format("the files were saved, but the disk did not confirm it ({})",
                                     std::strerror(code)),
                         folder.string(), "save a copy on another disk"};
    return {};
}

void FileSet::discard() {
    for (const Staged& s : staged_)
        if (!s.moved) disk_.remove(s.neighbour);
    staged_.clear();
}

}  // namespace trammel::storage
