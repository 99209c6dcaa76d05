// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <cstddef>

#include "core/survey/Survey.h"

/// The lists of the survey by the type of their objects, for code that treats all kinds alike.
namespace trammel::survey {

/// Calls f(list) for each list of the survey.
template <class S, class F>
void forEachList(S& survey, F&& f) {
    f(survey.groups);
    f(survey.stations);
    f(survey.levels);
    f(survey.features);
    f(survey.marks);
    f(survey.readings);
    f(survey.dimensions);
    f(survey.outlines);
    f(survey.conditions);
}

/// Calls f(id) for every object of every list.
template <class F>
void forEachId(const Survey& survey, F&& f) {
    forEachList(survey, [&](const auto& list) {
        for (const auto& item : list) f(item.id);
    });
}

template <class T>
std::vector<T>& listOf(Survey& survey);
template <>
inline std::vector<CameraGroup>& listOf(Survey& s) {
    return s.groups;
}
template <>
inline std::vector<Station>& listOf(Survey& s) {
    return s.stations;
}
template <>
inline std::vector<Level>& listOf(Survey& s) {
    return s.levels;
}
template <>
inline std::vector<Feature>& listOf(Survey& s) {
    return s.features;
}
template <>
inline std::vector<Mark>& listOf(Survey& s) {
    return s.marks;
}
template <>
inline std::vector<Reading>& listOf(Survey& s) {
    return s.readings;
}
template <>
inline std::vector<Dimension>& listOf(Survey& s) {
    return s.dimensions;
}
template <>
inline std::vector<Outline>& listOf(Survey& s) {
    return s.outlines;
}
template <>
inline std::vector<Condition>& listOf(Survey& s) {
    return s.conditions;
}

/// How many objects carry this id.
inline std::size_t countId(const Survey& survey, const Id& id) {
    std::size_t n = 0;
    forEachId(survey, [&](const Id& other) { n += other == id; });
    return n;
}

}  // namespace trammel::survey
