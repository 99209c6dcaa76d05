// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <filesystem>
#include <string>

#include "core/render/Scene.h"

namespace trammel::render {

/// Reads a scene file (JSON; the sample `samples/stepped-board/scene.json` shows every key, the folder's
/// README explains them). Angles are degrees in the file. Every mistake is one sentence that names the place.
Result<Scene> loadScene(const std::filesystem::path& file);
Result<Scene> sceneFromJson(const std::string& text, const std::string& nameForErrors);

}  // namespace trammel::render
