// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <filesystem>
#include <optional>
#include <string>

#include "core/base/Result.h"
#include "core/math/Types.h"

namespace trammel::rules {

enum class Format { DxfR2000, DxfR12, Svg };

/// Who takes half the width of the beam or cutter off each line, exactly once.
enum class Compensates { Shop, File };

/// One shop's rules. What a file leaves out the shop does not ask for: 0 and nothing ask for nothing.
struct ShopRules {
    std::string name, note;
    std::optional<Format> format;
    std::optional<Compensates> compensates;
    double kerf_mm = 0.0;           ///< with Compensates::File
    std::optional<Vec2> bed_mm;     ///< largest sheet, x and y
    double smallestHole_mm = 0.0;   ///< diameter
    double holePerThickness = 0.0;  ///< diameter over thickness, at least
    double smallestWeb_mm = 0.0;    ///< material between two lines
    double webPerThickness = 0.0;   ///< the same over the thickness
    double smallestGap_mm = 0.0;    ///< between two lines with no material between: slots and notches
    double smallestPiece_mm = 0.0;  ///< length of a line or arc of an outline
};

/// Keys as in resources/rules. FileMissing, FileDamaged (no JSON, another kind of file, a key that the format
/// does not have), FileNewer, BadValue (a length that is none): the sentence names file and key.
Result<ShopRules> loadRules(const std::filesystem::path& file);
Result<ShopRules> rulesFromJson(const std::string& text, const std::string& nameForErrors);

}  // namespace trammel::rules
