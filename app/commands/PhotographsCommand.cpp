// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/core.h>
#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <filesystem>
#include <map>
#include <memory>
#include <nlohmann/json.hpp>
#include <optional>

#include "app/commands/Commands.h"
#include "app/commands/Output.h"
#include "core/photo/Decode.h"
#include "core/photo/FileFormat.h"
#include "core/photo/Orientation.h"
#include "core/photo/PrincipalDistance.h"
#include "core/photo/Remarks.h"
#include "core/storage/ImportPhotograph.h"

namespace trammel::app {
namespace {

using Json = nlohmann::ordered_json;

/// All that one file says.
struct Told {
    std::string file;
    photo::FileFormat format = photo::FileFormat::Jpeg;
    photo::StoredSize stored;
    photo::Exif exif;
    survey::FrameCrop crop;  ///< of the upright picture
    std::optional<photo::DistancePrior> distance;
    std::vector<std::string> notes;
};

Result<Told> tell(const std::filesystem::path& file) {
    Told t;
    t.file = file.string();
    const Result<photo::FileFormat> format = photo::formatOf(file);
    if (!format) return format.error();
    t.format = *format;
    const Result<photo::StoredSize> stored = photo::storedSize(file);
    if (!stored) return stored.error();
    t.stored = *stored;
    // Taken into an empty survey: what is printed is what a survey would make of it.
    survey::Survey empty;
    const Result<storage::ImportedPhotograph> taken =
        storage::importPhotograph(empty, {}, file, survey::View::Top);
    if (!taken) return taken.error();
    if (const auto applied = survey::apply(empty, taken->edit); !applied) return applied.error();
    t.crop = empty.stations.at(0).photo.crop;
    t.notes = taken->notes;
    if (const Result<photo::Exif> exif = photo::readExif(file)) t.exif = *exif;
    t.distance = photo::principalDistancePrior(t.exif, stored->width, stored->height);
    return t;
}

std::string joined(const std::string& a, const std::string& b) {
    return a.empty() || b.empty() ? a + b : a + " " + b;
}

std::string lensLine(const photo::Exif& e) {
    std::string out = storage::lensName(e);
    if (e.focalLength_mm) out = joined(out, fmt::format("at {:g} mm", *e.focalLength_mm));
    if (e.focalLength35_mm) out = joined(out, fmt::format("(as {:g} mm on 36 × 24)", *e.focalLength35_mm));
    if (e.fNumber) out = joined(out, fmt::format("f/{:g}", *e.fNumber));
    if (e.subjectDistance_m) out = joined(out, fmt::format("focused at {:g} m", *e.subjectDistance_m));
    return out;
}

std::string cropLine(const survey::FrameCrop& c, const photo::StoredSize& stored) {
    if (c.known) return fmt::format("the whole of {} × {} px", c.fullWidth, c.fullHeight);
    const auto shorter = std::min(c.fullWidth, c.fullHeight), longer = std::max(c.fullWidth, c.fullHeight);
    if (longer <= std::max(stored.width, stored.height) && shorter <= std::min(stored.width, stored.height))
        return "not told; taken for this picture";
    return fmt::format("{} × {} px; where this picture lay in it is not told, taken for the middle",
                       c.fullWidth, c.fullHeight);
}

/// In how many of the files each note stands: what several have in common is said once, at the end.
std::map<std::string, std::vector<std::string>> filesOfNotes(const std::vector<Told>& all) {
    std::map<std::string, std::vector<std::string>> out;
    for (const Told& t : all)
        for (const std::string& note : t.notes)
            out[note].push_back(std::filesystem::path(t.file).filename().string());
    return out;
}

std::string text(const Told& t, const std::map<std::string, std::vector<std::string>>& files) {
    std::string out = t.file + "\n";
    const auto line = [&out](const char* what, const std::string& value) {
        if (!value.empty()) out += fmt::format("  {:<19} {}\n", what, value);
    };
    line("picture", fmt::format("{}, {} × {} px, orientation {}", photo::formatName(t.format), t.stored.width,
                                t.stored.height, t.exif.orientation));
    line("camera", storage::bodyName(t.exif));
    line("lens", lensLine(t.exif));
    line("taken", t.exif.dateTimeOriginal);
    if (t.distance)
        line("principal distance",
             fmt::format("{:.0f} px ± {:.0f} (from {})", t.distance->c_px,
                         2.0 * photo::kExifDistanceSigma * t.distance->c_px, t.distance->source));
    line("frame", cropLine(t.crop, t.stored));
    for (const std::string& note : t.notes)
        if (files.at(note).size() == 1) line("note", note);
    return out;
}

template <class T>
void put(Json& j, const char* key, const std::optional<T>& value) {
    if (value) j[key] = *value;
}

Json json(const Told& t) {
    const photo::Exif& e = t.exif;
    Json j{{"file", t.file},
           {"format", photo::formatName(t.format)},
           {"stored_width_px", t.stored.width},
           {"stored_height_px", t.stored.height},
           {"orientation", e.orientation},
           {"make", e.make},
           {"model", e.model},
           {"body_serial", e.bodySerial},
           {"lens_make", e.lensMake},
           {"lens_model", e.lensModel},
           {"taken", e.dateTimeOriginal}};
    put(j, "focal_length_mm", e.focalLength_mm);
    put(j, "focal_length_35_mm", e.focalLength35_mm);
    put(j, "f_number", e.fNumber);
    put(j, "subject_distance_m", e.subjectDistance_m);
    put(j, "digital_zoom", e.digitalZoom);
    if (t.distance)
        j["principal_distance"] = {{"px", t.distance->c_px},
                                   {"sigma_px", photo::kExifDistanceSigma * t.distance->c_px},
                                   {"source", t.distance->source}};
    j["frame"] = {{"width_px", t.crop.fullWidth},
                  {"height_px", t.crop.fullHeight},
                  {"offset_x_px", t.crop.offsetX},
                  {"offset_y_px", t.crop.offsetY},
                  {"known", t.crop.known}};
    j["remarks"] = Json::array();
    for (const photo::Remark& r : photo::remarksOn(e, t.stored.width, t.stored.height))
        j["remarks"].push_back({{"kind", photo::remarkName(r.kind)}, {"sentence", r.sentence}});
    for (const photo::Remark& r : photo::remarksOnCurve(t.file))
        j["remarks"].push_back({{"kind", photo::remarkName(r.kind)}, {"sentence", r.sentence}});
    return j;
}

int run(const std::vector<std::string>& files, bool asJson) {
    int code = kGood;
    std::string out;
    Json all{{"photographs", Json::array()}, {"remarks", Json::array()}};
    std::vector<photo::Named> named;
    std::vector<Told> told;
    for (const std::string& file : files) {
        Result<Told> t = tell(file);
        if (!t) {
            code = complain(t.error());
            continue;
        }
        all["photographs"].push_back(json(*t));
        named.push_back(
            {std::filesystem::path(file).filename().string(), t->exif, t->stored.width, t->stored.height});
        told.push_back(*std::move(t));
    }
    const auto notes = filesOfNotes(told);
    for (const Told& t : told) out += text(t, notes);
    const std::vector<photo::Remark> group = photo::remarksOnGroup(named);
    std::string between;
    for (const auto& [note, where] : notes)
        if (where.size() > 1)
            between += fmt::format(
                "  {:<19} {} ({})\n", "note", note,
                where.size() == told.size() ? "all of them" : fmt::format("{}", fmt::join(where, ", ")));
    for (const photo::Remark& r : group) {
        between += fmt::format("  {:<19} {}\n", "note", r.sentence);
        all["remarks"].push_back({{"kind", photo::remarkName(r.kind)}, {"sentence", r.sentence}});
    }
    if (!between.empty()) out += "between them\n" + between;
    // Names of files and cameras need not be UTF-8.
    const std::string whole =
        asJson ? all.dump(2, ' ', false, Json::error_handler_t::replace) + "\n" : std::move(out);
    return std::max(code, printWhole(whole));
}

}  // namespace

void addPhotographs(CLI::App& app, int& code) {
    struct Arguments {
        std::vector<std::string> files;
        bool json = false;
    };
    auto a = std::make_shared<Arguments>();
    CLI::App* sub =
        app.add_subcommand("photographs", "Says what photographs tell of their camera, and what to mind");
    sub->add_option("files", a->files, "JPEG, PNG, TIFF, HEIC or camera raw files")->required();
    sub->add_flag("--json", a->json, "Print it as JSON");
    sub->callback([a, &code] { code = run(a->files, a->json); });
}

}  // namespace trammel::app
