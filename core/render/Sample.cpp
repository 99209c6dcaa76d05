// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/render/Sample.h"

#include "core/photo/Decode.h"
#include "core/storage/SurveyFile.h"

namespace trammel::render {

Result<void> writeSurvey(const Scene& scene, const std::filesystem::path& file,
                         const ObserveOptions& options) {
    survey::Survey survey = observe(scene, options);
    for (survey::Station& station : survey.stations) {
        const auto hash = photo::contentHash(file.parent_path() / station.photo.path);
        if (!hash) return hash.error();
        station.photo.sha256 = *hash;
    }
    return storage::save(survey, file);
}

}  // namespace trammel::render
