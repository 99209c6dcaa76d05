// SPDX-License-Identifier: GPL-3.0-or-later
// Unsaved work outlives the program. Programs at work are killed at random moments, and what they had done a
// second before must be found.
#include <QCoreApplication>
#include <QProcess>
#include <QTimer>
#include <chrono>
#include <cstdio>
#include <random>

#include "Bench.h"
#include "ui/tasks/DraftKeeper.h"

using namespace trammel;
using namespace trammel::ui;

namespace {

long long now_ms() {
    return std::chrono::duration_cast<std::chrono::milliseconds>(
               std::chrono::steady_clock::now().time_since_epoch())
        .count();
}

/// An act that leaves its number in the survey.
survey::Edit actNumber(const survey::Survey& survey, int n) {
    return {"act", {survey::SetTitle{survey.title, survey.unit, std::to_string(n)}}};
}

/// The part of the program that is killed: works on the sample without a rest and prints what it did, when.
int work(int argc, char** argv) {
    QCoreApplication app(argc, argv);
    Document document;
    DraftKeeper keeper(document, QString::fromLocal8Bit(argv[2]));
    if (!document.open(kSample.toStdString(), true)) return 1;
    int done = 0;
    QTimer hand;
    QObject::connect(&hand, &QTimer::timeout, [&] {
        if (!document.perform(actNumber(document.survey(), ++done))) std::exit(1);
        std::printf("%d %lld\n", done, now_ms());
        std::fflush(stdout);
    });
    hand.start(5);
    return QCoreApplication::exec();
}

QString program() { return QCoreApplication::applicationFilePath(); }

}  // namespace

class DraftsTest : public QObject {
    Q_OBJECT
  private Q_SLOTS:
    void initTestCase() {
        if (!QFile::exists(kSample)) QSKIP("the sample has not been built");
    }
    void killedAtRandomMoments();
    void orderlyEndLeavesNothing();
    void goesOnWithLeftWork();
    void throwsLeftWorkAway();
    void saysOnceThatNothingCanBeKept();
};

void DraftsTest::killedAtRandomMoments() {
    std::mt19937 random(20);
    int lost = 0;
    for (int round = 0; round < 20; ++round) {
        struct Victim {
            QTemporaryDir folder;
            QProcess process;
            long long killAt = 0, killed = 0;
        };
        std::vector<std::unique_ptr<Victim>> victims;
        for (int i = 0; i < 5; ++i) {
            auto v = std::make_unique<Victim>();
            v->process.start(program(), {QStringLiteral("--work"), v->folder.path()});
            QVERIFY(v->process.waitForStarted());
            v->killAt = now_ms() + std::uniform_int_distribution<int>(200, 1800)(random);
            victims.push_back(std::move(v));
        }
        for (bool left = true; left;) {
            left = false;
            for (auto& v : victims) {
                if (v->killed) continue;
                left = true;
                if (now_ms() < v->killAt) continue;
                v->killed = now_ms();
                v->process.kill();  // SIGKILL
                QVERIFY(v->process.waitForFinished());
            }
            QTest::qWait(1);
        }
        for (auto& v : victims) {
            int mustHave = 0, last = 0;
            for (const QByteArray& line : v->process.readAllStandardOutput().split('\n')) {
                const auto words = line.split(' ');
                if (words.size() != 2) continue;
                last = words[0].toInt();
                if (words[1].toLongLong() <= v->killed - 1000) mustHave = last;
            }
            const auto drafts = storage::abandonedDrafts(v->folder.path().toStdString());
            if (drafts.empty()) {
                if (mustHave > 0) ++lost;
                continue;
            }
            QCOMPARE(drafts.size(), std::size_t(1));
            const auto draft = storage::readDraft(drafts.front());
            QVERIFY2(static_cast<bool>(draft), "a killed program left a draft that does not open");
            const int has = std::stoi(draft->survey.note);
            QVERIFY(has <= last + 1);  // killed between the act and its line
            if (has < mustHave) ++lost;
        }
    }
    QCOMPARE(lost, 0);
}

void DraftsTest::orderlyEndLeavesNothing() {
    QTemporaryDir folder;
    {
        Document document;
        DraftKeeper keeper(document, folder.path());
        QVERIFY(static_cast<bool>(document.open(kSample.toStdString(), true)));
        QVERIFY(static_cast<bool>(document.perform(actNumber(document.survey(), 1))));
        const auto files = [&] { return QDir(folder.path()).entryList({QStringLiteral("*.draft")}); };
        QVERIFY(QTest::qWaitFor([&] { return files().size() == 1 && keeper.settled(); }));
        // taken back: the survey is as it is on disk, and nothing needs to be kept
        document.undoStack().undo();
        QVERIFY(QTest::qWaitFor([&] { return files().isEmpty() && keeper.settled(); }));
        document.undoStack().redo();
        QVERIFY(QTest::qWaitFor([&] { return files().size() == 1 && keeper.settled(); }));
    }
    QVERIFY(QDir(folder.path()).isEmpty());
}

void DraftsTest::goesOnWithLeftWork() {
    QTemporaryDir folder, place;
    const fs::path file = copySample(place);
    storage::Draft draft;
    draft.surveyFile = file;
    draft.photoFolder = file.parent_path();
    draft.surveyFileState = storage::stateOf(file);
    draft.time = "2020-02-03T04:05:06Z";
    draft.survey = *storage::load(file);
    draft.survey.note = "drafted";
    QVERIFY(static_cast<bool>(storage::writeDraft(draft, folder.filePath("1.draft").toStdString())));

    ScriptedPrompts prompts;
    MainWindow window(prompts, folder.path());
    window.show();
    window.offerLeftWork();
    QCOMPARE(window.notices().sentences().size(), 1);
    QVERIFY(window.notices().sentences().front().contains(QString::fromStdString(file.string())));
    QPushButton* goOn = nullptr;
    for (auto* button : window.notices().findChildren<QPushButton*>())
        if (button->text() == QStringLiteral("Go on with it")) goOn = button;
    QVERIFY(goOn);
    QTest::mouseClick(goOn, Qt::LeftButton);
    QCOMPARE(window.document().survey().note, std::string("drafted"));
    QVERIFY(window.document().unsaved());
    // until this window has written its own, the old draft stays
    QVERIFY(QTest::qWaitFor([&] { return window.drafts()->settled(); }));
    QVERIFY(!QFile::exists(folder.filePath("1.draft")));
    QCOMPARE(QDir(folder.path()).entryList({QStringLiteral("*.draft")}).size(), 1);
    QVERIFY(window.desk().save());
    QCOMPARE(storage::load(file)->note, std::string("drafted"));
    QVERIFY(QTest::qWaitFor(
        [&] { return QDir(folder.path()).entryList({QStringLiteral("*.draft")}).isEmpty(); }));
}

void DraftsTest::throwsLeftWorkAway() {
    QTemporaryDir folder;
    storage::Draft draft;
    draft.time = "2020-02-03T04:05:06Z";
    QVERIFY(static_cast<bool>(storage::writeDraft(draft, folder.filePath("1.draft").toStdString())));
    ScriptedPrompts prompts;
    MainWindow window(prompts, folder.path());
    window.show();
    window.offerLeftWork();
    for (auto* button : window.notices().findChildren<QPushButton*>())
        if (button->text() == QStringLiteral("Throw it away")) QTest::mouseClick(button, Qt::LeftButton);
    QVERIFY(window.notices().sentences().isEmpty());
    QVERIFY(!QFile::exists(folder.filePath("1.draft")));
    QVERIFY(!window.document().isOpen());
}

void DraftsTest::saysOnceThatNothingCanBeKept() {
    QTemporaryDir folder;
    QFile blocked(folder.filePath("drafts"));
    QVERIFY(blocked.open(QIODevice::WriteOnly));
    ScriptedPrompts prompts;
    MainWindow window(prompts, folder.filePath("drafts"));
    QVERIFY(static_cast<bool>(window.document().open(kSample.toStdString(), true)));
    for (int n = 1; n <= 3; ++n) {
        QVERIFY(static_cast<bool>(window.document().perform(actNumber(window.document().survey(), n))));
        QVERIFY(QTest::qWaitFor([&] { return window.drafts()->settled(); }));
    }
    QCOMPARE(window.notices().sentences().filter(QStringLiteral("not kept aside")).size(), 1);
}

int main(int argc, char** argv) {
    if (argc == 3 && std::string(argv[1]) == "--work") return work(argc, argv);
    QApplication app(argc, argv);
    DraftsTest test;
    return QTest::qExec(&test, argc, argv);
}

#include "drafts_test.moc"
