// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QObject>

#include "core/survey/Survey.h"

namespace trammel::ui {

/// The features, levels and photographs that a row of the ledger (dimension, reading, condition) is about.
std::vector<survey::Id> objectsOf(const survey::Survey& survey, const survey::Id& entry);

/// What the user is working on: not part of the survey, not saved, not undone.
class Choice : public QObject {
    Q_OBJECT
  public:
    using QObject::QObject;

    const survey::Id& station() const { return station_; }  ///< the large photograph
    const survey::Id& level() const { return level_; }      ///< new features go there
    /// The feature that the next mark belongs to; empty: a new one.
    const survey::Id& feature() const { return feature_; }
    const survey::Id& mark() const { return mark_; }  ///< the mark that is picked, or empty
    /// The row of the ledger that is looked at (dimension, reading, condition), or empty.
    const survey::Id& entry() const { return entry_; }

    void setStation(const survey::Id& id) { set(station_, id); }
    void setLevel(const survey::Id& id) { set(level_, id); }
    void setFeature(const survey::Id& id) { set(feature_, id); }
    void setMark(const survey::Id& id) { set(mark_, id); }
    void setEntry(const survey::Id& id) { set(entry_, id); }

    /// Drops what the survey no longer holds, and chooses the first photograph and level if none is.
    void settle(const survey::Survey& survey);

  Q_SIGNALS:
    void changed();

  private:
    void set(survey::Id& field, const survey::Id& id);

    survey::Id station_, level_, feature_, mark_, entry_;
};

}  // namespace trammel::ui
