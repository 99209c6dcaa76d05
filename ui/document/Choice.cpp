// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/document/Choice.h"

namespace trammel::ui {
namespace {

template <class T>
void keepOrFirst(survey::Id& id, const std::vector<T>& list) {
    if (survey::find(list, id)) return;
    id = list.empty() ? survey::Id() : list.front().id;
}

}  // namespace

std::vector<survey::Id> objectsOf(const survey::Survey& survey, const survey::Id& entry) {
    if (const auto* d = survey::find(survey.dimensions, entry)) return d->objects;
    if (const auto* r = survey::find(survey.readings, entry)) return r->objects;
    if (const auto* c = survey::find(survey.conditions, entry)) return c->objects;
    return {};
}

void Choice::set(survey::Id& field, const survey::Id& id) {
    if (field == id) return;
    field = id;
    Q_EMIT changed();
}

void Choice::settle(const survey::Survey& survey) {
    const auto before = std::tuple(station_, level_, feature_, mark_, entry_);
    keepOrFirst(station_, survey.stations);
    keepOrFirst(level_, survey.levels);
    if (!survey::find(survey.features, feature_)) feature_.clear();
    if (!survey::find(survey.marks, mark_)) mark_.clear();
    if (!survey::find(survey.dimensions, entry_) && !survey::find(survey.readings, entry_) &&
        !survey::find(survey.conditions, entry_))
        entry_.clear();
    if (before != std::tuple(station_, level_, feature_, mark_, entry_)) Q_EMIT changed();
}

}  // namespace trammel::ui
