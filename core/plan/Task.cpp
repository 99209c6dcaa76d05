// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/plan/Task.h"

#include <fmt/core.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <numbers>
#include <utility>

namespace trammel::plan {
namespace {

constexpr std::array<std::pair<std::string_view, std::array<double, 2>>, 6> kSensors = {{
    {"full", {36.0, 24.0}},
    {"crop 1.5", {23.5, 15.6}},
    {"crop 1.6", {22.3, 14.9}},
    {"half", {17.3, 13.0}},
    {"inch", {13.2, 8.8}},
    {"medium", {43.8, 32.9}},
}};

constexpr std::size_t kMostLevels = 12, kMostLenses = 12;

/// Why a number will not do, or nothing. NaN fails every comparison.
std::optional<Error> outside(const char* what, double value, double least, double most, const char* unit) {
    if (value >= least && value <= most) return std::nullopt;
    return Error{ErrorCode::BadValue, fmt::format("is {:g}{}", value, unit), what,
                 fmt::format("give a number from {:g} to {:g}{}", least, most, unit)};
}

std::optional<Error> checkSensor(const Sensor& s) {
    if (auto e = outside("sensor width", s.width_mm, 2, 200, " mm")) return e;
    if (auto e = outside("sensor height", s.height_mm, 2, 200, " mm")) return e;
    if (auto e = outside("pixels across", s.width_px, 200, 40000, "")) return e;
    if (auto e = outside("pixels down", s.height_px, 200, 40000, "")) return e;
    const double ratio = s.pitch_mm() / (s.height_mm / s.height_px);
    if (ratio > 1.05 || ratio < 0.95)
        return Error{ErrorCode::BadValue,
                     fmt::format("{:g} × {:g} mm with {} × {} pixels would have pixels that are not square",
                                 s.width_mm, s.height_mm, s.width_px, s.height_px),
                     "sensor", "give width and height of both in the same order"};
    return std::nullopt;
}

std::optional<Error> checkLens(const Lens& l) {
    if (auto e = outside("focal length", l.shortest_mm, 4, 2000, " mm")) return e;
    if (auto e = outside("focal length", l.longest_mm, 4, 2000, " mm")) return e;
    if (l.shortest_mm > l.longest_mm)
        return Error{ErrorCode::BadValue, "the zoom's range runs backwards", "lens " + l.title(),
                     "give the shorter focal length first"};
    if (auto e = outside("widest f-number", l.widest, 0.7, 64, "")) return e;
    if (auto e = outside("narrowest f-number", l.narrowest, l.widest, 90, "")) return e;
    if (l.closest_mm)
        if (auto e = outside("closest focus", *l.closest_mm, 10, 50000, " mm")) return e;
    return std::nullopt;
}

std::optional<Error> checkPart(const Task& t) {
    if (auto e = outside("part size in x", t.sizeX_mm, 2, 5000, " mm")) return e;
    if (auto e = outside("part size in y", t.sizeY_mm, 2, 5000, " mm")) return e;
    if (t.sizeX_mm > 50 * t.sizeY_mm || t.sizeY_mm > 50 * t.sizeX_mm)
        return Error{ErrorCode::BadValue, "one side is more than 50 times the other", "part size",
                     "check both numbers"};
    if (t.heights_mm.size() > kMostLevels)
        return Error{ErrorCode::BadValue, fmt::format("{} are too many", t.heights_mm.size()), "heights",
                     fmt::format("name the {} that matter most", kMostLevels)};
    const double most = std::max(t.sizeX_mm, t.sizeY_mm);
    for (const double h : t.heights_mm)
        if (auto e = outside("height of a level", h, -most, most, " mm")) return e;
    if (auto e = outside("wanted ±", t.need_mm, 0.001, 100, " mm")) return e;
    if (t.needHeight_mm)
        if (auto e = outside("wanted ± of heights", *t.needHeight_mm, 0.001, 100, " mm")) return e;
    return std::nullopt;
}

}  // namespace

std::optional<Vec2> sensorSize(std::string_view name) {
    for (const auto& [word, size] : kSensors)
        if (word == name) return Vec2(size[0], size[1]);
    return std::nullopt;
}

std::vector<std::string> sensorNames() {
    std::vector<std::string> names;
    for (const auto& sensor : kSensors) names.emplace_back(sensor.first);
    return names;
}

std::string Lens::title() const {
    if (!name.empty()) return name;
    if (shortest_mm == longest_mm) return fmt::format("{:g} mm", shortest_mm);
    return fmt::format("{:g}–{:g} mm", shortest_mm, longest_mm);
}

double squareSigma_rad(Squaring squaring) {
    const double degrees = squaring == Squaring::Eye ? 2.0 : squaring == Squaring::Level ? 0.5 : 0.1;
    return degrees * std::numbers::pi / 180.0;
}

std::string_view squaringName(Squaring squaring) {
    return squaring == Squaring::Eye ? "eye" : squaring == Squaring::Level ? "level" : "mirror";
}

std::optional<Squaring> squaringFromName(std::string_view name) {
    for (const Squaring s : {Squaring::Eye, Squaring::Level, Squaring::Mirror})
        if (squaringName(s) == name) return s;
    return std::nullopt;
}

std::optional<ReferenceLength> referenceLength(std::string_view name) {
    const double even = std::sqrt(3.0);
    if (name == "card") return ReferenceLength{"card (ID-1)", 85.60, 0.125 / even, false};
    if (name == "A3") return ReferenceLength{"A3 sheet", 420.0, 2.0 / even, false};
    if (name == "A4") return ReferenceLength{"A4 sheet", 297.0, 2.0 / even, false};
    if (name == "A5") return ReferenceLength{"A5 sheet", 210.0, 2.0 / even, false};
    constexpr std::string_view kRule = "rule ";
    if (!name.starts_with(kRule)) return std::nullopt;
    name.remove_prefix(kRule.size());
    double length = 0.0;
    const auto end = std::from_chars(name.data(), name.data() + name.size(), length);
    if (end.ec != std::errc() || end.ptr != name.data() + name.size()) return std::nullopt;
    if (!(length >= 10.0 && length <= 3000.0)) return std::nullopt;
    return ReferenceLength{"steel rule", length, 0.05, true};
}

double Task::markSigma() const { return markSigma_px.value_or(marking == Marking::Clicked ? 1.5 : 0.15); }

double Task::highest() const {
    double most = 0.0;
    for (const double h : heights_mm) most = std::max(most, h);
    return most;
}

double Task::lowest() const {
    double least = 0.0;
    for (const double h : heights_mm) least = std::min(least, h);
    return least;
}

Result<void> check(const Task& t) {
    if (auto e = checkPart(t)) return *e;
    if (auto e = checkSensor(t.sensor)) return *e;
    if (t.lenses.empty())
        return Error{ErrorCode::BadValue, "no lens is given", "lenses",
                     "name at least one by its focal length"};
    if (t.lenses.size() > kMostLenses)
        return Error{ErrorCode::BadValue, fmt::format("{} are too many", t.lenses.size()), "lenses",
                     fmt::format("name {} at most", kMostLenses)};
    for (const Lens& lens : t.lenses)
        if (auto e = checkLens(lens)) return *e;
    if (auto e = outside("room", t.room_mm / 1000.0, 0.1, 100, " m")) return *e;
    if (t.markSigma_px)
        if (auto e = outside("σ of a mark", *t.markSigma_px, 0.01, 50, " px")) return *e;
    if (auto e = outside("reach of the caliper", t.caliperReach_mm, 10, 3000, " mm")) return *e;
    if (auto e = outside("reference length", t.reference.length_mm, 5, 5000, " mm")) return *e;
    if (auto e = outside("σ of the reference length", t.reference.sigma_mm, 0.0005, 10, " mm")) return *e;
    return {};
}

}  // namespace trammel::plan
