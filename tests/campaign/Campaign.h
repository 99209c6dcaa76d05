// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>

#include "core/render/Observe.h"
#include "core/render/Truth.h"

/// Long trials with known truth. Each prints a table and returns 0 when its bounds hold, 1 when not.
namespace trammel::campaign {

struct Settings {
    int draws = 200;
    int first = 1;     ///< convergence: number of the first draw, for draws that nothing was tuned on
    std::string only;  ///< blunders: only kinds of this name, each miss printed
    std::string scene = TRAMMEL_SAMPLES "/stepped-board/scene.json";
};

int accuracy(const Settings& settings);
int coverage(const Settings& settings);
int convergence(const Settings& settings);
int blunders(const Settings& settings);
int squares(const Settings& settings);
int realEdges(const Settings& settings);
int offers(const Settings& settings);
int edgeFits(const Settings& settings);
int edgesOutside(const Settings& settings);
int advice(const Settings& settings);   ///< 500 draws: all surveys, else two
int plans(const Settings& settings);    ///< more than 40 draws: 20 plans and photographs, else six
int calibration(const Settings& settings);
int handedOver(const Settings& settings);  ///< written files spoilt on their way: caught?
int bundled(const Settings& settings);  ///< no bounds: a table only

/// The sample's observer and truth; ends the program with a sentence when the scene cannot be read.
struct Sample {
    explicit Sample(const std::string& scene);
    render::Observer observer;
    render::Truth truth;
};

/// Marks by hand (1.5 px) or with fitted edges (0.1 px).
render::ObserveOptions marks(bool fitted, std::uint64_t seed);

}  // namespace trammel::campaign
