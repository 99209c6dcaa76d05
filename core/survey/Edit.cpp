// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/survey/Edit.h"

#include <fmt/core.h>

#include <algorithm>
#include <charconv>
#include <set>
#include <type_traits>
#include <utility>

#include "core/survey/Lists.h"
#include "core/survey/ObjectCheck.h"

namespace trammel::survey {
namespace {

std::optional<Error> first(std::vector<Error> errors) {
    if (errors.empty()) return std::nullopt;
    return std::move(errors.front());
}

/// The first object that still names this id; empty when there is none.
Id referrer(const Survey& s, const Id& id) {
    const auto names = [&id](const std::vector<Id>& ids) {
        return std::find(ids.begin(), ids.end(), id) != ids.end();
    };
    for (const auto& x : s.marks)
        if (x.station == id || x.feature == id) return x.id;
    for (const auto& x : s.readings)
        if (names(x.objects)) return x.id;
    for (const auto& x : s.dimensions)
        if (names(x.objects)) return x.id;
    for (const auto& x : s.conditions)
        if (names(x.objects)) return x.id;
    for (const auto& x : s.outlines)
        if (x.level == id || names(x.chain)) return x.id;
    for (const auto& x : s.features)
        if (x.level == id) return x.id;
    for (const auto& x : s.stations)
        if (x.group == id) return x.id;
    for (const auto& x : s.groups)
        if (x.refocusedFrom == id) return x.id;
    if (s.datum.level == id || s.datum.origin == id || s.datum.direction == id) return "datum";
    return {};
}

/// Makes single changes and remembers how to take each back.
class Changer {
  public:
    Changer(Survey& survey, bool judge) : s_(survey), judge_(judge) {}

    template <class T>
    std::optional<Error> operator()(const Put<T>& put) {
        auto& list = listOf<T>(s_);
        const auto at =
            std::find_if(list.begin(), list.end(), [&](const T& x) { return x.id == put.object.id; });
        // A removed object goes back to its place even where a faulty survey holds its id a second time.
        const bool bringsBack = !judge_ && put.position != static_cast<std::size_t>(-1);
        if (at == list.end() || bringsBack) {
            if (auto error = refuseId(put.object.id)) return error;
            const std::size_t position = std::min(put.position, list.size());
            list.insert(list.begin() + static_cast<std::ptrdiff_t>(position), put.object);
            undo_.push_back(Remove<T>{put.object.id});
        } else {
            undo_.push_back(Put<T>{*at});
            *at = put.object;
        }
        if (judge_) return first(checkObject(s_, put.object));
        return std::nullopt;
    }

    template <class T>
    std::optional<Error> operator()(const Remove<T>& remove) {
        auto& list = listOf<T>(s_);
        const auto at = std::find_if(list.begin(), list.end(), [&](const T& x) { return x.id == remove.id; });
        if (at == list.end())
            return Error{ErrorCode::NotFound, "the survey does not hold it", remove.id, "reload the survey"};
        if (judge_) {
            const Id by = referrer(s_, remove.id);
            if (!by.empty())
                return Error{ErrorCode::Refused, "is still used by " + describe(s_, by),
                             describe(s_, remove.id), "remove that first"};
        }
        undo_.push_back(Put<T>{*at, static_cast<std::size_t>(at - list.begin())});
        list.erase(at);
        return std::nullopt;
    }

    std::optional<Error> operator()(const SetDatum& set) {
        undo_.push_back(SetDatum{std::exchange(s_.datum, set.datum)});
        if (judge_) return first(checkObject(s_, set.datum));
        return std::nullopt;
    }

    std::optional<Error> operator()(const SetTitle& set) {
        undo_.push_back(SetTitle{std::exchange(s_.title, set.title), std::exchange(s_.unit, set.unit),
                                 std::exchange(s_.note, set.note)});
        return std::nullopt;
    }

    std::vector<Change> takeBack() {
        std::reverse(undo_.begin(), undo_.end());
        return std::move(undo_);
    }

  private:
    std::optional<Error> refuseId(const Id& id) const {
        if (id.empty() && judge_)
            return Error{ErrorCode::BadValue, "an object without an id cannot be added", "",
                         "give it a fresh id"};
        if (judge_ && countId(s_, id) > 0)
            return Error{ErrorCode::BadValue, "its id " + id + " already belongs to another object",
                         describe(s_, id), "give the new object a fresh id"};
        return std::nullopt;
    }

    Survey& s_;
    bool judge_;
    std::vector<Change> undo_;
};

/// Everything that goes when one object goes.
class Cascade {
  public:
    Cascade(const Survey& survey, const Id& id) : s_(survey), gone_{id} {
        for (const auto& x : s_.stations)
            if (has(x.group)) gone_.insert(x.id);
        for (const auto& x : s_.features)
            if (has(x.level)) gone_.insert(x.id);
        for (const auto& x : s_.marks)
            if (has(x.station) || has(x.feature)) gone_.insert(x.id);
        for (const auto& x : s_.readings)
            if (any(x.objects)) gone_.insert(x.id);
        for (const auto& x : s_.dimensions)
            if (any(x.objects)) gone_.insert(x.id);
        for (const auto& x : s_.conditions)
            if (any(x.objects)) gone_.insert(x.id);
    }

    /// Dependents before what they depend on.
    std::vector<Change> changes() {
        changeDatum();
        changeOutlines();
        changeGroups();
        remove(s_.conditions);
        remove(s_.dimensions);
        remove(s_.readings);
        remove(s_.marks);
        remove(s_.features);
        remove(s_.stations);
        remove(s_.levels);
        remove(s_.groups);
        return std::move(changes_);
    }

  private:
    bool has(const Id& id) const { return !id.empty() && gone_.contains(id); }
    bool any(const std::vector<Id>& ids) const {
        return std::any_of(ids.begin(), ids.end(), [this](const Id& id) { return has(id); });
    }
    void changeDatum() {
        Datum datum = s_.datum;
        for (Id* id : {&datum.level, &datum.origin, &datum.direction})
            if (has(*id)) id->clear();
        if (datum != s_.datum) changes_.push_back(SetDatum{datum});
    }
    void changeGroups() {
        for (const CameraGroup& g : s_.groups) {
            if (!has(g.refocusedFrom) || has(g.id)) continue;
            CameraGroup alone = g;
            alone.refocusedFrom.clear();
            changes_.push_back(Put<CameraGroup>{alone});
        }
    }
    void changeOutlines() {
        for (const Outline& o : s_.outlines) {
            Outline rest = o;
            std::erase_if(rest.chain, [this](const Id& id) { return has(id); });
            if (has(o.id) || has(o.level) || (rest.chain.empty() && !o.chain.empty()))
                changes_.push_back(Remove<Outline>{o.id});
            else if (rest != o)
                changes_.push_back(Put<Outline>{rest});
        }
    }
    template <class T>
    void remove(const std::vector<T>& list) {
        for (const T& x : list)
            if (gone_.contains(x.id)) changes_.push_back(Remove<T>{x.id});
    }

    const Survey& s_;
    std::set<Id> gone_;
    std::vector<Change> changes_;
};

}  // namespace

Result<Edit> apply(Survey& survey, const Edit& edit) {
    Changer changer(survey, !edit.restores);
    for (const Change& change : edit.changes) {
        std::optional<Error> error = std::visit(changer, change);
        if (!error) continue;
        Changer back(survey, false);
        for (const Change& c : changer.takeBack()) std::visit(back, c);
        return *error;
    }
    return Edit{edit.name, changer.takeBack(), true};
}

Id freshId(const Survey& survey, char letter) {
    unsigned long long largest = 0;
    forEachId(survey, [&](const Id& id) {
        if (id.size() < 2 || id[0] != letter) return;
        unsigned long long n = 0;
        const auto [end, code] = std::from_chars(id.data() + 1, id.data() + id.size(), n);
        if (n > 1'000'000'000'000) return;  // not one of ours; must not exhaust the numbers
        if (code == std::errc() && end == id.data() + id.size()) largest = std::max(largest, n);
    });
    return fmt::format("{}{}", letter, largest + 1);
}

Edit removeWithDependents(const Survey& survey, const Id& id) {
    Edit edit{"remove " + describe(survey, id), {}};
    if (countId(survey, id) > 0) edit.changes = Cascade(survey, id).changes();
    return edit;
}

}  // namespace trammel::survey
