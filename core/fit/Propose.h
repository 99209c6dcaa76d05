// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/fit/RefineSurvey.h"
#include "core/survey/Prediction.h"

namespace trammel::fit {

/// How far an offer may be trusted.
enum class Standing {
    Sure,    ///< one edge, where it was expected, and nothing else may be meant
    Unsure,  ///< an edge, or several: the user must say
    None,    ///< nothing was found; `why` says it
};

/// A mark that the program offers: where a known feature is seen in a photograph in which it is not marked
/// yet. It becomes part of the survey only when it is taken.
struct Offer {
    survey::Prediction expected;
    Standing standing = Standing::None;
    survey::Mark mark;               ///< without an id; its points are empty where none could be fitted
    std::string why;                 ///< a sentence unless sure
    std::vector<Rival> rivals;       ///< to choose from where a fit was refused between them
    std::vector<survey::Id> others;  ///< features that may be the one seen there instead
    double chance = 1.0;             ///< that a right offer misses its prediction by as much
};

struct OfferOptions {
    /// What a prediction cannot know (transitions, a part that is not quite as its features say; k = 1, px):
    /// much where an edge is looked for or another one might be meant, little where the place found is held
    /// against the prediction.
    double leastDoubt_px = 0.5, leastMiss_px = 0.07;
    double mostDoubt_px = 3.5;  ///< σ of a prediction beyond which edges near by cannot be told apart
    double sureDoubt_px = 2.0;  ///< σ of a prediction beyond which no offer is sure
    double mostSigma_px = 1.0;  ///< of a mark offered as sure: a hand does hardly worse
    double leastChance = 0.001;
    RefineOptions refine{};  ///< points along an edge, doubts, scales; its marks are ignored
};

/// Looks for the predicted features that the survey has no mark of in this photograph. `predictions` are
/// those of all features that can be seen in it, marked ones too: they may be what is found instead. Offers
/// are fitted with the σ that a hand mark would get, and are unsure where two edges rival each other within
/// the doubt of the prediction, where the place found misses it by more than chance allows (the joint 99.9
/// %), where another feature is expected at the place found, or where two offers land on one edge of the
/// picture. Error when the photograph cannot be had; Cancelled.
Result<std::vector<Offer>> proposeMarks(const survey::Survey& survey, const survey::Id& station,
                                        const std::vector<survey::Prediction>& predictions,
                                        const PhotographProvider& photographs,
                                        const OfferOptions& options = {}, const Progress* progress = nullptr);

/// The offer fitted to the rival that the user chose.
Result<survey::Mark> takeRival(const survey::Survey& survey, const Offer& offer, const Rival& chosen,
                               const PhotographProvider& photographs, const OfferOptions& options = {});

}  // namespace trammel::fit
