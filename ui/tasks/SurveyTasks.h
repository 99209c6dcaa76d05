// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QObject>
#include <QStringList>

#include "core/math/Types.h"
#include "ui/document/Document.h"
#include "ui/tasks/FitWork.h"
#include "ui/tasks/HandoverWork.h"
#include "ui/tasks/Jobs.h"

namespace trammel::ui {

/// The long works of the window: each takes a snapshot, runs as a job, and brings its outcome back to the
/// document if the same survey is still open.
class SurveyTasks : public QObject {
    Q_OBJECT
  public:
    SurveyTasks(Document& document, Jobs& jobs, QObject* parent = nullptr);

    void adjust();
    void addPhotographs(const QStringList& files);
    /// Missing, unreadable or changed photographs become notices.
    void checkPhotographs();
    /// Fits one mark. A corner whose edges cannot be found asks for them (`edgesNeeded`).
    void fitMark(const survey::Id& mark, const std::vector<Vec2>& along = {});
    /// Fits all hand marks as one act; those that then disagree keep their hand points and are named.
    void fitAll();
    void handOver(const handover::Terms& terms, const QString& file);

  Q_SIGNALS:
    void wrong(const trammel::Error& error);
    void said(const QString& sentence);
    void adjusted();
    void edgesNeeded(const std::string& mark, const QString& why);
    void handedOver(const QString& file, const trammel::ui::HandedOver& outcome);

  private:
    void perform(const survey::Edit& edit);
    std::map<survey::Id, QString> photographPaths() const;
    void takeFit(const survey::Mark& before, const Result<survey::Mark>& fitted, bool mayAsk);
    void takeFits(const Result<AllFitted>& fitted, quint64 revision);

    Document& document_;
    Jobs& jobs_;
};

}  // namespace trammel::ui
