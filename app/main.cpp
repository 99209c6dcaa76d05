// SPDX-License-Identifier: GPL-3.0-or-later
#include <CLI/CLI.hpp>
#include <cstdlib>
#include <filesystem>
#include <optional>

#include "app/commands/Commands.h"
#ifdef TRAMMEL_WITH_WINDOW
#include "ui/Window.h"
#endif

namespace {

/// Why no window can open with this file, told before the toolkit says it in words of its own.
std::optional<trammel::Error> noWindow(const std::string& survey) {
    using trammel::Error, trammel::ErrorCode;
    const bool word = survey.find('.') == std::string::npos && survey.find('/') == std::string::npos;
    if (word && !survey.empty() && !std::filesystem::exists(survey))
        return Error{ErrorCode::FileMissing, "is neither a command nor a survey", survey,
                     "trammel --help lists the commands"};
#ifdef TRAMMEL_WITH_WINDOW
    const auto set = [](const char* name) {
        const char* value = std::getenv(name);
        return value && *value;
    };
    if (!set("DISPLAY") && !set("WAYLAND_DISPLAY") && !set("QT_QPA_PLATFORM"))
        return Error{ErrorCode::NotFound, "there is no display to open a window on", "",
                     "run a command instead (trammel --help), or start it from a desktop"};
    return std::nullopt;
#else
    return Error{ErrorCode::NotFound, "this build has no window", "", "run trammel --help for the commands"};
#endif
}

}  // namespace

int main(int argc, char** argv) {
    using namespace trammel::app;
    CLI::App app{"Takes the shape of an irregular board or stepped part from photographs."};
    app.name("trammel");
    app.set_version_flag("--version", "trammel " TRAMMEL_VERSION);
    int code = kGood;
    std::string survey;
    app.add_option("survey", survey, "Survey to open in the window");
    addAdjust(app, code);
    addHandover(app, code);
    addInspect(app, code);
    addRender(app, code);
    addFit(app, code);
    addPhotographs(app, code);
    addCalibrate(app, code);
    addPlan(app, code);
    addBoard(app, code);
    addLenses(app, code);
    addDrawing(app, code);
    addMount(app, code);
    addRules(app, code);
    addSolidHand(app, code);
    app.require_subcommand(0, 1);
    if (const auto ended = parse(app, argc, argv, "trammel --help")) return *ended;
    if (!app.get_subcommands().empty()) return code;
    if (const auto hindrance = noWindow(survey)) return complain(*hindrance);
#ifdef TRAMMEL_WITH_WINDOW
    return trammel::ui::runWindow(argc, argv, survey);
#else
    return kBadInput;
#endif
}
