// SPDX-License-Identifier: GPL-3.0-or-later
// The command "solid" as a program of its own: the libraries of the solid modeller cost every start 50 ms.
#include <CLI/CLI.hpp>

#include "app/commands/Commands.h"

int main(int argc, char** argv) {
    using namespace trammel::app;
    CLI::App app{"Writes the stepped envelope of a survey."};
    app.name("trammel");
    int code = kGood;
    addSolid(app, code);
    app.require_subcommand(1);
    if (const auto ended = parse(app, argc, argv, "trammel solid --help")) return *ended;
    return code;
}
