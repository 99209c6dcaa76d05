// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <filesystem>
#include <string>
#include <vector>

#include "core/base/Result.h"
#include "core/survey/Survey.h"

namespace trammel::storage {

/// Current version of the *.trammel JSON document.
inline constexpr int kFormatVersion = 1;

Result<survey::Survey> load(const std::filesystem::path& file);

/// Atomic: written to a neighbour file, flushed to disk, then renamed over the old one. On failure the old
/// file is whole and the neighbour is gone.
Result<void> save(const survey::Survey& survey, const std::filesystem::path& file);

/// The document as text and back (numbers round-trip exactly).
std::string toJson(const survey::Survey& survey);
Result<survey::Survey> fromJson(const std::string& text, const std::string& nameForErrors);

/// Photographs of the survey that are missing, unreadable or changed since they were marked.
/// `file` is the survey file; photograph paths are relative to its folder.
std::vector<Error> checkPhotographs(const survey::Survey& survey, const std::filesystem::path& file);

}  // namespace trammel::storage
