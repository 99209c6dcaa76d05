// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/core.h>
#include <openssl/evp.h>

#include <array>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <memory>

#include "core/photo/Decode.h"

namespace trammel::photo {

Result<std::string> contentHash(const std::filesystem::path& file) {
    const std::unique_ptr<std::FILE, int (*)(std::FILE*)> f(std::fopen(file.c_str(), "rb"), &std::fclose);
    if (!f)
        return Error{ErrorCode::FileMissing, fmt::format("cannot be opened ({})", std::strerror(errno)),
                     file.string(), "check the name and the permissions"};
    const std::unique_ptr<EVP_MD_CTX, void (*)(EVP_MD_CTX*)> context(EVP_MD_CTX_new(), &EVP_MD_CTX_free);
    std::array<unsigned char, EVP_MAX_MD_SIZE> digest{};
    unsigned int size = 0;
    bool ok = context && EVP_DigestInit_ex(context.get(), EVP_sha256(), nullptr) == 1;
    std::array<char, 1 << 16> piece;
    std::size_t n = 0;
    while (ok && (n = std::fread(piece.data(), 1, piece.size(), f.get())) > 0)
        ok = EVP_DigestUpdate(context.get(), piece.data(), n) == 1;
    if (std::ferror(f.get()))
        return Error{ErrorCode::FileDamaged, "cannot be read to its end", file.string(), "copy it again"};
    if (!ok || EVP_DigestFinal_ex(context.get(), digest.data(), &size) != 1)
        return Error{ErrorCode::Refused, "its content hash could not be computed", file.string(),
                     "check the installation of OpenSSL"};
    std::string hex;
    for (unsigned int i = 0; i < size; ++i) hex += fmt::format("{:02x}", digest[i]);
    return hex;
}

}  // namespace trammel::photo
