// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "core/render/Scene.h"

/// Reading JSON with errors that name the place; used inside the folder only.
namespace trammel::render::scenejson {

using Json = nlohmann::json;

/// Thrown while reading and caught at the folder's border.
struct Trouble {
    std::string where, what;
};

/// An object of the document and the path that leads to it ("cameras[2]").
class Place {
  public:
    Place(const Json& json, std::string path) : json_(json), path_(std::move(path)) {}
    std::string where(const std::string& key) const { return path_.empty() ? key : path_ + "." + key; }
    bool has(const std::string& key) const { return json_.is_object() && json_.contains(key); }
    std::string text(const std::string& key) const;
    std::string text(const std::string& key, const std::string& otherwise) const;
    double number(const std::string& key) const;
    double number(const std::string& key, double otherwise) const;
    double positive(const std::string& key) const;
    bool flag(const std::string& key) const;  ///< false when absent
    std::vector<double> numbers(const std::string& key, std::size_t count) const;
    std::vector<double> numbers(const std::string& key, std::size_t count,
                                std::vector<double> otherwise) const;
    Vec2 vector2(const std::string& key) const;
    Vec3 vector3(const std::string& key) const;
    std::vector<Vec2> points(const std::string& key) const;  ///< two or more
    std::vector<std::string> texts(const std::string& key) const;
    Place child(const std::string& key) const;
    std::vector<Place> list(const std::string& key) const;  ///< empty when absent
    /// Index of the item of `items` whose name stands under the key.
    template <class T>
    int indexIn(const std::string& key, const std::vector<T>& items) const {
        const std::string name = text(key);
        for (std::size_t i = 0; i < items.size(); ++i)
            if (items[i].name == name) return static_cast<int>(i);
        throw Trouble{where(key), "nothing is named " + name};
    }

  private:
    const Json& at(const std::string& key) const;
    const Json& json_;
    std::string path_;
};

/// Solids and the features named in them.
void readSolids(const Place& root, Scene& scene);

}  // namespace trammel::render::scenejson
