// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/tasks/LensWork.h"

#include <set>
#include <variant>

#include "core/photo/Exif.h"

namespace trammel::ui {
namespace {

constexpr double kCalibratedBelow = 0.05;  // relative σ of c: EXIF alone gives 10 %

bool calibrated(const survey::CameraGroup& g) {
    const auto& c = g.principalDistance;
    return c.mode == survey::ConstantMode::Fixed ||
           (c.mode == survey::ConstantMode::Prior && c.sigma < kCalibratedBelow * c.value);
}

}  // namespace

std::vector<LensFound> keptLensesFor(const survey::Survey& survey, const survey::Edit& edit,
                                     const std::filesystem::path& photoFolder,
                                     const calibrate::LensStore& store) {
    std::vector<LensFound> found;
    const auto contents = store.all();
    if (contents.lenses.empty()) return found;
    std::set<survey::Id> asked;
    for (const auto& change : edit.changes) {
        const auto* put = std::get_if<survey::Put<survey::Station>>(&change);
        if (!put || !asked.insert(put->object.group).second) continue;
        const auto* group = survey::find(survey.groups, put->object.group);
        if (!group || calibrated(*group)) continue;
        const auto exif = photo::readExif(photoFolder / put->object.photo.path);
        const double focus_m = exif ? exif->subjectDistance_m.value_or(0.0) : 0.0;
        auto matches = calibrate::matching(contents, calibrate::lensOf(survey, group->id, focus_m));
        if (!matches.empty()) found.push_back({group->id, std::move(matches.front())});
    }
    return found;
}

}  // namespace trammel::ui
