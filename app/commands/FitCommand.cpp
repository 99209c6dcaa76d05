// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/core.h>

#include <CLI/CLI.hpp>
#include <filesystem>
#include <memory>
#include <nlohmann/json.hpp>
#include <optional>

#include "app/commands/Commands.h"
#include "app/commands/OfferMarks.h"
#include "app/commands/Output.h"
#include "core/guide/HandFit.h"
#include "core/photo/Decode.h"
#include "core/storage/SurveyFile.h"

namespace trammel::app {
namespace {

namespace fs = std::filesystem;

struct FitArguments {
    std::string survey, out;
    bool json = false, offer = false;
};

/// Photograph paths are relative to the survey file; a survey written elsewhere must still find them.
void rebase(survey::Survey& s, const fs::path& from, const fs::path& to) {
    std::error_code failed;  // no current folder: the paths then stay as they are
    const fs::path a = fs::absolute(from, failed).parent_path(), b = fs::absolute(to, failed).parent_path();
    if (failed || a.lexically_normal() == b.lexically_normal()) return;
    for (survey::Station& station : s.stations)
        station.photo.path =
            (a / station.photo.path).lexically_normal().lexically_relative(b).generic_string();
}

struct Names {
    std::string feature, photograph;
};

Names namesOf(const survey::Survey& s, const survey::Id& mark) {
    const survey::Mark* m = survey::find(s.marks, mark);
    if (!m) return {};
    const survey::Station* station = survey::find(s.stations, m->station);
    return {survey::describe(s, m->feature), station ? station->name : m->station};
}

void print(const survey::Survey& s, const guide::HandFit& result, const std::optional<Offered>& offered,
           const FitArguments& a) {
    if (a.json) {
        nlohmann::json refused = nlohmann::json::array();
        for (const fit::Refusal& r : result.refusals) {
            const Names n = namesOf(s, r.mark);
            nlohmann::json one = {
                {"mark", r.mark}, {"feature", n.feature}, {"photograph", n.photograph}, {"why", r.why}};
            if (!r.rivals.empty()) one["rivals"] = rivalsJson(r.rivals);
            refused.push_back(std::move(one));
        }
        nlohmann::json out = {
            {"tried", result.tried}, {"fitted", result.fitted}, {"refused", refused}, {"written", a.out}};
        if (offered) out["offers"] = offersJson(s, *offered);
        fmt::print("{}\n", out.dump(2));
        return;
    }
    fmt::print("{} of {} hand marks fitted to the photographs; {} stay as they were.\n", result.fitted,
               result.tried, result.refusals.size());
    for (const fit::Refusal& r : result.refusals) {
        const Names n = namesOf(s, r.mark);
        fmt::print("  {} ({} in photograph {}): {}\n", r.mark, n.feature, n.photograph, r.why);
    }
    if (offered) fmt::print("{}", offersText(s, *offered));
}

int run(const FitArguments& a) {
    Result<survey::Survey> survey = storage::load(a.survey);
    if (!survey) return complain(survey.error());
    // A changed photograph would be fitted in the wrong places: better to stop than to write that.
    const std::vector<Error> wrong = storage::checkPhotographs(*survey, a.survey);
    if (!wrong.empty()) {
        for (const Error& e : wrong) complain(e);
        return kBadInput;
    }
    const fs::path folder = fs::path(a.survey).parent_path();
    const auto provider = [&](const survey::Station& station) -> Result<photo::LinearImage> {
        Result<photo::Image> image = photo::decode(folder / station.photo.path);
        if (!image) return image.error();
        return photo::linearLuminance(std::move(*image));
    };
    Result<guide::HandFit> result = [&] {
        const ProgressLine line("fitting marks");
        return guide::fitHandMarks(*survey, provider, {}, line.progress());
    }();
    if (!result) return complain(result.error());
    if (!result->photographs.empty()) {
        for (const Error& e : result->photographs) complain(e);
        return kBadInput;
    }
    *survey = std::move(result->survey);
    std::optional<Offered> offered;
    std::optional<Error> noOffers;  // what was fitted is written all the same
    if (a.offer) {
        auto added = addSureMarks(*survey, provider);
        if (added)
            offered = std::move(*added);
        else
            noOffers = added.error();
    }
    const survey::Survey named = *survey;
    rebase(*survey, a.survey, a.out);
    const Result<void> saved = storage::save(*survey, a.out);
    if (!saved) return complain(saved.error());
    print(named, *result, offered, a);
    return noOffers ? complain(*noOffers) : kGood;
}

}  // namespace

void addFit(CLI::App& app, int& code) {
    auto a = std::make_shared<FitArguments>();
    CLI::App* sub = app.add_subcommand("fit", "Fits every hand mark of a survey to its photograph");
    sub->add_option("survey", a->survey, "Survey file")->required();
    sub->add_option("--out", a->out, "Survey file to write, with fitted marks")->required();
    sub->add_flag(
        "--offer", a->offer,
        "Add marks of known features where they are surely seen in other photographs, and list the others");
    sub->add_flag("--json", a->json, "Print the result as JSON");
    sub->callback([a, &code] { code = run(*a); });
}

}  // namespace trammel::app
