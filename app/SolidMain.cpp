// SPDX-License-Identifier: GPL-3.0-or-later
// The command "solid" as a program of its own: the libraries of the solid modeller cost every start 50 ms.
#include <fmt/core.h>

#include <CLI/CLI.hpp>

#include "app/commands/Commands.h"

int main(int argc, char** argv) {
    using namespace trammel::app;
    CLI::App app{"Writes the stepped envelope of a survey."};
    app.name("trammel");
    int code = kGood;
    addSolid(app, code);
    app.require_subcommand(1);
    app.failure_message([](const CLI::App*, const CLI::Error& e) {
        return std::string(e.what()) + "; see trammel solid --help.\n";
    });
    try {
        app.parse(argc, argv);
    } catch (const CLI::ParseError& e) {
        return app.exit(e) == 0 ? kGood : kBadInput;
    } catch (const std::exception& e) {
        fmt::print(stderr, "the command stopped unexpectedly ({}); nothing was changed by it.\n", e.what());
        return kBadInput;
    }
    return code;
}
