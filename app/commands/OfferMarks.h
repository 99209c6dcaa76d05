// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

#include "core/fit/Propose.h"

namespace trammel::app {

/// What became of the offers in all photographs of a survey.
struct Offered {
    std::vector<fit::Offer> offers;  ///< of all photographs, in their order
    std::vector<survey::Id>
        taken;  ///< ids of the marks that were added, for offers in their order; empty: not
};

/// Adjusts the survey, offers marks in every photograph, adds those that are sure, and takes out again what
/// then disagrees with the rest. Fails when the survey cannot be adjusted or a photograph cannot be had.
Result<Offered> addSureMarks(survey::Survey& survey, const fit::PhotographProvider& photographs);

/// A sentence for the count and a line for each offer.
std::string offersText(const survey::Survey& survey, const Offered& offered);
nlohmann::json offersJson(const survey::Survey& survey, const Offered& offered);
nlohmann::json rivalsJson(const std::vector<fit::Rival>& rivals);

}  // namespace trammel::app
