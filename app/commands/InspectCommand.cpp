// SPDX-License-Identifier: GPL-3.0-or-later
#include <CLI/CLI.hpp>
#include <filesystem>
#include <memory>

#include "app/commands/Commands.h"
#include "app/commands/Output.h"
#include "core/handover/Inspect.h"

namespace trammel::app {
namespace {

int run(const std::filesystem::path& path, bool json) {
    const auto file = handover::readDxf(path);
    if (!file) return complain(file.error());
    const handover::Contents contents = handover::inspect(*file, path.filename().string());
    return printWhole(json ? contentsJson(contents) + "\n" : contentsText(contents));
}

}  // namespace

void addInspect(CLI::App& app, int& code) {
    struct Arguments {
        std::string file;
        bool json = false;
    };
    auto a = std::make_shared<Arguments>();
    CLI::App* sub = app.add_subcommand("inspect", "Says what a DXF file really contains");
    sub->add_option("file", a->file, "DXF text file, R12 or later")->required();
    sub->add_flag("--json", a->json, "Print the contents as JSON");
    sub->callback([a, &code] { code = run(a->file, a->json); });
}

}  // namespace trammel::app
