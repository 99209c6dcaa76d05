// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/base/Result.h"
#include "core/survey/Survey.h"

/// What is wrong with one object by itself and with the objects it names: values that are not finite, σ not
/// positive, lengths of zero, dangling ids, objects of the wrong number or kind. Used when an object is put
/// into the survey (core/survey/Edit.h) and over the whole survey (core/survey/Check.h). Each finding names
/// the object as people know it, so the object should already stand in the survey.
namespace trammel::survey {

std::vector<Error> checkObject(const Survey& survey, const CameraGroup& group);
std::vector<Error> checkObject(const Survey& survey, const Station& station);
std::vector<Error> checkObject(const Survey& survey, const Level& level);
std::vector<Error> checkObject(const Survey& survey, const Feature& feature);
std::vector<Error> checkObject(const Survey& survey, const Mark& mark);
std::vector<Error> checkObject(const Survey& survey, const Reading& reading);
std::vector<Error> checkObject(const Survey& survey, const Dimension& dimension);
std::vector<Error> checkObject(const Survey& survey, const Outline& outline);
std::vector<Error> checkObject(const Survey& survey, const Condition& condition);
std::vector<Error> checkObject(const Survey& survey, const Datum& datum);

/// The fewest points a mark of this kind needs: corner 1, edge 2, hole and arc 3,
/// curve 4, slot 5.
std::size_t leastPoints(FeatureKind kind);

/// checkObject of a mark whose photograph and feature were already looked up (null: not there). Marks are
/// many.
std::vector<Error> checkMark(const Survey& survey, const Mark& mark, const Station* station,
                             const Feature* feature);

/// The mark has too few points, or they coincide so that they fix no line or rim of its feature.
std::vector<Error> checkPoints(const Survey& survey, const Mark& mark, const Feature* feature);

/// Conditions that cannot hold together whatever the marks say.
std::vector<Error> checkContradictions(const Survey& survey);

}  // namespace trammel::survey
