// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <cstdint>
#include <filesystem>
#include <memory>
#include <string>

#include "core/adjust/Solution.h"
#include "core/base/Progress.h"
#include "core/base/Result.h"
#include "core/handover/Deliver.h"

namespace trammel::ui {

struct HandoverWish {
    survey::Survey survey;
    std::shared_ptr<const adjust::Solution> solution;
    handover::Terms terms;
    std::filesystem::path file;
    std::uint64_t revision = 0;  ///< of the document, when the survey was taken from it
};

/// What came of it: what the file contains, found by reading it again, and what is printed on it besides.
struct HandedOver {
    std::string contents;
    std::vector<std::string> remarks;
    bool agrees = true;          ///< false: the drawing says DO NOT CUT
    std::uint64_t revision = 0;  ///< that was written
};

/// Adjusts once more from the marks alone, draws, writes atomically, reads the written file and compares; a
/// file that differs is taken away again. The window's own solution depends, far within its ±, on the way
/// that led to it; what is cut must depend on the survey alone, and be what the batch command writes. Runs on
/// a worker.
Result<HandedOver> handOver(const HandoverWish& wish, const Progress* progress);

}  // namespace trammel::ui
