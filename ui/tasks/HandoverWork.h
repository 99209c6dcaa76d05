// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <filesystem>
#include <memory>
#include <string>

#include "core/adjust/Solution.h"
#include "core/base/Result.h"
#include "core/drawing/Build.h"
#include "core/handover/DxfWriter.h"

namespace trammel::ui {

struct HandoverWish {
    survey::Survey survey;
    std::shared_ptr<const adjust::Solution> solution;
    drawing::Options options;
    handover::DxfVersion version = handover::DxfVersion::R2000;
    std::filesystem::path file;
};

/// What came of it: what the file contains, found by reading it again, and where it departs from the drawing.
struct HandedOver {
    std::string contents;
    std::vector<std::string> differences;
    std::vector<std::string> warnings;
};

/// Draws, writes atomically, reads the written file and compares. Runs on a worker.
Result<HandedOver> handOver(const HandoverWish& wish);

}  // namespace trammel::ui
