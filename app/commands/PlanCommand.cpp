// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/core.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cmath>
#include <memory>
#include <string>

#include "app/commands/Commands.h"
#include "app/commands/Output.h"
#include "core/plan/PlanSheet.h"
#include "core/plan/PlanText.h"
#include "core/plan/TaskWords.h"
#include "core/storage/Disk.h"
#include "core/storage/PageFile.h"

namespace trammel::app {
namespace {

/// As typed; what is empty was not given.
struct PlanRequest {
    std::string file, size, heights, need, needHeight, sensor, pixels, room, marks, markSigma, reach,
        reference, square;
    std::vector<std::string> lenses;
    std::string out, paper = "A4";
    bool noCaliper = false, noDepth = false, json = false;
};

/// A comma between digits is a decimal one here, where a list makes no sense.
Result<double> oneNumber(const char* what, std::string text) {
    if (std::count(text.begin(), text.end(), ',') == 1 && text.find('.') == std::string::npos)
        std::replace(text.begin(), text.end(), ',', '.');
    const auto numbers = plan::numbersFrom(what, text);
    if (!numbers) return numbers.error();
    if (numbers->size() != 1) return Error{ErrorCode::BadValue, "wants one number", what, "give one"};
    return numbers->front();
}

/// Puts a number where it belongs, unless the option was not given.
std::optional<Error> take(const char* what, const std::string& text, double factor, const auto& put) {
    if (text.empty()) return std::nullopt;
    const auto value = oneNumber(what, text);
    if (!value) return value.error();
    put(*value * factor);
    return std::nullopt;
}

std::optional<Error> takePart(const PlanRequest& r, plan::Task& t) {
    if (!r.size.empty()) {
        const auto size = plan::sizeFrom("part size", r.size);
        if (!size) return size.error();
        t.sizeX_mm = size->x();
        t.sizeY_mm = size->y();
    }
    if (!r.heights.empty()) {
        const auto heights = plan::numbersFrom("heights", r.heights);
        if (!heights) return heights.error();
        t.heights_mm = *heights;
    }
    if (auto e = take("wanted ±", r.need, 1, [&](double v) { t.need_mm = v; })) return e;
    if (auto e = take("wanted ± of heights", r.needHeight, 1, [&](double v) { t.needHeight_mm = v; }))
        return e;
    return take("room", r.room, 1000, [&](double v) { t.room_mm = v; });
}

std::optional<Error> takeCamera(const PlanRequest& r, plan::Task& t) {
    if (!r.sensor.empty()) {
        const auto sensor = plan::sensorFrom(r.sensor, t.sensor);
        if (!sensor) return sensor.error();
        t.sensor = *sensor;
    }
    if (!r.pixels.empty()) {
        const auto sensor = plan::pixelsFrom(r.pixels, t.sensor);
        if (!sensor) return sensor.error();
        t.sensor = *sensor;
    }
    if (!r.lenses.empty()) t.lenses.clear();
    for (const std::string& text : r.lenses) {
        const auto lens = plan::lensFrom(text);
        if (!lens) return lens.error();
        t.lenses.push_back(*lens);
    }
    return std::nullopt;
}

std::optional<Error> takeReadings(const PlanRequest& r, plan::Task& t) {
    if (!r.marks.empty()) {
        const auto marking = plan::markingFrom(r.marks);
        if (!marking) return marking.error();
        t.marking = *marking;
    }
    if (auto e = take("σ of a mark", r.markSigma, 1, [&](double v) { t.markSigma_px = v; })) return e;
    if (auto e = take("reach of the caliper", r.reach, 1, [&](double v) { t.caliperReach_mm = v; })) return e;
    if (!r.reference.empty()) {
        const auto reference = plan::referenceFrom(r.reference);
        if (!reference) return reference.error();
        t.reference = *reference;
    }
    if (!r.square.empty()) {
        const auto square = plan::squaringFrom(r.square);
        if (!square) return square.error();
        t.squaring = *square;
    }
    if (r.noCaliper) t.caliper = false;
    if (r.noDepth) t.depthRod = false;
    return std::nullopt;
}

Result<plan::Task> taskOf(const PlanRequest& r) {
    plan::Task task;
    if (!r.file.empty() && !r.lenses.empty() && plan::lensFrom(r.file))
        return Error{ErrorCode::BadValue, "is no task file", r.file, "say --lens again for each lens"};
    if (!r.file.empty()) {
        const auto bytes = storage::readWhole(r.file);
        if (!bytes) return bytes.error();
        const auto read = plan::taskFromJson(*bytes, r.file);
        if (!read) return read.error();
        task = *read;
    } else if (r.size.empty()) {
        return Error{ErrorCode::BadValue, "is not given", "part size", "add --size 300x200, or name a file"};
    }
    if (auto e = takePart(r, task)) return *e;
    if (auto e = takeCamera(r, task)) return *e;
    if (auto e = takeReadings(r, task)) return *e;
    if (auto sound = plan::check(task); !sound) return sound.error();
    return task;
}

/// What was planned with though nobody said it; a task file counts as said.
std::string assumed(const PlanRequest& r) {
    if (!r.file.empty()) return {};
    std::string list;
    const auto add = [&](bool given, const char* what) {
        if (!given) list += (list.empty() ? "" : ", ") + std::string(what);
    };
    add(!r.heights.empty(), "a part without steps (--heights)");
    add(!r.need.empty(), "the wanted ± (--need)");
    add(!r.sensor.empty(), "the sensor (--sensor)");
    add(!r.pixels.empty(), "its pixels (--pixels)");
    add(!r.room.empty(), "the room (--room)");
    add(!r.marks.empty() || !r.markSigma.empty(), "fitted marks (--marks)");
    add(!r.reference.empty(), "the reference length (--reference)");
    add(!r.square.empty(), "the squaring (--square)");
    return list.empty() ? "" : "Assumed, since not said: " + list + ".\n";
}

int run(const PlanRequest& r) {
    if (r.paper != "A4" && r.paper != "letter")
        return complain({ErrorCode::BadValue, "is no paper that is known", r.paper, "say A4 or letter"});
    if (!r.out.empty())
        if (const auto named = storage::checkPageName(r.out); !named) return complain(named.error());
    const auto task = taskOf(r);
    if (!task) return complain(task.error());
    const auto made = [&] {
        const ProgressLine line("planning");
        return plan::makePlan(*task, line.progress());
    }();
    if (!made) return complain(made.error());
    if (!r.out.empty()) {
        const auto page = plan::planSheet(*made, r.paper == "A4" ? sheet::kA4 : sheet::kLetter);
        if (const auto written = storage::writePage(page, "Plan", r.out); !written)
            return complain(written.error());
    }
    const int printed = printWhole(r.json ? plan::planJson(*made) : plan::planText(*made) + assumed(r));
    if (printed != kGood) return printed;
    return made->reachable ? kGood : kDisagrees;
}

}  // namespace

void addPlan(CLI::App& app, int& code) {
    auto r = std::make_shared<PlanRequest>();
    CLI::App* command =
        app.add_subcommand("plan", "Where to stand, which lens and views, and the ± that will come of it");
    command->add_option("file", r->file, "Task (JSON); options go before what it says");
    command->add_option("--size", r->size, "Part in mm, as 300x200");
    command->add_option("--heights", r->heights, "Heights of levels over the datum level in mm, as 0,12,25");
    command->add_option("--need", r->need, "Wanted ± in mm (k = 2)");
    command->add_option("--need-height", r->needHeight, "The same for heights, where it differs");
    command->add_option("--sensor", r->sensor,
                        "Sensor in mm, as 36x24, or: full, crop 1.5, crop 1.6, half, inch, medium");
    command->add_option("--pixels", r->pixels, "Pixels, as 6000x4000");
    command
        ->add_option("--lens", r->lenses,
                     "Focal length in mm, as 200 or 85-135; more after commas: "
                     "widest=4,narrowest=22,closest=1500 (mm); again for each lens")
        ->allow_extra_args(false);
    command->add_option("--room", r->room, "Room from the part to the wall behind the camera in m");
    command->add_option("--marks", r->marks, "clicked or fitted");
    command->add_option("--mark-sigma", r->markSigma, "σ of a mark in px, where it is known");
    command->add_flag("--no-caliper", r->noCaliper, "No caliper at hand");
    command->add_flag("--no-depth", r->noDepth, "No depth rod at hand");
    command->add_option("--caliper-reach", r->reach, "Longest caliper reading in mm");
    command->add_option("--reference", r->reference, "Reference length: rule 300, card, A3, A4, A5");
    command->add_option("--square", r->square, "How the camera is squared: eye, level, mirror");
    command->add_option("--out", r->out, "Page to print (.pdf or .svg)");
    command->add_option("--paper", r->paper, "A4 or letter");
    command->add_flag("--json", r->json, "Report as JSON");
    command->callback([r, &code] { code = run(*r); });
}

}  // namespace trammel::app
