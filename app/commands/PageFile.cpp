// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/commands/PageFile.h"

#include <algorithm>
#include <filesystem>

#include "core/sheet/WriteSheet.h"
#include "core/storage/Disk.h"

namespace trammel::app {
namespace {

std::string endingOf(const std::string& file) {
    std::string ending = std::filesystem::path(file).extension().string();
    std::transform(ending.begin(), ending.end(), ending.begin(),
                   [](char c) { return static_cast<char>(c >= 'A' && c <= 'Z' ? c + 32 : c); });
    return ending;
}

}  // namespace

Result<void> checkPageName(const std::string& file) {
    const std::string ending = endingOf(file);
    if (ending == ".pdf" || ending == ".svg") return {};
    return Error{ErrorCode::BadValue, "ends neither in .pdf nor in .svg", file, "choose one of them"};
}

Result<void> writePage(const sheet::Sheet& page, const std::string& title, const std::string& file) {
    const auto bytes = endingOf(file) == ".pdf" ? sheet::pdf({page}, title) : sheet::svg(page);
    if (!bytes) return bytes.error();
    return storage::writeWhole(file, *bytes);
}

}  // namespace trammel::app
