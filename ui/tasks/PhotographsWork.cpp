// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/tasks/PhotographsWork.h"

#include <algorithm>
#include <cctype>

#include "core/photo/Decode.h"
#include "core/photo/Remarks.h"
#include "core/storage/ImportPhotograph.h"

namespace trammel::ui {
namespace {

survey::View guessView(const std::filesystem::path& file) {
    std::string stem = file.stem().string();
    std::ranges::transform(stem, stem.begin(), [](unsigned char c) { return std::tolower(c); });
    for (const char* name : {"oblique", "bottom", "front", "rear", "left", "right", "top"})
        if (stem.find(name) != std::string::npos) return *survey::viewFromName(name);
    return survey::View::Top;
}

}  // namespace

PhotographsRead readPhotographs(const survey::Survey& survey, const std::filesystem::path& surveyFile,
                                const std::vector<std::filesystem::path>& files, const Progress& progress) {
    PhotographsRead result;
    survey::Survey copy = survey;  // grows with each photograph, so that ids and cameras are found again
    std::vector<photo::Named> named;
    int added = 0;
    for (std::size_t i = 0; i < files.size() && !progress.cancelled(); ++i) {
        progress.report(static_cast<double>(i) / static_cast<double>(files.size()));
        const auto one = storage::importPhotograph(copy, surveyFile, files[i], guessView(files[i]));
        if (!one) {
            result.problems.push_back(one.error());
            continue;
        }
        if (const auto applied = survey::apply(copy, one->edit); !applied) {
            result.problems.push_back(applied.error());
            continue;
        }
        if (const auto exif = photo::readExif(files[i]))
            if (const auto size = photo::storedSize(files[i]))
                named.push_back({files[i].filename().string(), *exif, size->width, size->height});
        ++added;
        result.edit.changes.insert(result.edit.changes.end(), one->edit.changes.begin(),
                                   one->edit.changes.end());
        for (const auto& note : one->notes)
            if (std::ranges::find(result.notes, note) == result.notes.end()) result.notes.push_back(note);
    }
    for (auto& remark : photo::remarksOnGroup(named)) result.notes.push_back(std::move(remark.sentence));
    result.edit.name = added == 1 ? "Add a photograph" : "Add " + std::to_string(added) + " photographs";
    return result;
}

}  // namespace trammel::ui
