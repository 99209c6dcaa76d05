// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/storage/SurveyFile.h"

namespace trammel::storage {

Result<survey::Survey> load(const std::filesystem::path& file) {
    const Result<std::string> text = readWhole(file);
    if (!text) return text.error();
    return fromJson(*text, file.filename().string());
}

Result<void> save(const survey::Survey& survey, const std::filesystem::path& file, Disk& disk) {
    return writeWhole(file, toJson(survey), disk);
}

Result<void> save(const survey::Survey& survey, const std::filesystem::path& file) {
    Disk disk;
    return save(survey, file, disk);
}

}  // namespace trammel::storage
