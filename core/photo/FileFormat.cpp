// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/photo/FileFormat.h"

#include <fmt/core.h>

#include <array>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <memory>
#include <string_view>

#include "core/photo/TiffFile.h"

namespace trammel::photo {
namespace {

using namespace std::string_view_literals;

bool isHeic(std::string_view head) {
    if (head.substr(4, 4) != "ftyp") return false;
    const std::string_view brand = head.substr(8, 4);
    for (const auto known : {"heic"sv, "heix"sv, "heim"sv, "heis"sv, "hevc"sv, "hevx"sv, "mif1"sv, "msf1"sv})
        if (brand == known) return true;
    return false;
}

/// Makers' raw files that do not begin as a TIFF. From memory of what such files hold; LibRaw decides.
bool isOtherRaw(std::string_view head) {
    return head.substr(4, 8) == "ftypcrx "sv || head.starts_with("FUJIFILM") || head.starts_with("IIRO"sv) ||
           head.starts_with("IIRS"sv) || head.starts_with("MMOR"sv) || head.starts_with("IIU\0"sv) ||
           head.starts_with("\0MRM"sv) || head.starts_with("FOVb"sv) || head.substr(6, 8) == "HEAPCCDR"sv;
}

bool isTiff(std::string_view head) {
    return head.starts_with("II*\0"sv) || head.starts_with("MM\0*"sv) || head.starts_with("II+\0"sv) ||
           head.starts_with("MM\0+"sv);
}

}  // namespace

Result<FileFormat> formatOf(const std::filesystem::path& file) {
    std::error_code code;
    if (std::filesystem::is_directory(file, code))
        return Error{ErrorCode::FileMissing, "is a folder, not a photograph", file.string(),
                     "name a file inside it"};
    const std::unique_ptr<std::FILE, int (*)(std::FILE*)> f(std::fopen(file.c_str(), "rb"), &std::fclose);
    if (!f)
        return Error{ErrorCode::FileMissing, fmt::format("cannot be opened ({})", std::strerror(errno)),
                     file.string(), "check the name and the permissions"};
    std::array<char, 16> bytes{};
    const std::size_t n = std::fread(bytes.data(), 1, bytes.size(), f.get());
    if (n == 0)
        return Error{ErrorCode::FileDamaged, "the file is empty", file.string(),
                     "copy it from the camera again"};
    const std::string_view head(bytes.data(), bytes.size());
    if (head.starts_with("\xff\xd8"sv)) return FileFormat::Jpeg;
    if (head.starts_with("\x89PNG"sv)) return FileFormat::Png;
    if (isHeic(head)) return FileFormat::Heic;
    if (isOtherRaw(head)) return FileFormat::Raw;
    if (isTiff(head)) return holdsMosaic(file) ? FileFormat::Raw : FileFormat::Tiff;
    return Error{ErrorCode::FileDamaged, "is no photograph of a kind that is read here", file.string(),
                 "choose a JPEG, PNG, TIFF, HEIC or camera raw file"};
}

const char* formatName(FileFormat format) {
    switch (format) {
        case FileFormat::Jpeg:
            return "JPEG";
        case FileFormat::Png:
            return "PNG";
        case FileFormat::Tiff:
            return "TIFF";
        case FileFormat::Heic:
            return "HEIC";
        default:
            return "camera raw";
    }
}

Result<void> checkClaim(const Header& h, const std::filesystem::path& file) {
    if (h.width < 1 || h.height < 1)
        return Error{ErrorCode::FileDamaged,
                     fmt::format("its header claims {} × {} px, which is no picture", h.width, h.height),
                     file.string(), "copy it from the camera again"};
    if (static_cast<double>(h.width) * h.height > kMostPixels)
        return refused(
            file,
            fmt::format("its header claims {} × {} px, more than the {:g} megapixels that can be worked on",
                        h.width, h.height, kMostPixels / 1e6),
            "use a photograph straight from a camera");
    std::error_code code;
    const std::uintmax_t size = std::filesystem::file_size(file, code);
    if (!code && static_cast<double>(size) < h.leastBytes - 1.0)
        return Error{ErrorCode::FileDamaged,
                     fmt::format("its header claims {} × {} px, but the file holds only {} bytes", h.width,
                                 h.height, size),
                     file.string(), "copy it from the camera again"};
    return {};
}

Error damaged(const std::filesystem::path& file) {
    return {ErrorCode::FileDamaged, "the photograph is damaged", file.string(),
            "copy it from the camera again"};
}

Error truncated(const std::filesystem::path& file) {
    return {ErrorCode::FileDamaged, "the photograph is truncated", file.string(),
            "copy it from the camera again"};
}

Error refused(const std::filesystem::path& file, std::string what, std::string remedy) {
    return {ErrorCode::Refused, std::move(what), file.string(), std::move(remedy)};
}

}  // namespace trammel::photo
