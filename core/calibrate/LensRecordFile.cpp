// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/core.h>

#include <Eigen/Eigenvalues>
#include <cmath>
#include <nlohmann/json.hpp>

#include "core/calibrate/LensRecord.h"
#include "core/storage/Disk.h"
#include "core/storage/JsonReader.h"

namespace trammel::calibrate {
namespace {

constexpr const char* kFormat = "trammel lens";
constexpr int kVersion = 1;
constexpr std::array<const char*, 8> kKeys = {
    "principal_distance_px", "principal_x_px", "principal_y_px", "k1", "k2", "k3", "p1", "p2"};

std::array<double*, 8> placesOf(camera::Constants& k) {
    return {&k.c, &k.pp.x(), &k.pp.y(), &k.k1, &k.k2, &k.k3, &k.p1, &k.p2};
}

[[noreturn]] void fault(std::string what) {
    throw storage::JsonFault{std::move(what), "correct it or calibrate again"};
}

void readCovariance(storage::JsonObject& document, LensRecord& record) {
    int row = 0;
    document.each("covariance", [&](const nlohmann::json& line, const std::string& place) {
        if (row >= 8 || !line.is_array() || line.size() != 8)
            fault(place + " must be one of 8 rows of 8 numbers");
        for (std::size_t j = 0; j < 8; ++j)
            record.covariance(row, static_cast<int>(j)) =
                storage::jsonNumber(line[j], fmt::format("{}[{}]", place, j));
        ++row;
    });
    if (row != 8) fault("covariance must have 8 rows of 8 numbers");
    const Mat8& q = record.covariance;
    if (!q.allFinite() || (q.diagonal().array() < 0.0).any()) fault("covariance holds what is no variance");
    Mat8 correlation = Mat8::Zero();
    for (int i = 0; i < 8; ++i)
        for (int j = 0; j < 8; ++j) {
            const double scale = std::sqrt(q(i, i) * q(j, j));
            if (scale > 0.0)
                correlation(i, j) = q(i, j) / scale;
            else if (q(i, j) != 0.0)
                fault("covariance ties a constant that is held");
        }
    if ((correlation - correlation.transpose()).cwiseAbs().maxCoeff() > 1e-9)
        fault("covariance is not symmetrical");
    if (Eigen::SelfAdjointEigenSolver<Mat8>(correlation).eigenvalues()(0) < -1e-9)
        fault("covariance is none: a combination of constants has a negative variance");
}

void judge(LensRecord& record) {
    if (record.width < 1 || record.height < 1) fault("frame_px is no size of a picture");
    for (const double* value : placesOf(record.constants))
        if (!std::isfinite(*value)) fault("a constant is no number");
    if (!(record.constants.c > 0.0)) fault("principal_distance_px is not above zero");
    for (const double value : {record.focal_mm, record.focus_m, record.rms_px, record.growth.sigma})
        if (!(value >= 0.0) || std::isinf(value)) fault("a length, RMS or σ is negative or none");
    if (!std::isfinite(record.growth.value)) fault("growth is no number");
}

LensRecord read(const std::string& text) {
    LensRecord record;
    const nlohmann::json json = storage::parseJson(text);
    storage::JsonObject document(json, "");
    if (document.text("format") != kFormat) fault("this is no lens file");
    if (const int version = document.integer("version"); version != kVersion)
        throw storage::JsonFault{fmt::format("its format version {} is not {}", version, kVersion),
                                 "use the program that wrote it"};
    record.body = document.text("body", "");
    record.lens = document.text("lens", "");
    record.focal_mm = document.number("focal_length_mm", 0.0);
    record.focus_m = document.number("focus_m", 0.0);
    document.object("frame_px", false, [&](storage::JsonObject& frame) {
        record.width = frame.integer("width");
        record.height = frame.integer("height");
        frame.finish();
    });
    document.object("constants", false, [&](storage::JsonObject& constants) {
        const auto places = placesOf(record.constants);
        for (std::size_t i = 0; i < 8; ++i) *places[i] = constants.number(kKeys[i]);
        constants.finish();
    });
    readCovariance(document, record);
    document.object("growth", true, [&](storage::JsonObject& growth) {
        record.growth = {growth.number("value"), growth.number("sigma")};
        growth.finish();
    });
    record.date = document.text("date", "");
    record.photographs = document.integer("photographs", 0);
    record.rms_px = document.number("rms_px", 0.0);
    record.note = document.text("note", "");
    document.finish();
    judge(record);
    return record;
}

}  // namespace

std::string toJson(const LensRecord& given) {
    LensRecord record = given;
    nlohmann::ordered_json constants, rows = nlohmann::ordered_json::array();
    const auto places = placesOf(record.constants);
    for (std::size_t i = 0; i < 8; ++i) constants[kKeys[i]] = *places[i];
    for (int i = 0; i < 8; ++i) {
        nlohmann::ordered_json row = nlohmann::ordered_json::array();
        for (int j = 0; j < 8; ++j) row.push_back(record.covariance(i, j));
        rows.push_back(row);
    }
    nlohmann::ordered_json document{{"format", kFormat},
                                    {"version", kVersion},
                                    {"body", record.body},
                                    {"lens", record.lens},
                                    {"focal_length_mm", record.focal_mm},
                                    {"focus_m", record.focus_m},
                                    {"frame_px", {{"width", record.width}, {"height", record.height}}},
                                    {"constants", constants},
                                    {"covariance", rows},
                                    {"date", record.date},
                                    {"photographs", record.photographs},
                                    {"rms_px", record.rms_px},
                                    {"note", record.note}};
    if (record.growth.sigma > 0.0)
        document["growth"] = {{"value", record.growth.value}, {"sigma", record.growth.sigma}};
    return document.dump(2, ' ', false, nlohmann::ordered_json::error_handler_t::replace) + "\n";
}

Result<LensRecord> fromJson(const std::string& text) {
    try {
        return read(text);
    } catch (const storage::JsonFault& f) {
        return Error{ErrorCode::FileDamaged, f.what, "lens file", f.remedy};
    }
}

Result<void> saveLens(const LensRecord& record, const std::filesystem::path& file) {
    return storage::writeWhole(file, toJson(record));
}

Result<LensRecord> loadLens(const std::filesystem::path& file) {
    const Result<std::string> text = storage::readWhole(file);
    if (!text) return text.error();
    Result<LensRecord> record = fromJson(*text);
    if (record) return record;
    Error error = record.error();
    error.object = file.filename().string();
    return error;
}

}  // namespace trammel::calibrate
