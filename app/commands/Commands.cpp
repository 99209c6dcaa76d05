// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/commands/Commands.h"

#include <fmt/core.h>

#include <CLI/CLI.hpp>
#include <exception>
#include <string>

namespace trammel::app {

int complain(const Error& error) {
    fmt::print(stderr, "{}\n", error.sentence());
    return kBadInput;
}

std::optional<int> parse(CLI::App& app, int argc, char** argv, const std::string& help) {
    app.failure_message([help](const CLI::App*, const CLI::Error& e) {
        return std::string(e.what()) + "; see " + help + ".\n";
    });
    try {
        app.parse(argc, argv);
    } catch (const CLI::ParseError& e) {
        return app.exit(e) == 0 ? kGood : kBadInput;
    } catch (const std::exception& e) {
        fmt::print(stderr, "the command stopped unexpectedly ({}); nothing was changed by it.\n", e.what());
        return kBadInput;
    }
    return std::nullopt;
}

}  // namespace trammel::app
