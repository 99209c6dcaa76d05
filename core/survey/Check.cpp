// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/survey/Check.h"

#include <fmt/core.h>

#include <iterator>
#include <map>

#include "core/survey/Lists.h"
#include "core/survey/ObjectCheck.h"
#include "core/survey/SamePlace.h"

namespace trammel::survey {
namespace {

void append(std::vector<Error>& errors, std::vector<Error> more) {
    errors.insert(errors.end(), std::make_move_iterator(more.begin()), std::make_move_iterator(more.end()));
}

void checkIds(std::vector<Error>& errors, const Survey& s) {
    std::map<Id, int> uses;
    forEachId(s, [&](const Id& id) { ++uses[id]; });
    for (const auto& [id, n] : uses) {
        if (id.empty())
            errors.push_back({ErrorCode::BadValue,
                              fmt::format("{} object{} of the survey {} no id", n, n == 1 ? "" : "s",
                                          n == 1 ? "has" : "have"),
                              "", "give each an id of its own"});
        else if (n > 1)
            errors.push_back({ErrorCode::BadValue, fmt::format("{} objects share the id {}", n, id),
                              describe(s, id), "give each an id of its own"});
    }
}

void checkPlaces(std::vector<Error>& errors, const Survey& s) {
    for (const auto& [a, b] : featuresAtOnePlace(s))
        errors.push_back(
            {ErrorCode::BadValue,
             fmt::format("lies at the place of {} in every photograph that shows both", describe(s, b)),
             describe(s, a), "remove one of them, or mark it where it belongs"});
}

}  // namespace

std::vector<Error> check(const Survey& s) {
    std::vector<Error> errors;
    checkIds(errors, s);
    forEachList(s, [&](const auto& list) {
        for (const auto& item : list) append(errors, checkObject(s, item));
    });
    for (const Mark& m : s.marks) append(errors, checkPoints(s, m));
    append(errors, checkObject(s, s.datum));
    if (errors.empty()) checkPlaces(errors, s);  // a comparison of unsound marks would say the same twice
    return errors;
}

}  // namespace trammel::survey
