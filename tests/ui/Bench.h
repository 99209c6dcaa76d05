// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QComboBox>
#include <QFile>
#include <QLabel>
#include <QLineEdit>
#include <QPushButton>
#include <QTabWidget>
#include <QTemporaryDir>
#include <QTest>
#include <filesystem>

#include "ScriptedPrompts.h"
#include "core/storage/SurveyFile.h"
#include "ui/MainWindow.h"

namespace trammel::ui {
namespace fs = std::filesystem;

inline const QString kSample = QStringLiteral(TRAMMEL_SAMPLES "/stepped-board/stepped-board.trammel");

/// A window of its own for each test, with the sample open.
struct Bench {
    ScriptedPrompts prompts;
    MainWindow window{prompts};

    explicit Bench(const QString& file = kSample) {
        window.resize(1280, 800);
        window.show();
        QVERIFY(QTest::qWaitForWindowActive(&window));
        if (!file.isEmpty()) window.desk().openFile(file);
        window.canvas().setFocus();
    }
    const survey::Survey& survey() { return window.document().survey(); }
    QUndoStack& undo() { return window.document().undoStack(); }
    template <class T>
    T* part(const char* name) {
        auto* found = window.findChild<T*>(QString::fromLatin1(name));
        if (!found) qFatal("no part of the window is called %s", name);
        return found;
    }
    void click(const QPoint& at) { QTest::mouseClick(&window.canvas(), Qt::LeftButton, {}, at); }
    /// Place on the canvas at this share of the shown photograph's width and height.
    QPoint inPicture(double across, double down) {
        const auto* station = survey::find(survey().stations, window.choice().station());
        if (!station) qFatal("no photograph is shown");
        return window.canvas()
            .view()
            .toScreen({across * station->photo.width, down * station->photo.height})
            .toPoint();
    }
    void key(Qt::Key key) { QTest::keyClick(&window.canvas(), key); }
    bool notices(const QString& words) {
        return window.notices().sentences().join(QLatin1Char('\n')).contains(words, Qt::CaseInsensitive);
    }
    void type(const char* field, const QString& text) {
        auto* edit = part<QLineEdit>(field);
        edit->clear();
        QTest::keyClicks(edit, text);
    }
    void showTab(const char* list) {
        auto* tabs = part<QTabWidget>("panels");
        for (int i = 0; i < tabs->count(); ++i)
            if (tabs->widget(i)->findChild<QWidget*>(QString::fromLatin1(list))) tabs->setCurrentIndex(i);
    }
    bool adjust() {
        QTest::mouseClick(part<QPushButton>("adjust"), Qt::LeftButton);
        return QTest::qWaitFor([&] { return !window.jobs().running(); }, 120000) &&
               window.document().solution() && !window.document().solutionIsOld();
    }
    /// Screen place of the canvas without a mark near it, so that a click makes a new one.
    QPointF photoAt(const QPoint& at) { return window.canvas().view().toPhoto(at); }
};

inline fs::path copySample(const QTemporaryDir& folder) {
    const fs::path to = folder.path().toStdString();
    fs::copy(fs::path(kSample.toStdString()).parent_path(), to, fs::copy_options::recursive);
    return to / "stepped-board.trammel";
}

}  // namespace trammel::ui
