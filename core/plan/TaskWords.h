// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>
#include <vector>

#include "core/plan/Task.h"

/// Parts of a task as people type them, in a command or a form; every refusal is one sentence.
namespace trammel::plan {

/// "0, 12, 25": numbers parted by commas; `what` names them in an error.
Result<std::vector<double>> numbersFrom(const std::string& what, const std::string& text);
/// "300x200" or "300 × 200".
Result<Vec2> sizeFrom(const std::string& what, const std::string& text);
/// "200", "85-135", and after commas what else is known: "85-135,widest=4,narrowest=22,closest=1500" (mm).
Result<Lens> lensFrom(const std::string& text);
/// "36x24" or a name of `sensorNames`; pixels stay as they are.
Result<Sensor> sensorFrom(const std::string& text, Sensor sensor);
/// "6000x4000": pixels of the sensor; parts of one are dropped, and `check` refuses what no sensor has.
Result<Sensor> pixelsFrom(const std::string& text, Sensor sensor);
/// "rule 300", "card", "A4", …
Result<ReferenceLength> referenceFrom(const std::string& text);
Result<Squaring> squaringFrom(const std::string& text);
Result<Marking> markingFrom(const std::string& text);  ///< "clicked", "fitted"

/// A task from JSON; every key has the words of Task.h with its unit:
///
///     {"size_mm": [300, 200], "heights_mm": [0, 12, 25], "need_mm": 0.1, "need_height_mm": 0.1,
///      "sensor": "36x24", "pixels": [6000, 4000],
///      "lenses": ["200", "85-135,closest=1500"], "room_mm": 5000,
///      "marks": "fitted", "mark_sigma_px": 0.15, "caliper": true, "caliper_reach_mm": 150,
///      "depth_rod": true, "reference": "rule 300", "square": "level"}
///
/// Only size and lenses must be there. A key that is not known is refused, since it is likely misspelt.
Result<Task> taskFromJson(const std::string& text, const std::string& nameForErrors);

}  // namespace trammel::plan
