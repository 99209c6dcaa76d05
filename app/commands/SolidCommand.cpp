// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/core.h>

#include <CLI/CLI.hpp>
#include <filesystem>
#include <memory>
#include <nlohmann/json.hpp>

#include "app/commands/AdjustedSurvey.h"
#include "app/commands/Commands.h"
#include "app/commands/HandedArguments.h"
#include "app/commands/Output.h"
#include "core/drawing/Format.h"
#include "core/solid/Solid.h"
#include "core/storage/Disk.h"

namespace trammel::app {
namespace {

struct Arguments : HandedArguments {
    std::string out;
};

Result<solid::Format> formatOf(const std::string& file) {
    std::string ending = std::filesystem::path(file).extension().string();
    for (char& c : ending) c = static_cast<char>(c >= 'A' && c <= 'Z' ? c + 32 : c);
    if (ending == ".step" || ending == ".stp") return solid::Format::Step;
    if (ending == ".stl") return solid::Format::Stl;
    return Error{ErrorCode::BadValue, "ends neither in .step or .stp nor in .stl", file,
                 "choose one of them"};
}

std::string report(const Arguments& a, const solid::Solid& made, const drawing::Envelope& e, bool agrees) {
    if (a.json) {
        nlohmann::ordered_json j;
        j["file"] = a.out;
        j["agrees"] = agrees;
        j["volume"] = made.volume_mm3;
        j["expected_volume"] = made.expected_mm3;
        if (made.solids > 0) j["solids"] = made.solids;
        j["stands"] = e.remarks;
        j["remarks"] = made.remarks;
        return j.dump(2) + "\n";
    }
    std::string s = fmt::format("{}\nRead back: closed, {} mm³; levels times heights make {} mm³.\n", a.out,
                                drawing::fixed(made.volume_mm3, 3), drawing::fixed(made.expected_mm3, 3));
    for (const std::string& r : e.remarks) s += r + ".\n";
    s += "An envelope of upright walls, holes through. Only what has an outline is in it: keep-outs and "
         "levels "
         "without an outline are left out. Millimetres.\n";
    for (const std::string& r : made.remarks) s += "remark: " + r + ".\n";
    return s;
}

int run(const Arguments& a) {
    const auto format = formatOf(a.out);
    if (!format) return complain(format.error());
    const auto s = adjustedSurvey(a.survey, a.marksOnly);
    if (!s) return complain(s.error());
    const auto drawing = handover::drawingOf(s->survey, s->solution, a.terms());
    if (!drawing) return complain(drawing.error());
    const auto envelope = drawing::envelopeOf(*drawing, s->survey, s->solution, a.thickness);
    const auto made = solid::solidOf(envelope, drawing->title, *format);
    if (!made) return complain(made.error());
    if (const auto written = storage::writeWhole(a.out, made->bytes); !written)
        return complain(written.error());
    if (const int code = printWhole(report(a, *made, envelope, s->agrees))) return code;
    return verdict(s->agrees);
}

}  // namespace

void addSolid(CLI::App& app, int& code) {
    auto a = std::make_shared<Arguments>();
    CLI::App* sub =
        app.add_subcommand("solid", "Adjusts a survey and writes its stepped envelope as STEP or STL");
    addSurvey(*sub, *a);
    sub->add_option("--out", a->out, "File to write, .step, .stp or .stl")->required();
    addThickness(*sub, *a);
    addNominal(*sub, *a);
    addHoles(*sub, *a);
    addReport(*sub, *a);
    sub->callback([a, &code] { code = run(*a); });
}

}  // namespace trammel::app
