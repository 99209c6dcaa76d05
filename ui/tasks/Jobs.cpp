// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/tasks/Jobs.h"

#include <QElapsedTimer>
#include <algorithm>
#include <exception>
#include <new>
#include <string>

namespace trammel::ui {

Jobs::Jobs(QObject* parent) : QObject(parent) { pool_.setMaxThreadCount(2); }

Jobs::~Jobs() {
    for (auto& job : jobs_) job.progress->cancel();
    pool_.waitForDone();
}

void Jobs::run(const QString& name, Work work) {
    // The report needs to know its own job, which owns the report: a weak handle breaks the circle.
    auto handle = std::make_shared<std::weak_ptr<Progress>>();
    auto throttle = std::make_shared<QElapsedTimer>();
    throttle->start();
    auto progress = std::make_shared<Progress>([this, handle, throttle](double fraction) {
        if (throttle->elapsed() < 40 && fraction < 1.0) return;  // the eye needs no more than 25 a second
        throttle->restart();
        QMetaObject::invokeMethod(
            this,
            [this, handle, fraction] {
                if (auto p = handle->lock()) report(p, fraction);
            },
            Qt::QueuedConnection);
    });
    *handle = progress;
    jobs_.push_back({name, progress, 0.0});
    pool_.start([this, progress, work = std::move(work)] {
        Outcome outcome = guarded(work, *progress);
        QMetaObject::invokeMethod(
            this, [this, progress, outcome = std::move(outcome)] { end(progress, outcome); },
            Qt::QueuedConnection);
    });
    Q_EMIT changed();
}

/// A work that throws (no memory for a large photograph) must not take the window with it.
Jobs::Outcome Jobs::guarded(const Work& work, const Progress& progress) {
    std::string what;
    try {
        return work(progress);
    } catch (const std::bad_alloc&) {
        what = "there is not enough memory for this work";
    } catch (const std::exception& e) {
        what = std::string("this work ended unexpectedly (") + e.what() + ")";
    }
    return [this, what] {
        Q_EMIT failed({ErrorCode::Refused, what, {}, "nothing has changed; save, then try again"});
    };
}

void Jobs::stop() {
    for (auto& job : jobs_) job.progress->cancel();
}

bool Jobs::running(const QString& name) const {
    return std::ranges::any_of(jobs_, [&](const Job& job) { return job.name == name; });
}

QString Jobs::name() const { return jobs_.empty() ? QString() : jobs_.back().name; }

double Jobs::fraction() const { return jobs_.empty() ? 0.0 : jobs_.back().fraction; }

void Jobs::report(const std::shared_ptr<Progress>& progress, double fraction) {
    for (auto& job : jobs_)
        if (job.progress == progress) job.fraction = fraction;
    Q_EMIT changed();
}

void Jobs::end(const std::shared_ptr<Progress>& progress, const Outcome& outcome) {
    std::erase_if(jobs_, [&](const Job& job) { return job.progress == progress; });
    if (outcome) outcome();
    Q_EMIT changed();
}

}  // namespace trammel::ui
