// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QString>
#include <map>
#include <memory>

#include "core/adjust/Solution.h"
#include "core/base/Progress.h"
#include "core/fit/Propose.h"

namespace trammel::ui {

/// What marks are to be offered from: the survey as it is, and its last adjustment.
struct OfferWish {
    survey::Survey survey;
    survey::Id station;
    std::shared_ptr<const adjust::Solution> solution;
    std::map<survey::Id, QString> paths;  ///< the photograph of each station
};

/// Looks in one photograph for the features that are not marked in it. Runs on a worker.
Result<std::vector<fit::Offer>> offerMarks(const OfferWish& wish, const Progress& progress);

/// Fits an offer to the edge that the user chose. Runs on a worker.
Result<survey::Mark> fitOffer(const OfferWish& wish, const fit::Offer& offer, const fit::Rival& chosen);

}  // namespace trammel::ui
