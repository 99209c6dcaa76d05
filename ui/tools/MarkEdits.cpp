// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/tools/MarkEdits.h"

#include <algorithm>
#include <array>

#include "core/survey/Names.h"

namespace trammel::ui {
namespace {

using survey::Feature;
using survey::FeatureKind;
using survey::Id;
using survey::Mark;
using survey::Put;
using survey::Survey;

std::string labelOf(const std::string& name, const Id& id) { return name.empty() ? id : name; }

std::string stationLabel(const Survey& survey, const Id& id) {
    const auto* station = survey::find(survey.stations, id);
    return station ? labelOf(station->name, id) : id;
}

}  // namespace

std::string freshFeatureName(const Survey& survey, FeatureKind kind) {
    static constexpr std::array<const char*, 6> kLetters = {"C", "E", "H", "A", "S", "FC"};  // FC: free curve
    const std::string letters = kLetters.at(static_cast<std::size_t>(kind));
    for (int n = 1;; ++n) {
        const std::string name = letters + std::to_string(n);
        if (std::ranges::none_of(survey.features, [&](const Feature& f) { return f.name == name; }))
            return name;
    }
}

survey::Edit markEdit(const Survey& survey, const Id& station, FeatureKind kind, const Id& feature,
                      const Id& level, const std::vector<QPointF>& points) {
    survey::Edit edit;
    Feature target;
    if (const auto* existing = survey::find(survey.features, feature)) {
        target = *existing;
    } else {
        target = {survey::freshId(survey, 'F'), freshFeatureName(survey, kind), kind, level};
        edit.changes.push_back(Put<Feature>{target});
    }
    Mark mark;
    const Mark* old = markOf(survey, station, target.id);
    if (old)
        mark = *old;
    else
        mark.id = survey::freshId(survey, 'M');
    mark.station = station;
    mark.feature = target.id;
    mark.origin = survey::MarkOrigin::Hand;
    mark.points.clear();
    for (const QPointF& p : points) mark.points.push_back({Vec2(p.x(), p.y()), kHandSigma_px});
    edit.changes.push_back(Put<Mark>{mark});
    edit.name = std::string(old ? "Mark again " : "Mark ") + std::string(survey::kindName(target.kind)) +
                " " + labelOf(target.name, target.id) + " in " + stationLabel(survey, station);
    return edit;
}

survey::Edit moveEdit(const Survey& survey, const Id& id, int point, const QPointF& by) {
    survey::Edit edit;
    const Mark* old = survey::find(survey.marks, id);
    if (!old) return edit;
    Mark mark = *old;
    for (std::size_t i = 0; i < mark.points.size(); ++i) {
        if (point >= 0 && static_cast<std::size_t>(point) != i) continue;
        mark.points[i].px += Vec2(by.x(), by.y());
        mark.points[i].sigma_px = kHandSigma_px;
    }
    mark.origin = survey::MarkOrigin::Hand;
    edit.name = "Move " + survey::describe(survey, id);
    edit.changes.push_back(Put<Mark>{mark});
    return edit;
}

survey::Edit takeOffersEdit(const Survey& survey, const std::vector<Mark>& marks) {
    survey::Edit edit;
    const Id first = survey::freshId(survey, 'M');
    const long long number = std::stoll(first.substr(1));
    for (std::size_t i = 0; i < marks.size(); ++i) {
        Mark mark = marks[i];
        mark.id = "M" + std::to_string(number + static_cast<long long>(i));
        edit.changes.push_back(Put<Mark>{mark});
    }
    edit.name = marks.size() == 1 ? "Take the offered mark of " + survey::describe(survey, marks[0].feature)
                                  : "Take " + std::to_string(marks.size()) + " offered marks";
    return edit;
}

survey::Edit excludeEdit(const Survey& survey, const Id& object, bool excluded) {
    survey::Edit edit;
    edit.name = (excluded ? "Leave out " : "Take in ") + survey::describe(survey, object);
    const auto put = [&](auto const* found) {
        if (!found) return;
        auto changed = *found;
        changed.excluded = excluded;
        edit.changes.push_back(Put<std::decay_t<decltype(changed)>>{changed});
    };
    put(survey::find(survey.marks, object));
    put(survey::find(survey.readings, object));
    put(survey::find(survey.stations, object));
    put(survey::find(survey.conditions, object));
    return edit;
}

bool isExcluded(const Survey& survey, const Id& object) {
    if (const auto* m = survey::find(survey.marks, object)) return m->excluded;
    if (const auto* r = survey::find(survey.readings, object)) return r->excluded;
    if (const auto* s = survey::find(survey.stations, object)) return s->excluded;
    if (const auto* c = survey::find(survey.conditions, object)) return c->excluded;
    return false;
}

survey::Edit removeEdit(const Survey& survey, const Id& object) {
    survey::Edit edit = survey::removeWithDependents(survey, object);
    edit.name = "Remove " + survey::describe(survey, object);
    return edit;
}

const Mark* markOf(const Survey& survey, const Id& station, const Id& feature) {
    for (const auto& mark : survey.marks)
        if (mark.station == station && mark.feature == feature) return &mark;
    return nullptr;
}

}  // namespace trammel::ui
