// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <functional>
#include <string>

#include "core/adjust/Network.h"

namespace trammel::bench {

struct Settings {
    int stations = 12, features = 500, repeat = 5;
    bool against = true;  ///< compare with Ceres
};

/// From the command line (--stations, --features, --repeat, --ceres 0); fails where they are too small.
Settings settingsFrom(int argc, char** argv);

struct Scene {
    survey::Survey survey;
    adjust::State truth;
};

/// Random corners on five levels, all seen by all stations with 0.3 px; two references, a depth, two tapes.
Scene synthetic(const Settings& settings);

/// The truth, shaken by what a start may be off.
void shake(adjust::Network& network, const adjust::State& truth);

double seconds(const std::function<void()>& work);

/// Median of what `run` returns.
double median(int repeat, const std::function<double()>& run);

/// Ends the benchmark with a sentence.
[[noreturn]] void fail(const std::string& sentence);

}  // namespace trammel::bench
