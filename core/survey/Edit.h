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
                            Put<Dimension>, Put<Outline>, Put<Condition>, Remove<CameraGroup>,
                            Remove<Station>, Remove<Level>, Remove<Feature>, Remove<Mark>, Remove<Reading>,
                            Remove<Dimension>, Remove<Outline>, Remove<Condition>, SetDatum, SetTitle>;

/// One act of the user: a name for the undo list and its changes in order.
struct Edit {
    std::string name;
    std::vector<Change> changes;
    /// Set in an inverse: it brings back what was, good or bad, so its values are not judged again.
    /// Otherwise mending an unsound survey could not be undone.
    bool restores = false;
};

/// Applies all changes or none. Returns the inverse edit: apply(s, e) then apply(s, inverse) leaves the
/// survey equal. The inverse carries the same name. Each object put is checked as it stands (finite, σ > 0,
/// lengths > 0, the objects it names exist and are of the right kind, its id belongs to no other list); a
/// mark may still have too few points, because the user places them one by one: check() speaks of those.
Result<Edit> apply(Survey& survey, const Edit& edit);

/// An unused id with the given letter: 1 + the largest number in use ("F12").
Id freshId(const Survey& survey, char letter);

/// The edit that removes an object together with everything that refers to it (marks of a feature,
/// readings, dimensions and conditions on it, features of a level, stations of a camera group), so that it
/// can be undone as one act. An outline only loses the feature from its chain, and goes when nothing of the
/// chain is left; the datum loses what it pointed at. No changes when the survey does not hold the id.
Edit removeWithDependents(const Survey& survey, const Id& id);

}  // namespace trammel::survey
