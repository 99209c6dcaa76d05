// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QWidget>
#include <functional>

class QVBoxLayout;

namespace trammel::ui {

/// What went wrong, or what has been done, as sentences above the photograph: never in the way, there until
/// put away or until newer ones take their place.
class NoticeBar : public QWidget {
    Q_OBJECT
  public:
    enum class Weight { Said, Wrong };

    explicit NoticeBar(QWidget* parent = nullptr);
    /// A button of a notice, which goes away once one of them is pressed.
    struct Action {
        QString text;
        std::function<void()> act;
    };
    void show(Weight weight, const QString& sentence, const QString& action = {},
              std::function<void()> act = {});
    /// `entries`: what the sentence is about, one by one, listed on demand; choosing one acts on it and
    /// leaves the notice where it is.
    void show(Weight weight, const QString& sentence, const QList<Action>& actions,
              const QList<Action>& entries = {});
    void clear();
    QStringList sentences() const;

  private:
    QWidget* list(const QList<Action>& entries, QWidget* row);
    static constexpr int kMost = 3, kMostEntries = 6;
    void drop(QWidget* row);

    QVBoxLayout* layout_;
    QList<QWidget*> rows_;
};

}  // namespace trammel::ui
