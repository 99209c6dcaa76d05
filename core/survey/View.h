// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>
#include <string>
#include <string_view>

#include "core/math/Types.h"

namespace trammel::survey {

/// Principal views of ISO 5456-2 / ISO 128, and oblique for any other direction.
enum class View { Top, Bottom, Front, Rear, Left, Right, Oblique };

/// Rotation part → camera (camera x right, y down, z forward) of a camera standing square to the view.
/// Front looks along +y, right along −x, top along −z, bottom along +z. Oblique: identical to Top.
Mat3 squareRotation(View view);

std::string_view viewName(View view);                     ///< "top", "oblique", ...
std::optional<View> viewFromName(std::string_view name);  ///< inverse of viewName

}  // namespace trammel::survey
