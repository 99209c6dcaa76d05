// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <filesystem>

#include "core/render/Observe.h"

namespace trammel::render {

/// Draws a survey of the scene and saves it beside its rendered photographs, with the content hash of each.
/// Fails when a photograph is not there yet.
Result<void> writeSurvey(const Scene& scene, const std::filesystem::path& file,
                         const ObserveOptions& options);

}  // namespace trammel::render
