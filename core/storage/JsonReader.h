// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <functional>
#include <nlohmann/json.hpp>
#include <optional>
#include <set>
#include <string>
#include <string_view>

/// Reading of JSON documents that people may have edited: every complaint names the place
/// ("marks[3].points_px[0]"), and a key that nobody asked for is a complaint too, because a misspelt key
/// would otherwise silently leave its default in force and be lost at the next save.
namespace trammel::storage {

/// Thrown inside core/storage only; turned into an Error at its border.
struct JsonFault {
    std::string what, remedy;
};

/// One object of the document with its place. Keys given a fallback may be absent.
class JsonObject {
  public:
    JsonObject(const nlohmann::json& json, std::string place);

    std::string text(const char* key, std::optional<std::string> fallback = std::nullopt);
    double number(const char* key, std::optional<double> fallback = std::nullopt);  ///< null reads as NaN
    int integer(const char* key, std::optional<int> fallback = std::nullopt);
    bool flag(const char* key, std::optional<bool> fallback = std::nullopt);
    std::vector<std::string> texts(const char* key);

    /// Reads an enumerator by its word; the complaint quotes the word found.
    template <class E>
    E word(const char* key, std::optional<E> (*fromName)(std::string_view),
           std::optional<E> fallback = std::nullopt) {
        const auto* j = child(key, fallback.has_value());
        if (!j) return *fallback;
        const std::string name = text(key);
        const std::optional<E> value = fromName(name);
        if (!value) throw JsonFault{place(key) + " holds the unknown word \"" + name + "\"", "correct it"};
        return *value;
    }

    /// Calls f for the object under the key; nothing when it is absent and may be.
    void object(const char* key, bool mayBeAbsent, const std::function<void(JsonObject&)>& f);
    /// Calls f for each element of the array under the key, which may be absent.
    void each(const char* key, const std::function<void(const nlohmann::json&, const std::string& place)>& f);
    void eachObject(const char* key, const std::function<void(JsonObject&)>& f);

    /// Complains of the first key that was not asked for.
    void finish() const;

    std::string place(const char* key) const;

  private:
    const nlohmann::json* child(const char* key, bool mayBeAbsent);

    const nlohmann::json& json_;
    std::string place_;
    std::set<std::string, std::less<>> asked_;
};

double jsonNumber(const nlohmann::json& json, const std::string& place);

/// Parses; on broken text the fault names the line.
nlohmann::json parseJson(const std::string& text);

}  // namespace trammel::storage
