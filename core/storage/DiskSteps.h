// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/storage/Disk.h"

/// Only for this folder: the steps of which an atomic save consists.
namespace trammel::storage {

/// A failed save of `file` in words; `code` is an errno.
Error writeError(const std::filesystem::path& file, int code);

/// The file that is really meant by a name: absolute, links followed. Refused: no name, a folder.
Result<std::filesystem::path> placeOf(const std::filesystem::path& name);

/// A hidden name in the same folder that no other save uses.
std::filesystem::path neighbourOf(const std::filesystem::path& file);

/// Writes, flushes and closes a new file with the permissions of `file` where that exists. 0, or errno; then
/// nothing is left of it.
int fillNeighbour(Disk& disk, const std::filesystem::path& neighbour, std::string_view bytes,
                  const std::filesystem::path& file);

/// Makes the renames in a folder survive a power cut. 0, or errno.
int flushFolder(Disk& disk, const std::filesystem::path& folder);

}  // namespace trammel::storage
