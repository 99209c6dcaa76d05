// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/tasks/OfferWork.h"

#include "core/adjust/Predict.h"
#include "core/photo/Decode.h"

namespace trammel::ui {
namespace {

fit::PhotographProvider photographsOf(const OfferWish& wish) {
    return [&wish](const survey::Station& s) -> Result<photo::LinearImage> {
        auto image = photo::decode(wish.paths.at(s.id).toStdString());
        if (!image) return image.error();
        return photo::linearLuminance(std::move(*image));
    };
}

fit::OfferOptions optionsOf(const OfferWish& wish) {
    fit::OfferOptions options;
    options.refine.scale_px_per_mm = adjust::scalesOf(wish.solution.get());
    return options;
}

}  // namespace

Result<std::vector<fit::Offer>> offerMarks(const OfferWish& wish, const Progress& progress) {
    if (!wish.solution->stations.contains(wish.station))
        return Error{ErrorCode::Refused, "has no camera position yet, so nothing can be expected in it",
                     survey::describe(wish.survey, wish.station), "mark a few features in it, then adjust"};
    const auto predictions = adjust::predict(*wish.solution, wish.survey, wish.station);
    return fit::proposeMarks(wish.survey, wish.station, predictions, photographsOf(wish), optionsOf(wish),
                             &progress);
}

Result<survey::Mark> fitOffer(const OfferWish& wish, const fit::Offer& offer, const fit::Rival& chosen) {
    return fit::takeRival(wish.survey, offer, chosen, photographsOf(wish), optionsOf(wish));
}

}  // namespace trammel::ui
