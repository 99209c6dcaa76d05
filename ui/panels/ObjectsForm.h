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

    static int objectsNeeded(survey::Quantity quantity);

  Q_SIGNALS:
    void changed();

  private:
    void refill();

    survey::Survey survey_;
    QComboBox* quantity_;
    QComboBox* first_;
    QComboBox* second_;
};

}  // namespace trammel::ui
