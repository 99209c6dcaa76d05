// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <cstdlib>
#include <filesystem>
#include <string>
#include <vector>

#include "core/calibrate/Calibrate.h"
#include "core/calibrate/FindBoard.h"
#include "core/photo/Decode.h"

/// Photographs of real boards: from the folder that TRAMMEL_REFERENCE names; OpenCV's left and right series
/// (Apache 2.0; 10 by 7 squares) else from Debian's opencv-doc.
namespace trammel::tests {

inline std::filesystem::path referenceFolder(const std::string& name) {
    const char* root = std::getenv("TRAMMEL_REFERENCE");
    return root ? std::filesystem::path(root) / "calibration" / name : std::filesystem::path{};
}

/// Files named prefix + two digits + ".jpg" in the folder, by number.
inline std::vector<std::filesystem::path> series(const std::filesystem::path& folder,
                                                 const std::string& prefix) {
    std::vector<std::filesystem::path> out;
    for (int n = 1; n <= 30; ++n) {
        const std::string number = (n < 10 ? "0" : "") + std::to_string(n);
        const auto file = folder / (prefix + number + ".jpg");
        if (!folder.empty() && std::filesystem::exists(file)) out.push_back(file);
    }
    return out;
}

inline std::vector<std::filesystem::path> leftOrRight(const std::string& which) {
    auto files = series(referenceFolder("opencv-left-right"), which);
    if (files.empty()) files = series("/usr/share/doc/opencv-doc/examples/data", which);
    return files;
}

inline const calibrate::Board kOpencvBoard{10, 7, 25.0, 25.0};

}  // namespace trammel::tests
