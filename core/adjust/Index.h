// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <cstddef>

namespace trammel::adjust {

/// An index of the network (int, −1 for "none") as a container wants it.
constexpr std::size_t at(int i) { return static_cast<std::size_t>(i); }

}  // namespace trammel::adjust
