// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/commands/AdjustedSurvey.h"

#include <fmt/chrono.h>

#include <algorithm>
#include <chrono>
#include <filesystem>

#include "app/commands/Commands.h"
#include "core/adjust/Adjust.h"
#include "core/adjust/Report.h"
#include "core/photo/Decode.h"
#include "core/photo/Exif.h"
#include "core/storage/SurveyFile.h"

namespace trammel::app {
namespace {

namespace fs = std::filesystem;

/// EXIF has "2031:05:17 10:00:00".
std::string dayOf(const std::string& exif) {
    if (exif.size() < 10 || exif[4] != ':' || exif[7] != ':') return "";
    std::string day = exif.substr(0, 10);
    day[4] = day[7] = '-';
    const bool digits =
        std::all_of(day.begin(), day.end(), [](char c) { return c == '-' || (c >= '0' && c <= '9'); });
    return digits && day > "0000-99" ? day : "";
}

std::string dateOf(const survey::Survey& survey, const fs::path& file) {
    std::string latest;
    for (const survey::Station& s : survey.stations)
        if (const auto exif = photo::readExif(file.parent_path() / s.photo.path))
            latest = std::max(latest, dayOf(exif->dateTimeOriginal));
    if (!latest.empty()) return latest;
    std::error_code failed;
    const auto written = fs::last_write_time(file, failed);
    if (failed) return "";
    const auto system = std::chrono::file_clock::to_sys(written);
    return fmt::format("{:%Y-%m-%d}", std::chrono::time_point_cast<std::chrono::seconds>(system));
}

}  // namespace

Result<AdjustedSurvey> adjustedSurvey(const std::string& file, bool marksOnly) {
    AdjustedSurvey a;
    auto survey = storage::load(file);
    if (!survey) return survey.error();
    a.survey = std::move(*survey);
    if (!marksOnly) {
        const auto wrong = storage::checkPhotographs(a.survey, file);
        for (std::size_t i = 0; i + 1 < wrong.size(); ++i) complain(wrong[i]);
        if (!wrong.empty()) return wrong.back();
    }
    auto solution = adjust::adjust(a.survey);
    if (!solution) return solution.error();
    a.solution = std::move(*solution);
    a.agrees = adjust::agrees(a.solution);
    a.date = dateOf(a.survey, file);
    const auto hash = photo::contentHash(file);
    if (!hash) return hash.error();
    a.sha256 = *hash;
    return a;
}

sheet::Paper paperNamed(const std::string& name) {
    for (const sheet::Paper& p : sheet::kPapers)
        if (name == p.name) return p;
    return sheet::kA4;
}

int verdict(bool agrees) {
    if (agrees) return kGood;
    fmt::print(stderr,
               "The survey disagrees with itself, so do not cut from these files yet; trammel adjust names "
               "the readings and marks most likely at fault.\n");
    return kDisagrees;
}

}  // namespace trammel::app
