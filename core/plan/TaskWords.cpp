// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/plan/TaskWords.h"

#include <fmt/core.h>

#include <algorithm>
#include <charconv>
#include <cmath>

#include "core/storage/JsonReader.h"

namespace trammel::plan {
namespace {

std::string trimmed(std::string s) {
    const auto first = s.find_first_not_of(" \t"), last = s.find_last_not_of(" \t");
    return first == std::string::npos ? std::string() : s.substr(first, last - first + 1);
}

std::vector<std::string> split(const std::string& text, char by) {
    std::vector<std::string> parts(1);
    for (const char c : text)
        if (c == by)
            parts.emplace_back();
        else
            parts.back() += c;
    for (std::string& p : parts) p = trimmed(p);
    return parts;
}

std::optional<double> number(const std::string& text) {
    double value = 0.0;
    const auto end = std::from_chars(text.data(), text.data() + text.size(), value);
    if (end.ec != std::errc() || end.ptr != text.data() + text.size() || !std::isfinite(value))
        return std::nullopt;
    return value;
}

Error notUnderstood(const std::string& what, const std::string& text, const std::string& remedy) {
    // What was typed may be anything: only its beginning is shown.
    const std::string shown = text.size() > 40 ? text.substr(0, 40) + "…" : text;
    return {ErrorCode::BadValue, fmt::format("\"{}\" is not understood", shown), what, remedy};
}

template <class T>
T orFault(Result<T> result) {
    if (!result)
        throw storage::JsonFault{result.error().object + ": " + result.error().what, result.error().remedy};
    return *std::move(result);
}

std::vector<double> numbersAt(storage::JsonObject& o, const char* key) {
    std::vector<double> out;
    o.each(key, [&](const nlohmann::json& j, const std::string& place) {
        if (out.size() < 1000) out.push_back(storage::jsonNumber(j, place));
    });
    return out;
}

std::array<double, 2> pairAt(storage::JsonObject& o, const char* key) {
    const auto n = numbersAt(o, key);
    if (n.size() != 2)
        throw storage::JsonFault{o.place(key) + " must hold two numbers", "give width and height"};
    return {n[0], n[1]};
}

Task readTask(const nlohmann::json& json) {
    storage::JsonObject o(json, "");
    Task t;
    const auto size = pairAt(o, "size_mm");
    t.sizeX_mm = size[0];
    t.sizeY_mm = size[1];
    if (json.contains("heights_mm")) t.heights_mm = numbersAt(o, "heights_mm");
    t.need_mm = o.number("need_mm", t.need_mm);
    if (json.contains("need_height_mm")) t.needHeight_mm = o.number("need_height_mm");
    if (json.contains("sensor")) t.sensor = orFault(sensorFrom(o.text("sensor"), t.sensor));
    if (json.contains("pixels")) {
        const auto px = pairAt(o, "pixels");
        for (const double n : px)
            if (!(n >= 1 && n <= 1e6))
                throw storage::JsonFault{"pixels are out of range", "give whole numbers"};
        t.sensor.width_px = static_cast<int>(px[0]);
        t.sensor.height_px = static_cast<int>(px[1]);
    }
    for (const std::string& lens : o.texts("lenses")) t.lenses.push_back(orFault(lensFrom(lens)));
    t.room_mm = o.number("room_mm", t.room_mm);
    if (json.contains("marks")) t.marking = orFault(markingFrom(o.text("marks")));
    if (json.contains("mark_sigma_px")) t.markSigma_px = o.number("mark_sigma_px");
    t.caliper = o.flag("caliper", t.caliper);
    t.caliperReach_mm = o.number("caliper_reach_mm", t.caliperReach_mm);
    t.depthRod = o.flag("depth_rod", t.depthRod);
    if (json.contains("reference")) t.reference = orFault(referenceFrom(o.text("reference")));
    if (json.contains("square")) t.squaring = orFault(squaringFrom(o.text("square")));
    o.finish();
    return t;
}

}  // namespace

Result<std::vector<double>> numbersFrom(const std::string& what, const std::string& text) {
    std::vector<double> out;
    for (const std::string& part : split(text, ',')) {
        const auto value = number(part);
        if (!value) return notUnderstood(what, part, "give numbers parted by commas");
        out.push_back(*value);
    }
    return out;
}

Result<Vec2> sizeFrom(const std::string& what, const std::string& text) {
    std::string plain = text;
    if (const auto cross = plain.find("×"); cross != std::string::npos)
        plain.replace(cross, std::string("×").size(), "x");
    const auto parts = split(plain, 'x');
    if (parts.size() == 2) {
        const auto a = number(parts[0]), b = number(parts[1]);
        if (a && b) return Vec2(*a, *b);
    }
    return notUnderstood(what, text, "give two numbers with an x between, like 300x200");
}

Result<Lens> lensFrom(const std::string& text) {
    const auto parts = split(text, ',');
    const char* remedy = "give its focal length in mm, like 200 or 85-135,closest=1500";
    Lens lens;
    const auto range = split(parts[0], '-');
    const auto from = number(range[0]), to = number(range.back());
    if (range.size() > 2 || !from || !to) return notUnderstood("lens", text, remedy);
    lens.shortest_mm = *from;
    lens.longest_mm = *to;
    for (std::size_t i = 1; i < parts.size(); ++i) {
        const auto pair = split(parts[i], '=');
        const auto value = pair.size() == 2 ? number(pair[1]) : std::nullopt;
        if (pair.size() == 2 && pair[0] == "name")
            lens.name = pair[1];
        else if (value && pair[0] == "widest")
            lens.widest = *value;
        else if (value && pair[0] == "narrowest")
            lens.narrowest = *value;
        else if (value && pair[0] == "closest")
            lens.closest_mm = *value;
        else
            return notUnderstood("lens", parts[i], "say widest=, narrowest=, closest= (mm) or name=");
    }
    return lens;
}

Result<Sensor> sensorFrom(const std::string& text, Sensor sensor) {
    auto size = sensorSize(text);
    if (!size) {
        std::string names;
        for (const std::string& n : sensorNames()) names += (names.empty() ? "" : ", ") + n;
        const auto typed = sizeFrom("sensor", text);
        if (!typed)
            return notUnderstood("sensor", text, "give its size in mm, like 36x24, or one of: " + names);
        size = *typed;
    }
    sensor.width_mm = size->x();
    sensor.height_mm = size->y();
    return sensor;
}

Result<Sensor> pixelsFrom(const std::string& text, Sensor sensor) {
    const auto px = sizeFrom("pixels", text);
    if (!px) return px.error();
    const auto whole = [](double v) { return static_cast<int>(std::clamp(v, -1e6, 1e6)); };
    sensor.width_px = whole(px->x());
    sensor.height_px = whole(px->y());
    return sensor;
}

Result<ReferenceLength> referenceFrom(const std::string& text) {
    if (const auto reference = referenceLength(text)) return *reference;
    return notUnderstood("reference length", text, "say rule 300, card, A3, A4 or A5");
}

Result<Squaring> squaringFrom(const std::string& text) {
    if (const auto s = squaringFromName(text)) return *s;
    return notUnderstood("squaring", text, "say eye, level or mirror");
}

Result<Marking> markingFrom(const std::string& text) {
    if (text == "clicked") return Marking::Clicked;
    if (text == "fitted") return Marking::Fitted;
    return notUnderstood("marks", text, "say clicked or fitted");
}

Result<Task> taskFromJson(const std::string& text, const std::string& name) {
    try {
        Task task = readTask(storage::parseJson(text));
        if (auto sound = check(task); !sound) return sound.error();
        return task;
    } catch (const storage::JsonFault& fault) {
        return Error{ErrorCode::FileDamaged, fault.what, name, fault.remedy};
    }
}

}  // namespace trammel::plan
