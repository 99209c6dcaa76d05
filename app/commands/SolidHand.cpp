// SPDX-License-Identifier: GPL-3.0-or-later
// Hands "solid" over to the program beside this one, so that only who wants a solid loads the solid modeller.
#include <unistd.h>

#include <CLI/CLI.hpp>
#include <filesystem>
#include <string>
#include <vector>

#include "app/commands/Commands.h"

namespace trammel::app {
namespace {

int run(const std::vector<std::string>& more) {
    std::error_code failed;
    const auto self = std::filesystem::read_symlink("/proc/self/exe", failed);
    const auto program = self.parent_path() / "trammel-solid";
    if (failed || !std::filesystem::exists(program, failed))
        return complain({ErrorCode::NotFound, "this build writes no solids", "trammel solid",
                         "build it with OpenCASCADE (-DTRAMMEL_SOLID=ON)"});
    std::vector<std::string> words{"trammel", "solid"};
    words.insert(words.end(), more.begin(), more.end());
    std::vector<char*> arguments;
    for (std::string& w : words) arguments.push_back(w.data());
    arguments.push_back(nullptr);
    execv(program.c_str(), arguments.data());
    return complain(
        {ErrorCode::NotFound, "cannot be started", program.string(), "install the program again"});
}

}  // namespace

void addSolidHand(CLI::App& app, int& code) {
    CLI::App* sub =
        app.add_subcommand("solid", "Adjusts a survey and writes its stepped envelope as STEP or STL");
    sub->set_help_flag();  // the other program knows the options
    sub->prefix_command();
    sub->callback([sub, &code] { code = run(sub->remaining()); });
}

}  // namespace trammel::app
