// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QWidget>
#include <map>

#include "core/plan/Task.h"

class QCheckBox;
class QComboBox;
class QFormLayout;
class QLabel;
class QLineEdit;

namespace trammel::ui {

/// What the maker has and wants. Every field holds a value from the start and says "assumed" beside it until
/// the maker has touched it, with what was understood. A single number may have a decimal comma; in a list a
/// comma between two digits is one as well, so parts are parted by "; " or ", ".
class PlanForm : public QWidget {
    Q_OBJECT
  public:
    explicit PlanForm(QWidget* parent = nullptr);
    /// What is typed, or the sentence why it is no task.
    Result<plan::Task> task() const;
    /// Labels of the fields that nobody has touched.
    QStringList assumed() const;
    QWidget* first() const;

  Q_SIGNALS:
    void edited();
    void enterPressed();

  private:
    struct Field {
        QString label;
        QLabel* note = nullptr;
        bool touched = false;
    };
    QWidget* makeRow(QWidget* field, const char* name, const QString& label, const QString& tip);
    QLineEdit* line(const char* name, const QString& label, const QString& text, const QString& tip);
    QComboBox* choice(const char* name, const QString& label, const QString& tip);
    void touch(const QWidget* field);
    void explain();  ///< the notes beside the fields
    Result<void> readPart(plan::Task& task) const;
    Result<void> readCamera(plan::Task& task) const;
    Result<void> readTools(plan::Task& task) const;

    QFormLayout* form_;
    std::map<const QWidget*, Field> fields_;
    std::vector<const QWidget*> order_;
    QLineEdit *size_, *heights_, *need_, *needHeight_, *pixels_, *lenses_, *room_, *reference_, *caliper_;
    QComboBox *sensor_, *marks_, *square_;
    QCheckBox* depthRod_;
};

/// "0; 1,6; 12", "0, 1.6, 12" with '.' before decimals and ',' between parts, as core reads it.
std::string listWithPoints(QString text);

}  // namespace trammel::ui
