// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <filesystem>
#include <string>
#include <vector>

#include "core/base/Result.h"
#include "core/storage/Disk.h"
#include "core/survey/Survey.h"

namespace trammel::storage {

/// Current version of the *.trammel JSON document (described in FORMAT.md beside this file).
inline constexpr int kFormatVersion = 4;

/// Reads a survey. FileMissing, FileDamaged (no JSON, a value of the wrong type, a key that the format does
/// not have: the sentence names where) or FileNewer. What the values mean is not judged: survey::check.
Result<survey::Survey> load(const std::filesystem::path& file);

/// Atomic: written to a neighbour file, flushed to disk, then renamed over the old one. On failure the
/// neighbour is gone and the old file is whole (see writeWhole).
Result<void> save(const survey::Survey& survey, const std::filesystem::path& file);
Result<void> save(const survey::Survey& survey, const std::filesystem::path& file, Disk& disk);

/// The document as text and back. Finite numbers round-trip exactly; a number that is none (NaN, infinity)
/// is written as null and read as NaN, so that even an unsound survey can be saved and mended later.
/// Bytes that are no UTF-8 are replaced by U+FFFD.
std::string toJson(const survey::Survey& survey);
Result<survey::Survey> fromJson(const std::string& text, const std::string& nameForErrors);

/// Photographs of the survey that are missing, unreadable or changed since they were marked, one sentence
/// each. `file` is the survey file; photograph paths are relative to its folder.
std::vector<Error> checkPhotographs(const survey::Survey& survey, const std::filesystem::path& file);

}  // namespace trammel::storage
