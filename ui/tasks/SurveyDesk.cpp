// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/tasks/SurveyDesk.h"

#include <QCoreApplication>
#include <QDir>
#include <QFileInfo>

namespace trammel::ui {
namespace {

const char* const kSample = "stepped-board/stepped-board.trammel";

/// A new survey begins with its datum level, so that the first click has somewhere to go.
survey::Survey emptySurvey() {
    survey::Survey survey;
    survey.levels.push_back({"L1", "reference face"});
    survey.datum.level = "L1";
    return survey;
}

}  // namespace

SurveyDesk::SurveyDesk(Document& document, Prompts& prompts, QObject* parent)
    : QObject(parent), document_(document), prompts_(prompts) {}

QString SurveyDesk::samplePlace() {
    const QDir program(QCoreApplication::applicationDirPath());
    for (const QString& folder : {program.filePath(QStringLiteral("../share/trammel/samples")),
                                  QStringLiteral(TRAMMEL_SAMPLES_DIR)}) {
        const QString file = QDir(folder).filePath(QString::fromLatin1(kSample));
        if (QFileInfo::exists(file)) return QDir::cleanPath(file);
    }
    return {};
}

void SurveyDesk::open() {
    const QString file = prompts_.surveyToOpen();
    if (!file.isEmpty()) openFile(file);
}

void SurveyDesk::openFile(const QString& file) {
    if (mayLeave()) read(file, false);
}

void SurveyDesk::openSample() {
    const QString file = samplePlace();
    if (file.isEmpty())
        return Q_EMIT wrong({ErrorCode::FileMissing,
                             "the sample is not installed",
                             {},
                             "build it with the command in the README, or open a survey of your own"});
    if (mayLeave()) read(file, true);
}

void SurveyDesk::read(const QString& file, bool asSample) {
    const auto done = document_.open(file.toStdString(), asSample);
    if (!done) return Q_EMIT wrong(done.error());
    Q_EMIT opened();
}

void SurveyDesk::startFromPhotographs() { startFrom(prompts_.photographs()); }

void SurveyDesk::startFrom(const QStringList& files) {
    if (files.isEmpty() || !mayLeave()) return;
    document_.start(emptySurvey());
    Q_EMIT opened();
    Q_EMIT photographsChosen(files);
}

bool SurveyDesk::save() {
    if (document_.file().empty()) return saveAs();
    return saveTo(QString::fromStdString(document_.file().string()));
}

bool SurveyDesk::saveAs() {
    const QString suggestion = document_.file().empty() ? QStringLiteral("survey.trammel")
                                                        : QString::fromStdString(document_.file().string());
    const QString file = prompts_.placeToSave(suggestion);
    return !file.isEmpty() && saveTo(file);
}

bool SurveyDesk::saveTo(const QString& file) {
    const auto done = document_.save(file.toStdString());
    if (!done) {
        Q_EMIT wrong(done.error());
        return false;
    }
    Q_EMIT said(tr("Saved as %1.").arg(file));
    return true;
}

bool SurveyDesk::mayLeave() {
    if (!document_.unsaved()) return true;
    switch (prompts_.unsavedChanges(document_.displayName())) {
        case Prompts::Unsaved::Save:
            return save();
        case Prompts::Unsaved::Discard:
            return true;
        case Prompts::Unsaved::Cancel:
            return false;
    }
    return false;
}

}  // namespace trammel::ui
