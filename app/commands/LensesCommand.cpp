// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/core.h>

#include <CLI/CLI.hpp>
#include <filesystem>
#include <memory>
#include <nlohmann/json.hpp>
#include <string>

#include "app/commands/Commands.h"
#include "app/commands/Output.h"
#include "core/calibrate/CalibrationText.h"
#include "core/calibrate/LensDatabase.h"
#include "core/calibrate/LensStore.h"
#include "core/photo/Decode.h"
#include "core/photo/Exif.h"

namespace trammel::app {
namespace {

int list(const std::filesystem::path& folder, bool json) {
    const auto contents = calibrate::LensStore(folder).all();
    for (const Error& e : contents.damaged) fmt::print(stderr, "{}\n", e.sentence());
    if (json) {
        nlohmann::ordered_json j{{"folder", folder.string()}, {"lenses", nlohmann::ordered_json::array()}};
        for (const auto& kept : contents.lenses) {
            auto one = nlohmann::ordered_json::parse(calibrate::toJson(kept.record));
            one["file"] = kept.file.string();
            j["lenses"].push_back(one);
        }
        return printWhole(j.dump(2) + "\n");
    }
    std::string text;
    for (const auto& kept : contents.lenses) text += calibrate::recordText(kept.record);
    if (text.empty())
        text = fmt::format("No lenses are kept in {}; trammel calibrate --store puts them there.\n",
                           folder.string());
    return printWhole(text);
}

int ask(const std::filesystem::path& photograph) {
    const auto exif = photo::readExif(photograph);
    if (!exif) return complain(exif.error());
    const auto size = photo::storedSize(photograph);
    if (!size) return complain(size.error());
    const auto database = calibrate::LensDatabase::load();
    if (!database) return complain(database.error());
    const auto found = database->find(*exif, size->width, size->height);
    if (!found) return complain(found.error());
    return printWhole(found->sentence() + "\n" +
                      calibrate::recordText(found->record(*exif, size->width, size->height)));
}

}  // namespace

void addLenses(CLI::App& app, int& code) {
    struct Arguments {
        std::string folder, photograph;
        bool json = false;
    };
    auto a = std::make_shared<Arguments>();
    CLI::App* sub = app.add_subcommand("lenses", "Lists the lenses that were calibrated and kept");
    sub->add_option("--folder", a->folder, "Where they are kept; otherwise the user's own data folder");
    sub->add_flag("--json", a->json, "Print the records as JSON");
    sub->add_option("--database", a->photograph,
                    "Instead: what the open lens database has for the lens of this photograph");
    sub->callback([a, &code] {
        if (!a->photograph.empty()) {
            code = ask(a->photograph);
            return;
        }
        const std::filesystem::path folder =
            a->folder.empty() ? calibrate::usersLensFolder() : std::filesystem::path(a->folder);
        code = folder.empty() ? complain({ErrorCode::FileMissing, "there is no data folder", "lens store",
                                          "set HOME, or name one with --folder"})
                              : list(folder, a->json);
    });
}

}  // namespace trammel::app
