// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/render/SceneJson.h"

#include <fmt/core.h>

#include <cmath>

namespace trammel::render::scenejson {

const Json& Place::at(const std::string& key) const {
    if (!has(key)) throw Trouble{where(key), "is missing"};
    return json_.at(key);
}

std::string Place::text(const std::string& key) const {
    const Json& v = at(key);
    if (!v.is_string()) throw Trouble{where(key), "must be a text"};
    return v.get<std::string>();
}

std::string Place::text(const std::string& key, const std::string& otherwise) const {
    return has(key) ? text(key) : otherwise;
}

double Place::number(const std::string& key) const {
    const Json& v = at(key);
    if (!v.is_number()) throw Trouble{where(key), "must be a number"};
    const double d = v.get<double>();
    if (!std::isfinite(d)) throw Trouble{where(key), "must be finite"};
    return d;
}

double Place::number(const std::string& key, double otherwise) const {
    return has(key) ? number(key) : otherwise;
}

double Place::positive(const std::string& key) const {
    const double d = number(key);
    if (!(d > 0.0)) throw Trouble{where(key), "must be greater than zero"};
    return d;
}

bool Place::flag(const std::string& key) const {
    if (!has(key)) return false;
    if (!at(key).is_boolean()) throw Trouble{where(key), "must be true or false"};
    return at(key).get<bool>();
}

std::vector<double> Place::numbers(const std::string& key, std::size_t count) const {
    const Json& v = at(key);
    if (!v.is_array() || v.size() != count)
        throw Trouble{where(key), fmt::format("must be a list of {} numbers", count)};
    std::vector<double> out;
    for (const Json& item : v) {
        if (!item.is_number() || !std::isfinite(item.get<double>()))
            throw Trouble{where(key), "must hold finite numbers"};
        out.push_back(item.get<double>());
    }
    return out;
}

std::vector<double> Place::numbers(const std::string& key, std::size_t count,
                                   std::vector<double> otherwise) const {
    return has(key) ? numbers(key, count) : otherwise;
}

Vec2 Place::vector2(const std::string& key) const {
    const auto v = numbers(key, 2);
    return {v[0], v[1]};
}

Vec3 Place::vector3(const std::string& key) const {
    const auto v = numbers(key, 3);
    return {v[0], v[1], v[2]};
}

std::vector<Vec2> Place::points(const std::string& key) const {
    const Json& v = at(key);
    std::vector<Vec2> out;
    for (const Json& item : v) {
        if (!item.is_array() || item.size() != 2 || !item[0].is_number() || !item[1].is_number())
            throw Trouble{where(key), "must be a list of points"};
        out.emplace_back(item[0].get<double>(), item[1].get<double>());
    }
    if (out.size() < 2) throw Trouble{where(key), "needs two points at least"};
    return out;
}

std::vector<std::string> Place::texts(const std::string& key) const {
    const Json& v = at(key);
    if (!v.is_array()) throw Trouble{where(key), "must be a list"};
    std::vector<std::string> out;
    for (const Json& item : v) {
        if (!item.is_string()) throw Trouble{where(key), "must hold texts"};
        out.push_back(item.get<std::string>());
    }
    return out;
}

Place Place::child(const std::string& key) const {
    const Json& v = at(key);
    if (!v.is_object()) throw Trouble{where(key), "must be an object"};
    return Place(v, where(key));
}

std::vector<Place> Place::list(const std::string& key) const {
    std::vector<Place> out;
    if (!has(key)) return out;
    const Json& v = json_.at(key);
    if (!v.is_array()) throw Trouble{where(key), "must be a list"};
    for (std::size_t i = 0; i < v.size(); ++i) {
        const std::string path = fmt::format("{}[{}]", where(key), i);
        if (!v[i].is_object()) throw Trouble{path, "must be an object"};
        out.emplace_back(v[i], path);
    }
    return out;
}

}  // namespace trammel::render::scenejson
