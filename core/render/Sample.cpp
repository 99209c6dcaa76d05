// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/render/Sample.h"

#include <cmath>

#include "core/photo/Decode.h"
#include "core/storage/SurveyFile.h"

namespace trammel::render {
namespace {

/// As a display shows it: calipers and depth rods to 0.01 mm, a tape to 1 mm.
void roundAsRead(survey::Reading& r) {
    if (r.quantity == survey::Quantity::Angle) return;
    const double steps = r.quantity == survey::Quantity::Tape ? 1.0 : 100.0;
    r.measured.value = std::round(r.measured.value * steps) / steps;
}

}  // namespace

Result<void> writeSurvey(const Scene& scene, const std::filesystem::path& file,
                         const ObserveOptions& options) {
    survey::Survey survey = observe(scene, options);
    for (survey::Reading& r : survey.readings) roundAsRead(r);
    for (survey::Station& station : survey.stations) {
        const auto hash = photo::contentHash(file.parent_path() / station.photo.path);
        if (!hash) return hash.error();
        station.photo.sha256 = *hash;
    }
    return storage::save(survey, file);
}

}  // namespace trammel::render
