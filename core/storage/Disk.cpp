// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/storage/Disk.h"

#include <fcntl.h>
#include <fmt/core.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <cerrno>
#include <cstdio>
#include <cstring>

#include "core/storage/DiskSteps.h"

namespace trammel::storage {

int Disk::open(const std::filesystem::path& path, int flags, unsigned mode) {
    return ::open(path.c_str(), flags, static_cast<mode_t>(mode));
}
long Disk::write(int file, const char* bytes, std::size_t size) { return ::write(file, bytes, size); }
int Disk::flush(int file) { return ::fsync(file); }
int Disk::close(int file) { return ::close(file); }
int Disk::rename(const std::filesystem::path& from, const std::filesystem::path& to) {
    return ::rename(from.c_str(), to.c_str());
}
int Disk::link(const std::filesystem::path& from, const std::filesystem::path& to) {
    return ::link(from.c_str(), to.c_str());
}
int Disk::remove(const std::filesystem::path& path) { return ::unlink(path.c_str()); }

Error writeError(const std::filesystem::path& file, int code) {
    Error e{ErrorCode::WriteFailed, "", file.filename().string(), ""};
    switch (code) {
        case ENOSPC:
        case EDQUOT:
            e.what = "the disk is full, so it was not saved";
            e.remedy = "free some space and save again; the file on disk is as it was before";
            break;
        case EACCES:
        case EPERM:
        case EROFS:
            e.what = fmt::format("the folder {} may not be written to", file.parent_path().string());
            e.remedy = "choose another folder or change its permissions";
            break;
        case ENOENT:
        case ENOTDIR:
            e.what = fmt::format("the folder {} does not exist", file.parent_path().string());
            e.remedy = "create it or choose another";
            break;
        default:
            e.what = fmt::format("it could not be saved ({})", std::strerror(code));
            e.remedy = "save to another place; the file on disk is as it was before";
    }
    return e;
}

namespace {

/// The whole of the bytes, though the system may take them in pieces. 0, or errno.
int writeAll(Disk& disk, int file, std::string_view bytes) {
    while (!bytes.empty()) {
        const long n = disk.write(file, bytes.data(), bytes.size());
        if (n < 0 && errno == EINTR) continue;
        if (n < 0) return errno;
        if (n == 0) return ENOSPC;  // a write that takes nothing would be tried for ever
        bytes.remove_prefix(static_cast<std::size_t>(n));
    }
    return 0;
}

}  // namespace

int fillNeighbour(Disk& disk, const std::filesystem::path& neighbour, std::string_view bytes,
                  const std::filesystem::path& file) {
    const int handle = disk.open(neighbour, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    if (handle < 0) return errno;
    int code = writeAll(disk, handle, bytes);
    if (code == 0 && disk.flush(handle) != 0) code = errno;
    if (disk.close(handle) != 0 && code == 0) code = errno;  // some systems report a full disk only here
    struct stat old {};
    if (code == 0 && ::stat(file.c_str(), &old) == 0) ::chmod(neighbour.c_str(), old.st_mode & 07777);
    if (code != 0) disk.remove(neighbour);
    return code;
}

int flushFolder(Disk& disk, const std::filesystem::path& folder) {
    const int file = disk.open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC, 0);
    if (file < 0) return errno;
    int code = disk.flush(file) == 0 ? 0 : errno;
    if (code == EINVAL || code == ENOTSUP) code = 0;  // file systems that cannot flush a folder
    disk.close(file);
    return code;
}

std::filesystem::path neighbourOf(const std::filesystem::path& file) {
    static std::atomic<int> serial{0};
    return file.parent_path() / fmt::format(".{}.{}-{}", file.filename().string(), ::getpid(), ++serial);
}

Result<std::filesystem::path> placeOf(const std::filesystem::path& name) {
    std::error_code ignored;
    if (name.empty())
        return Error{ErrorCode::WriteFailed, "has no name, so nothing can be saved", "file",
                     "give it a name"};
    std::filesystem::path file = std::filesystem::absolute(name, ignored);
    if (!ignored) file = std::filesystem::weakly_canonical(file, ignored);
    if (ignored) file = name;
    if (std::filesystem::is_directory(file, ignored))
        return Error{ErrorCode::WriteFailed, "is a folder, so nothing can be saved under this name",
                     file.filename().string(), "choose another name"};
    return file;
}

Result<void> writeWhole(const std::filesystem::path& name, std::string_view bytes, Disk& disk) {
    const auto place = placeOf(name);
    if (!place) return place.error();
    const std::filesystem::path neighbour = neighbourOf(*place);
    if (int code = fillNeighbour(disk, neighbour, bytes, *place)) return writeError(*place, code);
    if (disk.rename(neighbour, *place) != 0) {
        const int code = errno;
        disk.remove(neighbour);
        return writeError(*place, code);
    }
    if (int code = flushFolder(disk, place->parent_path()))
        return Error{ErrorCode::WriteFailed,
                     fmt::format("it was saved, but the disk did not confirm it ({})", std::strerror(code)),
                     place->filename().string(), "save a copy on another disk"};
    return {};
}

Result<void> writeWhole(const std::filesystem::path& file, std::string_view bytes) {
    Disk disk;
    return writeWhole(file, bytes, disk);
}

Result<std::string> readWhole(const std::filesystem::path& file) {
    const std::string name = file.filename().string();
    std::error_code code;
    if (std::filesystem::is_directory(file, code))
        return Error{ErrorCode::FileMissing, "is a folder, not a file", file.string(),
                     "name the file inside it"};
    std::FILE* f = std::fopen(file.c_str(), "rb");
    if (!f)
        return Error{ErrorCode::FileMissing, fmt::format("cannot be opened ({})", std::strerror(errno)),
                     file.string(), "check the name and the permissions"};
    std::string bytes;
    char piece[65536];
    std::size_t n = 0;
    while ((n = std::fread(piece, 1, sizeof piece, f)) > 0) bytes.append(piece, n);
    const bool failed = std::ferror(f) != 0;
    std::fclose(f);
    if (failed) return Error{ErrorCode::FileDamaged, "cannot be read to its end", name, "check the disk"};
    return bytes;
}

}  // namespace trammel::storage
