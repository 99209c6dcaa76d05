// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>

namespace trammel::test {

/// The first line in which two texts differ, for people; empty when they are the same to the byte.
inline std::string firstDifference(const std::string& approved, const std::string& received) {
    if (approved == received) return "";
    std::istringstream a(approved), b(received);
    for (int line = 1;; ++line) {
        std::string wanted = "(end of file)", found = "(end of file)", text;
        const bool moreA = static_cast<bool>(std::getline(a, text));
        if (moreA) wanted = text;
        const bool moreB = static_cast<bool>(std::getline(b, text));
        if (moreB) found = text;
        if (!moreA && !moreB) return "only the end of the last line differs";
        if (wanted != found || moreA != moreB)
            return "line " + std::to_string(line) + "\n  approved: " + wanted + "\n  received: " + found;
    }
}

/// Compares a whole output with tests/golden/<name>. On a difference the test fails with the first line that
/// differs, and what was written is left in the build folder's received/<name> for approve.sh.
/// Leave out of `text` whatever changes from run to run (dates, paths, version).
inline void checkGolden(const std::string& name, const std::string& text) {
    const std::filesystem::path golden = std::filesystem::path(TRAMMEL_GOLDEN) / name;
    const std::filesystem::path received = std::filesystem::path(TRAMMEL_RECEIVED) / name;
    std::ifstream in(golden, std::ios::binary);
    const bool exists = static_cast<bool>(in);
    const std::string approved{std::istreambuf_iterator<char>(in), {}};
    const std::string difference = exists ? firstDifference(approved, text) : "nothing was approved yet";
    if (difference.empty()) {
        std::filesystem::remove(received);
        SUCCEED(name);
        return;
    }
    std::filesystem::create_directories(received.parent_path());
    std::ofstream(received, std::ios::binary) << text;
    FAIL(name << " differs from the approved file: " << difference
              << "\nlook, then: bash tests/golden/approve.sh");
}

}  // namespace trammel::test
