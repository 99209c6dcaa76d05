// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/storage/JsonReader.h"

#include <fmt/core.h>

#include <algorithm>
#include <limits>

namespace trammel::storage {
namespace {

[[noreturn]] void wrongType(const std::string& place, std::string_view wanted, const nlohmann::json& found) {
    throw JsonFault{fmt::format("{} must be {} but is {} {}", place, wanted,
                                found.is_array() || found.is_object() ? "an" : "a", found.type_name()),
                    "correct it or take an older copy"};
}

}  // namespace

JsonObject::JsonObject(const nlohmann::json& json, std::string place)
    : json_(json), place_(std::move(place)) {
    if (!json.is_object()) wrongType(place_.empty() ? "the document" : place_, "an object", json);
}

std::string JsonObject::place(const char* key) const { return place_.empty() ? key : place_ + "." + key; }

const nlohmann::json* JsonObject::child(const char* key, bool mayBeAbsent) {
    asked_.insert(key);
    const auto it = json_.find(key);
    if (it != json_.end()) return &*it;
    if (!mayBeAbsent) throw JsonFault{place(key) + " is absent", "add it or take an older copy"};
    return nullptr;
}

std::string JsonObject::text(const char* key, std::optional<std::string> fallback) {
    const auto* j = child(key, fallback.has_value());
    if (!j) return *fallback;
    if (!j->is_string()) wrongType(place(key), "a string", *j);
    return j->get<std::string>();
}

double jsonNumber(const nlohmann::json& json, const std::string& place) {
    if (json.is_null()) return std::numeric_limits<double>::quiet_NaN();
    if (!json.is_number()) wrongType(place, "a number", json);
    return json.get<double>();
}

double JsonObject::number(const char* key, std::optional<double> fallback) {
    const auto* j = child(key, fallback.has_value());
    return j ? jsonNumber(*j, place(key)) : *fallback;
}

int JsonObject::integer(const char* key, std::optional<int> fallback) {
    const auto* j = child(key, fallback.has_value());
    if (!j) return *fallback;
    const bool fits = j->is_number_unsigned() ? j->get<std::uint64_t>() <= std::numeric_limits<int>::max()
                                              : j->is_number_integer() &&
                                                    j->get<std::int64_t>() >= std::numeric_limits<int>::min();
    if (!fits)
        throw JsonFault{fmt::format("{} must be a whole number but is {}", place(key), j->dump()),
                        "correct it"};
    return j->get<int>();
}

bool JsonObject::flag(const char* key, std::optional<bool> fallback) {
    const auto* j = child(key, fallback.has_value());
    if (!j) return *fallback;
    if (!j->is_boolean()) wrongType(place(key), "true or false", *j);
    return j->get<bool>();
}

std::vector<std::string> JsonObject::texts(const char* key) {
    std::vector<std::string> list;
    each(key, [&list](const nlohmann::json& item, const std::string& at) {
        if (!item.is_string()) wrongType(at, "a string", item);
        list.push_back(item.get<std::string>());
    });
    return list;
}

void JsonObject::object(const char* key, bool mayBeAbsent, const std::function<void(JsonObject&)>& f) {
    const auto* j = child(key, mayBeAbsent);
    if (!j) return;
    JsonObject inner(*j, place(key));
    f(inner);
    inner.finish();
}

void JsonObject::each(const char* key,
                      const std::function<void(const nlohmann::json&, const std::string&)>& f) {
    const auto* j = child(key, true);
    if (!j) return;
    if (!j->is_array()) wrongType(place(key), "an array", *j);
    std::size_t i = 0;
    for (const nlohmann::json& item : *j) f(item, fmt::format("{}[{}]", place(key), i++));
}

void JsonObject::eachObject(const char* key, const std::function<void(JsonObject&)>& f) {
    each(key, [&f](const nlohmann::json& item, const std::string& at) {
        JsonObject inner(item, at);
        f(inner);
        inner.finish();
    });
}

void JsonObject::finish() const {
    for (const auto& item : json_.items())
        if (!asked_.contains(item.key()))
            throw JsonFault{
                fmt::format("{} is a key that this format does not have", place(item.key().c_str())),
                "correct its spelling or remove it"};
}

nlohmann::json parseJson(const std::string& text) {
    try {
        return nlohmann::json::parse(text);
    } catch (const nlohmann::json::parse_error& e) {
        const auto end = text.begin() + static_cast<std::ptrdiff_t>(std::min(e.byte, text.size()));
        throw JsonFault{fmt::format("the text breaks off or is no JSON at line {}",
                                    1 + std::count(text.begin(), end, '\n')),
                        "take an older copy"};
    } catch (const nlohmann::json::exception&) {  // a number too large for a double
        throw JsonFault{"the text holds a number that is out of range", "take an older copy"};
    }
}

}  // namespace trammel::storage
