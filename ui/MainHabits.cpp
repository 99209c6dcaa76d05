// SPDX-License-Identifier: GPL-3.0-or-later
// Surveys opened lately, files dropped on the window, and what a fit of all marks left to the user.
#include <QDragEnterEvent>
#include <QDropEvent>
#include <QFileInfo>
#include <QMenu>
#include <QMimeData>
#include <QStackedWidget>

#include "ui/MainWindow.h"
#include "ui/settings/RecentSurveys.h"

namespace trammel::ui {
namespace {

QStringList localFiles(const QMimeData& data) {
    QStringList files;
    for (const QUrl& url : data.urls())
        if (url.isLocalFile()) files << url.toLocalFile();
    return files;
}

bool isSurvey(const QString& file) { return file.endsWith(QStringLiteral(".trammel"), Qt::CaseInsensitive); }

}  // namespace

void MainWindow::makeLatelyMenu(QMenu* menu) {
    menu->setObjectName(QStringLiteral("latelyMenu"));
    menu->setToolTipsVisible(true);
    const auto fill = [this, menu] {
        menu->clear();
        const QStringList files = recentSurveys();
        for (const QString& file : files) {
            const QFileInfo info(file);
            QString name = info.completeBaseName();
            name.replace(QLatin1Char('&'), QStringLiteral("&&"));  // or it would underline a letter
            auto* action = menu->addAction(info.exists() ? name : tr("%1 (missing)").arg(name));
            action->setToolTip(file);
            action->setEnabled(info.exists());
            connect(action, &QAction::triggered, this, [this, file] { desk_.openFile(file); });
        }
        if (files.empty()) menu->addAction(tr("No survey was opened yet"))->setEnabled(false);
        menu->addSeparator();
        auto* forget = menu->addAction(tr("Forget these"));
        forget->setToolTip(tr("Empty this list; the files stay where they are"));
        forget->setEnabled(!files.empty());
        connect(forget, &QAction::triggered, this, [] { forgetSurveys(); });
    };
    connect(menu, &QMenu::aboutToShow, this, fill);
    fill();
}

void MainWindow::listFitted(const AllFitted& outcome) {
    const auto& survey = document_.survey();
    QList<NoticeBar::Action> entries;
    const auto list = [&](const std::vector<survey::Id>& marks, const QString& why) {
        for (const auto& station : survey.stations)  // photograph by photograph
            for (const auto& id : marks) {
                const auto* mark = survey::find(survey.marks, id);
                if (!mark || mark->station != station.id) continue;
                entries << NoticeBar::Action{
                    tr("%1, %2: %3")
                        .arg(QString::fromStdString(survey::describe(survey, station.id)),
                             QString::fromStdString(survey::describe(survey, mark->feature)), why),
                    [this, id] { showObject(id); }};
            }
    };
    list(outcome.between, tr("lies between two edges; F asks which"));
    list(outcome.back, tr("its edge does not agree with the other photographs"));
    QString words = tr("%1 of %2 hand marks were fitted to the photographs; the others stay as they were.")
                        .arg(outcome.edit.changes.size())
                        .arg(outcome.tried);
    if (!outcome.between.empty()) words += tr(" %1 lie between two edges.").arg(outcome.between.size());
    if (!outcome.back.empty())
        words +=
            tr(" %1 found an edge that does not agree with the other photographs.").arg(outcome.back.size());
    notices_->show(NoticeBar::Weight::Said, words, {}, entries);
}

void MainWindow::dragEnterEvent(QDragEnterEvent* event) {
    if (!localFiles(*event->mimeData()).empty()) event->acceptProposedAction();
}

void MainWindow::dropEvent(QDropEvent* event) {
    const QStringList files = localFiles(*event->mimeData());
    if (files.empty()) return;
    event->acceptProposedAction();
    takeDropped(files);
}

void MainWindow::takeDropped(const QStringList& files) {
    QStringList surveys, photographs, folders;
    for (const QString& file : files)
        (QFileInfo(file).isDir() ? folders : isSurvey(file) ? surveys : photographs) << file;
    if (!folders.empty())
        return complain({ErrorCode::Refused, "a folder was dropped; nothing was taken from it",
                         folders.front().toStdString(), "drop the files in it"});
    if (!surveys.empty() && files.size() > 1)
        return complain({ErrorCode::Refused,
                         "a survey was dropped together with other files; nothing was opened",
                         surveys.front().toStdString(), "drop the survey alone"});
    if (!surveys.empty()) {
        // Later: opening may ask, and the program that the file was dragged from waits for the drop to end.
        QMetaObject::invokeMethod(
            this, [this, file = surveys.front()] { desk_.openFile(file); }, Qt::QueuedConnection);
        return;
    }
    const int page = pages_->currentIndex();
    if (page == Lens) return lens_->addPhotographs(photographs);
    if (page == Plan)
        return complain({ErrorCode::Refused, "photographs were dropped on the plan; nothing was taken",
                         photographs.front().toStdString(), "go back to the survey and drop them there"});
    if (!document_.isOpen()) return desk_.startFrom(photographs);
    tasks_.addPhotographs(photographs);
}

}  // namespace trammel::ui
