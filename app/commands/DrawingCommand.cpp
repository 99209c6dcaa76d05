// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/chrono.h>
#include <fmt/core.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <chrono>
#include <filesystem>
#include <memory>
#include <nlohmann/json.hpp>
#include <vector>

#include "app/commands/AdjustedSurvey.h"
#include "app/commands/Commands.h"
#include "app/commands/HandedArguments.h"
#include "app/commands/Output.h"
#include "core/drawing/Format.h"
#include "core/photo/Decode.h"
#include "core/photo/Exif.h"
#include "core/production/Production.h"
#include "core/storage/PageFile.h"

namespace trammel::app {
namespace {

namespace fs = std::filesystem;

struct Arguments : HandedArguments {
    std::string out, angle = "first", paper, scale, date;
    std::vector<std::string> views{"top", "left"};
};

/// EXIF has "2031:05:17 10:00:00".
std::string dayOf(const std::string& exif) {
    if (exif.size() < 10 || exif[4] != ':' || exif[7] != ':') return "";
    std::string day = exif.substr(0, 10);
    day[4] = day[7] = '-';
    const bool digits =
        std::all_of(day.begin(), day.end(), [](char c) { return c == '-' || (c >= '0' && c <= '9'); });
    return digits && day > "0000-99" ? day : "";
}

/// YYYY-MM-DD of the survey's latest photograph, else of its file.
std::string dateOf(const survey::Survey& survey, const fs::path& file) {
    std::string latest;
    for (const survey::Station& s : survey.stations)
        if (const auto exif = photo::readExif(file.parent_path() / s.photo.path))
            latest = std::max(latest, dayOf(exif->dateTimeOriginal));
    if (!latest.empty()) return latest;
    std::error_code failed;
    const auto written = fs::last_write_time(file, failed);
    if (failed) return "";
    const auto system = std::chrono::file_clock::to_sys(written);
    return fmt::format("{:%Y-%m-%d}", std::chrono::time_point_cast<std::chrono::seconds>(system));
}

Result<production::Terms> termsOf(const Arguments& a, const AdjustedSurvey& s) {
    production::Terms t;
    t.method = a.angle == "third" ? unfold::Method::ThirdAngle : unfold::Method::FirstAngle;
    t.views.clear();
    for (const std::string& name : a.views) t.views.push_back(*survey::viewFromName(name));
    t.paper = sheet::paperNamed(a.paper);
    t.thickness_mm = a.thickness;
    t.date = a.date.empty() ? dateOf(s.survey, a.survey) : a.date;
    const auto hash = photo::contentHash(a.survey);
    if (!hash) return hash.error();
    t.hash = *hash;
    if (a.scale.empty()) return t;
    for (const standard::Scale& k : standard::kScales)
        if (k.words() == a.scale) t.scale = k;
    if (!t.scale)
        return Error{ErrorCode::BadValue, "is no scale of ISO 5455", a.scale,
                     "choose one such as 1:1, 1:2, 1:5, 1:10 or 2:1, 5:1, 10:1"};
    return t;
}

nlohmann::ordered_json holesJson(const production::Production& p) {
    auto list = nlohmann::ordered_json::array();
    const auto known = [](double plusMinus) {
        return plusMinus > 0 ? nlohmann::ordered_json(plusMinus) : nlohmann::ordered_json();
    };
    for (const production::HoleRow& h : p.holes)
        list.push_back({{"letter", h.letter},
                        {"id", h.feature},
                        {"name", h.name},
                        {"x", h.centre.x()},
                        {"x_plus_minus", known(h.centrePlusMinus.x())},
                        {"y", h.centre.y()},
                        {"y_plus_minus", known(h.centrePlusMinus.y())},
                        {"diameter", h.diameter},
                        {"diameter_plus_minus", known(h.diameterPlusMinus)},
                        {"screw", standard::useWords(h.use)}});
    return list;
}

std::string report(const Arguments& a, const production::Production& p,
                   const std::vector<std::filesystem::path>& files, bool agrees) {
    const std::string tolerance = standard::className(p.tolerance);
    if (a.json) {
        nlohmann::ordered_json j;
        j["files"] = nlohmann::ordered_json::array();
        for (const auto& f : files) j["files"].push_back(f.string());
        j["agrees"] = agrees;
        j["paper"] = p.paper.name;
        j["scale"] = p.scale.words();
        j["sheets"] = p.pages.size();
        j["general_tolerance"] = tolerance;
        j["remarks"] = nlohmann::ordered_json::array();
        if (!p.remark.empty()) j["remarks"].push_back(p.remark);
        j["holes"] = holesJson(p);
        return j.dump(2) + "\n";
    }
    std::string s;
    for (const auto& f : files) s += f.string() + "\n";
    s += fmt::format("Drawing in {} angle on {} at {}, {} {}; general tolerance that the ± support: {}.\n",
                     a.angle, p.paper.name, p.scale.words(), p.pages.size(),
                     p.pages.size() == 1 ? "sheet" : "sheets", tolerance);
    if (!p.remark.empty()) s += "remark: " + p.remark + ".\n";
    for (const production::HoleRow& h : p.holes)
        s += fmt::format("hole {} ({}): diameter {}, {}\n", h.letter, h.name,
                         drawing::withPlusMinus(h.diameter, h.diameterPlusMinus), standard::useWords(h.use));
    return s;
}

int run(const Arguments& a) {
    if (const auto named = storage::checkPageName(a.out); !named) return complain(named.error());
    const auto s = adjustedSurvey(a.survey, a.marksOnly);
    if (!s) return complain(s.error());
    const auto terms = termsOf(a, *s);
    if (!terms) return complain(terms.error());
    const auto drawing = handover::drawingOf(s->survey, s->solution, a.terms());
    if (!drawing) return complain(drawing.error());
    const auto p = production::productionOf(s->survey, s->solution, *drawing, *terms);
    if (!p) return complain(p.error());
    const auto files = storage::writePages(p->pages, "Drawing of " + drawing->title, a.out);
    if (!files) return complain(files.error());
    if (const int code = printWhole(report(a, *p, *files, s->agrees))) return code;
    return verdict(s->agrees);
}

}  // namespace

void addDrawing(CLI::App& app, int& code) {
    auto a = std::make_shared<Arguments>();
    CLI::App* sub = app.add_subcommand(
        "drawing", "Adjusts a survey and writes a dimensioned drawing with hole table as PDF or SVG");
    addSurvey(*sub, *a);
    sub->add_option("--out", a->out, "Drawing to write, .pdf, or .svg with one file a sheet")->required();
    sub->add_option("--angle", a->angle, "Arrangement of the views, ISO 5456-2 (default first)")
        ->check(CLI::IsMember({"first", "third"}));
    sub->add_option("--views", a->views,
                    "Views beside the front view, separated by commas (default top,left)")
        ->delimiter(',')
        ->check(CLI::IsMember({"front", "top", "bottom", "left", "right", "rear"}));
    sub->add_option("--paper", a->paper, "Size of sheet (default: the smallest that shows the part at 1:2)")
        ->check(CLI::IsMember({"A4", "A3", "A2", "A1", "A0", "Letter"}));
    sub->add_option("--scale", a->scale, "Scale of ISO 5455, such as 1:2 (default: the largest that fits)");
    addRevision(*sub, *a);
    sub->add_option("--date", a->date,
                    "Date of the survey (default: of its latest photograph, else of the file)");
    addThickness(*sub, *a);
    addNominal(*sub, *a, "Draw places, diameters and radii rounded to multiples of this (mm); each is noted");
    addHoles(*sub, *a);
    addReport(*sub, *a);
    sub->callback([a, &code] { code = run(*a); });
}

}  // namespace trammel::app
