// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/tasks/DraftKeeper.h"

#include <QDateTime>
#include <QDir>
#include <QFileInfo>
#include <QPointer>
#include <QStandardPaths>

namespace trammel::ui {
namespace fs = std::filesystem;

DraftKeeper::DraftKeeper(Document& document, QString folder, QObject* parent)
    : QObject(parent), document_(document), folder_(std::move(folder)) {
    worker_.setMaxThreadCount(1);
    timer_.setSingleShot(true);
    timer_.setInterval(kWait_ms);
    connect(&timer_, &QTimer::timeout, this, &DraftKeeper::writeAside);
    connect(&document_, &Document::changed, this, &DraftKeeper::heed);
}

DraftKeeper::~DraftKeeper() {
    document_.disconnect(this);
    worker_.waitForDone();
    if (place_) place_->clear();
}

QString DraftKeeper::usualFolder() {
    const QString state = qEnvironmentVariable("XDG_STATE_HOME");
    return (state.isEmpty() ? QDir::home().filePath(QStringLiteral(".local/state")) : state) +
           QStringLiteral("/trammel/drafts");
}

void DraftKeeper::heed(const DocumentChange& change) {
    if (!change.survey && !change.file && !change.opened) return;
    if (document_.unsaved()) {
        // not restarted: a hand that never rests must not put the writing off for ever
        if (!timer_.isActive()) timer_.start();
        return;
    }
    timer_.stop();
    std::optional<storage::DraftPlace> older;
    std::swap(older, takenUp_);  // saved before this window wrote its own
    if (place_ || older)
        worker_.start([place = place_, older = std::move(older)] {
            if (place) place->clear();
            if (older) older->clear();
        });
}

void DraftKeeper::writeAside() {
    if (!document_.unsaved()) return;
    if (!place_) {
        auto place = storage::DraftPlace::claim(folder_.toStdString());
        if (!place) return complain(place.error());
        place_ = std::move(*place);
    }
    storage::Draft draft;
    draft.surveyFile = document_.file();
    draft.photoFolder = document_.photoFolder();
    draft.surveyFileState = storage::stateOf(draft.surveyFile);
    draft.time = QDateTime::currentDateTimeUtc().toString(Qt::ISODate).toStdString();
    draft.survey = document_.survey();
    std::optional<storage::DraftPlace> older;
    std::swap(older, takenUp_);
    worker_.start([this, place = *place_, draft = std::move(draft), older = std::move(older)] {
        const auto written = storage::writeDraft(draft, place.file());
        if (written) {
            if (older) older->clear();
            return;
        }
        // the destructor waits for this worker, so that `this` lives
        QMetaObject::invokeMethod(
            this, [this, error = written.error()] { complain(error); }, Qt::QueuedConnection);
    });
}

void DraftKeeper::complain(const Error& error) {
    if (complained_) return;
    complained_ = true;
    Q_EMIT wrong(error);
}

std::vector<DraftKeeper::Left> DraftKeeper::left() const {
    std::vector<Left> all;
    for (const fs::path& file : storage::abandonedDrafts(folder_.toStdString())) {
        const auto draft = storage::readDraft(file);
        if (!draft) {
            all.push_back({file, tr("Unsaved work was left behind, but it cannot be read. %1")
                                     .arg(QString::fromStdString(draft.error().sentence()))});
            continue;
        }
        const QDateTime when = QDateTime::fromString(QString::fromStdString(draft->time), Qt::ISODate);
        const QString time = QLocale().toString(when.toLocalTime(), QLocale::ShortFormat);
        QString words =
            draft->surveyFile.empty()
                ? tr("A new survey was not saved when the program ended; its last state is of %1.").arg(time)
                : tr("Changes to %1 were not saved when the program ended; the last is of %2.")
                      .arg(QString::fromStdString(draft->surveyFile.string()), time);
        if (!draft->surveyFile.empty() && storage::stateOf(draft->surveyFile) != draft->surveyFileState)
            words += tr(" The file itself was written since: saving would replace that.");
        all.push_back({file, words});
    }
    return all;
}

Result<void> DraftKeeper::takeUp(const fs::path& file) {
    auto place = storage::DraftPlace::takeOver(file);
    if (!place) return place.error();
    auto draft = storage::readDraft(file);
    if (!draft) return draft.error();
    takenUp_ = std::move(*place);
    document_.takeUp(std::move(draft->survey), draft->surveyFile, draft->photoFolder);
    return {};
}

void DraftKeeper::throwAway(const fs::path& file) {
    if (const auto place = storage::DraftPlace::takeOver(file)) place->clear();
}

}  // namespace trammel::ui
