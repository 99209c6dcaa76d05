// SPDX-License-Identifier: GPL-3.0-or-later
#include "FitPhotographs.h"

#include "core/adjust/Retract.h"
#include "core/fit/RefineSurvey.h"
#include "core/guide/SecondLook.h"
#include "core/photo/Decode.h"

namespace trammel::campaign {

Result<FittedSurvey> fitToPhotographs(const survey::Survey& byHand, const std::filesystem::path& folder) {
    const auto provider = [&](const survey::Station& station) -> Result<photo::LinearImage> {
        auto image = photo::decode(folder / station.photo.path);
        if (!image) return image.error();
        return photo::linearLuminance(std::move(*image));
    };
    const fit::RefineResult r = fit::refine(byHand, provider);
    if (!r.photographs.empty()) return r.photographs.front();
    FittedSurvey out{byHand, r.tried, r.fitted};
    if (const auto applied = survey::apply(out.survey, r.edit); !applied) return applied.error();
    out.fitted -= static_cast<int>(adjust::retractDisagreeing(out.survey, byHand).size());
    out.fitted += static_cast<int>(guide::lookAgain(out.survey, byHand, provider).size());
    return out;
}

}  // namespace trammel::campaign
