// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/commands/OfferMarks.h"

#include <fmt/core.h>

#include <algorithm>
#include <nlohmann/json.hpp>
#include <set>

#include "core/adjust/Adjust.h"
#include "core/adjust/Predict.h"
#include "core/adjust/Solution.h"
#include "core/survey/Edit.h"

namespace trammel::app {
namespace {

using survey::Id;
using survey::Survey;

std::string photographOf(const Survey& survey, const fit::Offer& offer) {
    const survey::Station* station = survey::find(survey.stations, offer.expected.station);
    return station ? station->name : offer.expected.station;
}

const char* word(fit::Standing standing) {
    switch (standing) {
        case fit::Standing::Sure:
            return "sure";
        case fit::Standing::Unsure:
            return "unsure";
        case fit::Standing::None:
            break;
    }
    return "none";
}

std::set<Id> accusedIn(const adjust::Solution& solution) {
    std::set<Id> out;
    for (const adjust::Suspect& s : solution.suspects) out.insert(s.object);
    return out;
}

/// Takes out what is accused, and what came with marks that nobody accused before: a wrong offer may look
/// better than the hand's own mark of its feature. With the worst gone, smaller ones come to light.
void withdraw(Survey& survey, const std::set<Id>& before, Offered& offered) {
    for (bool any = true; any;) {
        any = false;
        const auto solution = adjust::adjust(survey);
        std::set<Id> accused, features;
        if (solution) accused = accusedIn(*solution);
        for (const survey::Mark& m : survey.marks)
            if (accused.contains(m.id) && !before.contains(m.id)) features.insert(m.feature);
        for (std::size_t i = 0; i < offered.offers.size(); ++i) {
            const Id id = offered.taken[i];
            if (id.empty()) continue;
            if (solution && !accused.contains(id) && !features.contains(offered.offers[i].expected.feature))
                continue;
            std::erase_if(survey.marks, [&](const survey::Mark& m) { return m.id == id; });
            offered.taken[i].clear();
            offered.offers[i].standing = fit::Standing::Unsure;
            offered.offers[i].why = "the edge found does not agree with the other photographs.";
            any = true;
        }
    }
}

}  // namespace

Result<Offered> addSureMarks(Survey& survey, const fit::PhotographProvider& photographs) {
    const auto solution = adjust::adjust(survey);
    if (!solution) return solution.error();
    fit::OfferOptions options;
    options.refine.scale_px_per_mm = adjust::scalesOf(&*solution);
    Offered out;
    for (const survey::Station& station : survey.stations) {
        if (station.excluded) continue;
        const auto predictions = adjust::predict(*solution, survey, station.id);
        auto offers = fit::proposeMarks(survey, station.id, predictions, photographs, options);
        if (!offers) return offers.error();
        for (fit::Offer& offer : *offers) out.offers.push_back(std::move(offer));
    }
    for (const fit::Offer& offer : out.offers) {
        out.taken.emplace_back();
        if (offer.standing != fit::Standing::Sure) continue;
        survey::Mark mark = offer.mark;
        mark.id = survey::freshId(survey, 'M');
        const auto done = survey::apply(survey, {"take an offered mark", {survey::Put<survey::Mark>{mark}}});
        if (!done) return done.error();
        out.taken.back() = mark.id;
    }
    withdraw(survey, accusedIn(*solution), out);
    return out;
}

std::string offersText(const Survey& survey, const Offered& offered) {
    const auto taken =
        std::count_if(offered.taken.begin(), offered.taken.end(), [](const Id& id) { return !id.empty(); });
    std::string out =
        fmt::format("{} of {} marks offered are sure and were added.\n", taken, offered.offers.size());
    for (std::size_t i = 0; i < offered.offers.size(); ++i) {
        const fit::Offer& o = offered.offers[i];
        const std::string what = survey::describe(survey, o.expected.feature),
                          where = photographOf(survey, o);
        out += offered.taken[i].empty()
                   ? fmt::format("  {} in photograph {} ({}): {}\n", what, where, word(o.standing), o.why)
                   : fmt::format("  {} in photograph {}: added as {}\n", what, where, offered.taken[i]);
    }
    return out;
}

nlohmann::json rivalsJson(const std::vector<fit::Rival>& rivals) {
    nlohmann::json out = nlohmann::json::array();
    for (std::size_t i = 0; i < rivals.size(); ++i) {
        nlohmann::json line = nlohmann::json::array();
        for (const Vec2& p : rivals[i].line) line.push_back({p.x(), p.y()});
        out.push_back({{"letter", fit::letterOf(i)}, {"runs", fit::tell(rivals[i])}, {"line_px", line}});
    }
    return out;
}

nlohmann::json offersJson(const Survey& survey, const Offered& offered) {
    nlohmann::json out = nlohmann::json::array();
    for (std::size_t i = 0; i < offered.offers.size(); ++i) {
        const fit::Offer& o = offered.offers[i];
        nlohmann::json one = {{"feature", survey::describe(survey, o.expected.feature)},
                              {"photograph", photographOf(survey, o)},
                              {"standing", word(o.standing)}};
        if (!offered.taken[i].empty()) one["mark"] = offered.taken[i];
        if (!o.why.empty()) one["why"] = o.why;
        if (!o.mark.points.empty()) one["chance"] = o.chance;
        if (!o.rivals.empty()) one["rivals"] = rivalsJson(o.rivals);
        for (const Id& id : o.others) one["others"].push_back(survey::describe(survey, id));
        out.push_back(std::move(one));
    }
    return out;
}

}  // namespace trammel::app
