// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>
#include <variant>
#include <vector>

#include "core/base/Result.h"
#include "core/survey/Survey.h"

namespace trammel::survey {

/// Adds an object, or replaces the one with the same id in place.
template <class T>
struct Put {
    T object;
    std::size_t position = static_cast<std::size_t>(-1);  ///< where to insert a new one; default at the end
};

/// Removes an object of the list of T. Fails when the id is absent or another object still refers to it.
template <class T>
struct Remove {
    Id id;
};

struct SetDatum {
    Datum datum;
};

struct SetTitle {
    std::string title, unit, note;
};

using Change = std::variant<Put<CameraGroup>, Put<Station>, Put<Level>, Put<Feature>, Put<Mark>, Put<Reading>,
                            Put<Dimension>, Put<Outline>, Remove<CameraGroup>, Remove<Station>, Remove<Level>,
                            Remove<Feature>, Remove<Mark>, Remove<Reading>, Remove<Dimension>, Remove<Outline>,
                            SetDatum, SetTitle>;

/// One act of the user: a name for the undo list and its changes in order.
struct Edit {
    std::string name;
    std::vector<Change> changes;
};

/// Applies all changes or none. Returns the inverse edit: apply(s, e) then apply(s, inverse) leaves the
/// survey equal. The inverse carries the same name. Values are checked (finite, σ > 0, references exist).
Result<Edit> apply(Survey& survey, const Edit& edit);

/// An unused id with the given letter: 1 + the largest number in use ("F12").
Id freshId(const Survey& survey, char letter);

/// The edit that removes an object together with everything that refers to it (marks of a feature,
/// readings on it...), so that it can be undone as one act.
Edit removeWithDependents(const Survey& survey, const Id& id);

}  // namespace trammel::survey
