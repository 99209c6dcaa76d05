// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <cstddef>
#include <unordered_map>

#include "core/survey/Survey.h"

namespace trammel::adjust {

/// An index of the network (int, −1 for "none") as a container wants it.
constexpr std::size_t at(int i) { return static_cast<std::size_t>(i); }

/// The index of an id, −1 for "none".
inline int lookUp(const std::unordered_map<survey::Id, int>& map, const survey::Id& id) {
    const auto it = map.find(id);
    return it == map.end() ? -1 : it->second;
}

}  // namespace trammel::adjust
