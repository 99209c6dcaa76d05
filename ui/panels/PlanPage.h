// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QWidget>
#include <atomic>
#include <memory>
#include <optional>

#include "core/plan/Plan.h"
#include "ui/document/Prompts.h"
#include "ui/tasks/Jobs.h"

class QComboBox;
class QLabel;
class QPushButton;
class QTextBrowser;
class QTimer;

namespace trammel::ui {

class PlanForm;
class SheetView;

/// Planning before the first photograph: what the maker has and wants is typed at the left, the page for the
/// bench stands at the right. It is planned anew on a worker a moment after typing stops; what is typed is
/// read by core/plan/TaskWords.h, as the batch reads it, and refused with the same sentences. Needs no
/// survey.
class PlanPage : public QWidget {
    Q_OBJECT
  public:
    PlanPage(Jobs& jobs, Prompts& prompts, QWidget* parent = nullptr);
    ~PlanPage() override;

    /// Of what is typed; nothing while it is being made or where it is refused.
    const std::optional<plan::Plan>& plan() const { return plan_; }

  Q_SIGNALS:
    void backAsked();
    void said(const QString& sentence);
    void wrong(const trammel::Error& error);

  protected:
    void keyPressEvent(QKeyEvent* event) override;
    void showEvent(QShowEvent* event) override;

  private:
    QWidget* makeResult();
    void typed();                   ///< something changed: plan it in a moment
    void setCurrent(bool current);  ///< greys the page and the words while another plan is to come
    void begin();
    void take(int round, const Result<plan::Plan>& made);
    void refuse(const Error& error);
    void savePage();
    void showPaper();

    Jobs& jobs_;
    Prompts& prompts_;
    PlanForm* form_;
    QComboBox* paper_;
    QLabel* verdict_;
    QTextBrowser* words_;
    QPushButton* save_;
    SheetView* sheet_;
    QTimer* pause_;
    int round_ = 0;  ///< of planning; outcomes of earlier rounds are passed over
    bool begun_ = false;
    std::shared_ptr<std::atomic<bool>> stale_;  ///< tells the round that runs that it is no longer wanted
    std::optional<plan::Plan> plan_;
};

}  // namespace trammel::ui
