// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/storage/PageFile.h"

#include <algorithm>
#include <filesystem>
#include <utility>

#include "core/sheet/WriteSheet.h"
#include "core/storage/Disk.h"
#include "core/storage/FileSet.h"

namespace trammel::storage {
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
    const auto bytes = endingOf(file) == ".svg" ? sheet::svg(page) : sheet::pdf({page}, title);
    if (!bytes) return bytes.error();
    return writeWhole(file, *bytes);
}

Result<std::vector<std::filesystem::path>> writePages(const std::vector<sheet::Sheet>& pages,
                                                      const std::string& title, const std::string& file) {
    std::vector<std::pair<std::filesystem::path, std::string>> files;
    const std::filesystem::path place(file);
    if (endingOf(file) == ".pdf") {
        auto bytes = sheet::pdf(pages, title);
        if (!bytes) return bytes.error();
        files.emplace_back(place, std::move(*bytes));
    } else {
        for (std::size_t i = 0; i < pages.size(); ++i) {
            auto bytes = sheet::svg(pages[i]);
            if (!bytes) return bytes.error();
            std::filesystem::path name = place;
            if (i > 0)
                name.replace_filename(place.stem().string() + "-" + std::to_string(i + 1) +
                                      place.extension().string());
            files.emplace_back(name, std::move(*bytes));
        }
    }
    FileSet set;
    std::vector<std::filesystem::path> written;
    for (const auto& [name, bytes] : files) {
        if (const auto staged = set.stage(name, bytes); !staged) return staged.error();
        written.push_back(name);
    }
    if (const auto done = set.commit(); !done) return done.error();
    return written;
}

}  // namespace trammel::storage
