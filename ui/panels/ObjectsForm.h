// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QWidget>

#include "core/survey/Survey.h"

class QComboBox;

namespace trammel::ui {

/// Chooses a quantity and the objects it is about; offers only objects that it can be about.
class ObjectsForm : public QWidget {
    Q_OBJECT
  public:
    explicit ObjectsForm(bool withTape, QWidget* parent = nullptr);

    void setSurvey(const survey::Survey& survey);
    /// Takes over features that the user selected elsewhere, as far as they fit the quantity.
    void propose(const std::vector<survey::Id>& objects);

    survey::Quantity quantity() const;
    std::vector<survey::Id> objects() const;  ///< as many as the quantity needs; fewer when none are there
    bool complete() const;                    ///< all objects are chosen

  Q_SIGNALS:
    void changed();

  private:
    std::size_t needed() const;  ///< objects of the choice at hand: an angle is of two edges or three points
    void refill();

    survey::Survey survey_;
    QComboBox* quantity_;
    QComboBox* first_;
    QComboBox* second_;
    QComboBox* third_;
};

}  // namespace trammel::ui
