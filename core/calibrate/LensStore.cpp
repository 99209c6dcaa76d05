// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/calibrate/LensStore.h"

#include <fmt/core.h>

#include <algorithm>
#include <cctype>
#include <cstdint>
#include <cstdlib>
#include <system_error>

#include "core/storage/Disk.h"

namespace trammel::calibrate {

namespace {

constexpr const char* kEnding = ".lens.json";
constexpr std::uintmax_t kLargestFile = 1 << 20;

/// Letters and digits of ASCII in lower case, all else as one hyphen.
std::string plainName(const std::string& words) {
    std::string name;
    for (const unsigned char c : words) {
        if (c < 128 && std::isalnum(c))
            name += static_cast<char>(std::tolower(c));
        else if (!name.empty() && name.back() != '-')
            name += '-';
        if (name.size() >= 40) break;
    }
    while (!name.empty() && name.back() == '-') name.pop_back();
    return name.empty() ? "unknown" : name;
}

/// FNV-1a: keeps the names of different lenses apart that look alike once made plain.
std::uint32_t digest(const std::string& bytes) {
    std::uint32_t h = 2166136261u;
    for (const unsigned char c : bytes) h = (h ^ c) * 16777619u;
    return h;
}

std::string fileName(const LensRecord& r) {
    const std::string key = fmt::format("{}\n{}\n{:.4g}\n{:.4g}\n{}\n{}x{}", r.body, r.lens, r.focal_mm,
                                        r.focus_m, r.date, r.width, r.height);
    return fmt::format("{}-{}-{:.4g}mm-{}-{:08x}{}", plainName(r.body), plainName(r.lens), r.focal_mm,
                       plainName(r.date), digest(key), kEnding);
}

}  // namespace

LensStore::Contents LensStore::all() const {
    Contents found;
    std::error_code code;
    for (std::filesystem::directory_iterator i(folder_, code), end; !code && i != end; i.increment(code)) {
        const std::string name = i->path().filename().string();
        std::error_code own;
        if (!name.ends_with(kEnding) || !i->is_regular_file(own)) continue;
        if (i->file_size(own) > kLargestFile) {
            found.damaged.push_back(
                {ErrorCode::FileDamaged, "it is far larger than a lens file", name, "remove it"});
            continue;
        }
        auto record = loadLens(i->path());
        if (record)
            found.lenses.push_back({i->path(), std::move(*record)});
        else {
            Error error = record.error();
            error.object = name;
            found.damaged.push_back(std::move(error));
        }
    }
    std::sort(found.lenses.begin(), found.lenses.end(), [](const Kept& a, const Kept& b) {
        return a.record.date != b.record.date ? a.record.date > b.record.date : a.file < b.file;
    });
    std::sort(found.damaged.begin(), found.damaged.end(),
              [](const Error& a, const Error& b) { return a.object < b.object; });
    return found;
}

Result<std::filesystem::path> LensStore::keep(const LensRecord& record) const {
    if (folder_.empty())
        return Error{ErrorCode::WriteFailed, "there is no folder to keep lenses in", "lens store",
                     "set HOME, or name a folder"};
    const std::string text = toJson(record);
    if (const auto readable = fromJson(text); !readable) return readable.error();
    std::error_code code;
    std::filesystem::create_directories(folder_, code);
    if (code)
        return Error{ErrorCode::WriteFailed, "the folder cannot be made (" + code.message() + ")",
                     folder_.string(), "name another one"};
    const auto file = folder_ / fileName(record);
    if (const auto written = storage::writeWhole(file, text); !written) return written.error();
    return file;
}

Result<void> LensStore::remove(const std::filesystem::path& file) const {
    if (file.parent_path() != folder_ || !file.filename().string().ends_with(kEnding))
        return Error{ErrorCode::Refused, "is no lens of this store", file.filename().string(),
                     "choose one that is listed"};
    std::error_code code;
    if (!std::filesystem::remove(file, code))
        return Error{ErrorCode::WriteFailed,
                     code ? "cannot be removed (" + code.message() + ")" : "is not there any more",
                     file.filename().string(), "look at the list again"};
    return {};
}

std::filesystem::path lensFolder(const char* xdgDataHome, const char* home) {
    const auto whole = [](const char* path) { return path && path[0] == '/'; };
    if (whole(xdgDataHome)) return std::filesystem::path(xdgDataHome) / "trammel" / "lenses";
    if (whole(home)) return std::filesystem::path(home) / ".local" / "share" / "trammel" / "lenses";
    return {};
}

std::filesystem::path usersLensFolder() {
    return lensFolder(std::getenv("XDG_DATA_HOME"), std::getenv("HOME"));
}

}  // namespace trammel::calibrate
