// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/handover/AtomicFile.h"

#include <fcntl.h>
#include <unistd.h>

#include <cerrno>
#include <cstdio>
#include <cstring>
#include <string>

namespace trammel::handover {
namespace {

Error failure(const std::filesystem::path& file, int code) {
    return {ErrorCode::WriteFailed, std::string("cannot be written (") + std::strerror(code) + ")",
            file.string(), "free space or choose another folder; an older file there is unchanged"};
}

bool writeAll(int fd, std::string_view bytes) {
    while (!bytes.empty()) {
        const ssize_t n = ::write(fd, bytes.data(), bytes.size());
        if (n < 0 && errno == EINTR) continue;
        if (n <= 0) return false;
        bytes.remove_prefix(static_cast<std::size_t>(n));
    }
    return true;
}

}  // namespace

Result<void> writeFile(const std::filesystem::path& file, std::string_view bytes) {
    const std::string target = file.string(), part = target + "." + std::to_string(::getpid()) + ".part";
    const int fd = ::open(part.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0666);
    if (fd < 0) return failure(file, errno);
    int code = 0;
    if (!writeAll(fd, bytes) || ::fsync(fd) != 0) code = errno ? errno : EIO;
    if (::close(fd) != 0 && code == 0) code = errno;
    if (code == 0 && std::rename(part.c_str(), target.c_str()) != 0) code = errno;
    if (code == 0) return {};
    ::unlink(part.c_str());
    return failure(file, code);
}

}  // namespace trammel::handover
