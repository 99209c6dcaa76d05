// SPDX-License-Identifier: GPL-3.0-or-later
#include <CLI/CLI.hpp>
#include <filesystem>
#include <memory>
#include <nlohmann/json.hpp>

#include "app/commands/Commands.h"
#include "app/commands/Output.h"
#include "core/render/Picture.h"
#include "core/render/Sample.h"
#include "core/render/SceneFile.h"
#include "core/render/Truth.h"

namespace trammel::app {
namespace {

struct RenderRequest {
    std::filesystem::path scene, out;
    std::uint64_t seed = 1;
    bool survey = false, json = false;
};

/// The survey is named after its folder.
std::filesystem::path surveyFile(const std::filesystem::path& folder) {
    std::error_code failed;
    auto whole = std::filesystem::absolute(folder, failed).lexically_normal();
    if (failed) whole = folder;
    const auto name = whole.has_filename() ? whole.filename() : whole.parent_path().filename();
    return folder / (name.string() + ".trammel");
}

int tell(const RenderRequest& request, const std::vector<std::filesystem::path>& written) {
    std::string text;
    if (request.json) {
        nlohmann::ordered_json list = nlohmann::ordered_json::array();
        for (const auto& file : written) list.push_back(file.string());
        text = nlohmann::ordered_json{{"written", list}}.dump(2) + "\n";
    } else {
        for (const auto& file : written) text += file.string() + "\n";
    }
    return printWhole(text);
}

int run(const RenderRequest& request) {
    const auto scene = render::loadScene(request.scene);
    if (!scene) return complain(scene.error());
    std::error_code failed;
    std::filesystem::create_directories(request.out, failed);
    if (failed)
        return complain({ErrorCode::WriteFailed, "the folder cannot be made", request.out.string(),
                         "choose another one"});
    render::PictureOptions picture;
    picture.seed = request.seed;
    if (auto done = render::writePhotographs(*scene, request.out, picture); !done)
        return complain(done.error());
    std::vector<std::filesystem::path> written;
    for (const auto& camera : scene->cameras) written.push_back(request.out / render::photographPath(camera));
    written.push_back(request.out / "truth.json");
    if (auto done = render::writeTruth(*scene, written.back()); !done) return complain(done.error());
    if (request.survey) {
        render::ObserveOptions hand;
        hand.seed = request.seed;
        hand.nominalReferences = true;
        written.push_back(surveyFile(request.out));
        if (auto done = render::writeSurvey(*scene, written.back(), hand); !done)
            return complain(done.error());
    }
    return tell(request, written);
}

}  // namespace

void addRender(CLI::App& app, int& code) {
    auto request = std::make_shared<RenderRequest>();
    CLI::App* command = app.add_subcommand("render", "Photographs of an invented scene, with their truth");
    command->add_option("scene", request->scene, "Scene file (JSON)")->required();
    command->add_option("--out", request->out, "Folder for the photographs and the truth")->required();
    command->add_option("--seed", request->seed, "Seed of the noise");
    command->add_flag("--survey", request->survey, "Also write a survey, marked as by hand");
    command->add_flag("--json", request->json, "Report as JSON");
    command->callback([request, &code] { code = run(*request); });
}

}  // namespace trammel::app
