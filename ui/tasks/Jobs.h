// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QObject>
#include <QThreadPool>
#include <functional>
#include <memory>
#include <vector>

#include "core/base/Error.h"
#include "core/base/Progress.h"

namespace trammel::ui {

/// Long work off the interface's thread. A job works on values it was given, may report progress and be
/// stopped, and returns what the interface has to do with its outcome.
class Jobs : public QObject {
    Q_OBJECT
  public:
    using Outcome = std::function<void()>;                          ///< runs on the interface's thread
    using Work = std::function<Outcome(const Progress& progress)>;  ///< runs on a worker

    explicit Jobs(QObject* parent = nullptr);
    ~Jobs() override;  ///< stops everything and waits; no outcome is delivered any more

    void run(const QString& name, Work work);
    /// Asks every job to stop; their outcomes still arrive (as cancelled errors where the work says so).
    void stop();
    bool running() const { return !jobs_.empty(); }
    bool running(const QString& name) const;
    /// Name and fraction of the job that began last.
    QString name() const;
    double fraction() const;

  Q_SIGNALS:
    void changed();
    void failed(const trammel::Error& error);  ///< a work threw; its own outcome does not come

  private:
    struct Job {
        QString name;
        std::shared_ptr<Progress> progress;
        double fraction = 0.0;
    };
    Outcome guarded(const Work& work, const Progress& progress);
    void report(const std::shared_ptr<Progress>& progress, double fraction);
    void end(const std::shared_ptr<Progress>& progress, const Outcome& outcome);

    std::vector<Job> jobs_;
    QThreadPool pool_;
};

}  // namespace trammel::ui
