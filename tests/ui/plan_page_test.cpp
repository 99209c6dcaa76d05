// SPDX-License-Identifier: GPL-3.0-or-later
// Planning in the window comes to what core and the batch come to.
#include <QProcess>
#include <QTextBrowser>
#include <QTimer>

#include "Bench.h"
#include "core/plan/PlanText.h"
#include "core/plan/TaskWords.h"
#include "ui/canvas/SheetPainter.h"
#include "ui/panels/PlanForm.h"
#include "ui/panels/PlanPage.h"
#include "ui/panels/TypedNumber.h"

using namespace trammel;
using namespace trammel::ui;

namespace {

PlanPage* openPlan(Bench& bench) {
    QTest::mouseClick(bench.part<QPushButton>("planWay"), Qt::LeftButton);
    return bench.part<PlanPage>("plan");
}

bool waitForPlan(PlanPage* page) {
    return QTest::qWaitFor([&] { return page->plan().has_value(); }, 120000);
}

void typeTask(Bench& bench) {
    bench.type("planSize", QStringLiteral("220x140"));
    bench.type("planHeights", QStringLiteral("0, 9"));
    bench.type("planNeed", QStringLiteral("0.25"));
    bench.type("planLenses", QStringLiteral("150"));
    bench.type("planRoom", QStringLiteral("4"));
}

QByteArray bytesWithoutDates(const QString& file) {
    QFile in(file);
    if (!in.open(QIODevice::ReadOnly)) return {};
    QByteArray bytes = in.readAll();
    for (int at = bytes.indexOf("(D:"); at >= 0; at = bytes.indexOf("(D:", at + 1))
        bytes.remove(at, bytes.indexOf(')', at) - at);
    return bytes;
}

}  // namespace

class PlanTest : public QObject {
    Q_OBJECT
  private Q_SLOTS:
    void planEqualsCore();
    void badNumberIsASentenceInPlace();
    void savesWhatTheBatchWrites();
    void goesBackAndKeepsWhatWasTyped();
    void assumedStandsBesideWhatNobodyTyped();
    void decimalCommasAreDecimals();
    void stopsAndSaysSo();
    void theWindowAnswersWhileItPlans();
};

void PlanTest::planEqualsCore() {
    Bench bench{QString()};
    auto* page = openPlan(bench);
    QVERIFY(page->isVisible());
    typeTask(bench);
    QVERIFY(waitForPlan(page));
    plan::Task task;
    task.sizeX_mm = 220;
    task.sizeY_mm = 140;
    task.heights_mm = {0, 9};
    task.need_mm = 0.25;
    task.lenses = {*plan::lensFrom("150")};
    task.room_mm = 4000;
    QVERIFY(*page->findChild<PlanForm*>()->task() == task);
    const auto made = plan::makePlan(task);
    QVERIFY(static_cast<bool>(made));
    QCOMPARE(bench.part<QLabel>("planVerdict")->text(), QString::fromStdString(plan::verdict(*made)));
    QVERIFY(bench.part<QLabel>("planVerdict")->text().contains(QStringLiteral("± 0.25 mm")));
}

void PlanTest::badNumberIsASentenceInPlace() {
    Bench bench{QString()};
    auto* page = openPlan(bench);
    QVERIFY(waitForPlan(page));
    bench.type("planNeed", QStringLiteral("a tenth"));
    QVERIFY(!page->plan());
    QVERIFY(!bench.part<QTextBrowser>("planWords")->isEnabled());  // greyed: no longer of what is typed
    const auto refusal = typedNumber(QStringLiteral("a tenth"), QStringLiteral("wanted ±"));
    auto* verdict = bench.part<QLabel>("planVerdict");
    const QString sentence = QString::fromStdString(refusal.error().sentence());
    QVERIFY(QTest::qWaitFor([&] { return verdict->text() == sentence; }, 5000));
    QVERIFY(!bench.part<QPushButton>("planSave")->isEnabled());
    QCOMPARE(bench.part<QLineEdit>("planNeed")->text(), QStringLiteral("a tenth"));
    bench.type("planNeed", QStringLiteral("0.1"));
    QVERIFY(waitForPlan(page));
    QVERIFY(bench.part<QTextBrowser>("planWords")->isEnabled());
    QVERIFY(bench.part<QPushButton>("planSave")->isEnabled());
}

void PlanTest::savesWhatTheBatchWrites() {
#ifdef TRAMMEL_PROGRAM
    QTemporaryDir folder;
    Bench bench{QString()};
    auto* page = openPlan(bench);
    typeTask(bench);
    QVERIFY(waitForPlan(page));
    bench.prompts.page = folder.filePath(QStringLiteral("window.pdf"));
    QTest::mouseClick(bench.part<QPushButton>("planSave"), Qt::LeftButton);
    QVERIFY(bench.notices(QStringLiteral("window.pdf")));
    const QString batch = folder.filePath(QStringLiteral("batch.pdf"));
    QProcess program;
    program.start(QStringLiteral(TRAMMEL_PROGRAM),
                  {QStringLiteral("plan"), QStringLiteral("--size"), QStringLiteral("220x140"),
                   QStringLiteral("--heights"), QStringLiteral("0,9"), QStringLiteral("--need"),
                   QStringLiteral("0.25"), QStringLiteral("--lens"), QStringLiteral("150"),
                   QStringLiteral("--room"), QStringLiteral("4"), QStringLiteral("--out"), batch});
    QVERIFY(program.waitForFinished(120000));
    const QByteArray expected = bytesWithoutDates(batch);
    QVERIFY(expected.size() > 1000);
    QVERIFY(bytesWithoutDates(bench.prompts.page) == expected);
    bench.prompts.page = folder.filePath(QStringLiteral("no such folder/window.pdf"));
    QTest::mouseClick(bench.part<QPushButton>("planSave"), Qt::LeftButton);
    QVERIFY(bench.notices(QStringLiteral("no such folder")));
#else
    QSKIP("the batch program is not built: its page cannot be compared");
#endif
}

void PlanTest::goesBackAndKeepsWhatWasTyped() {
    Bench bench{QString()};
    auto* page = openPlan(bench);
    bench.type("planSize", QStringLiteral("90x60"));
    QTest::keyClick(bench.part<QLineEdit>("planSize"), Qt::Key_Escape);
    QVERIFY(!page->isVisible());
    QTest::keyClick(&bench.window, Qt::Key_F7);
    QVERIFY(page->isVisible());
    QCOMPARE(bench.part<QLineEdit>("planSize")->text(), QStringLiteral("90x60"));
    QTest::keyClick(&bench.window, Qt::Key_F7);
    QVERIFY(!page->isVisible());
}

void PlanTest::assumedStandsBesideWhatNobodyTyped() {
    Bench bench{QString()};
    auto* page = openPlan(bench);
    QVERIFY(waitForPlan(page));
    const auto note = [&](const char* field) { return bench.part<QLabel>(field)->text(); };
    QVERIFY(note("planNeedNote").contains(QStringLiteral("assumed")));
    QVERIFY(note("planSensorNote").contains(QStringLiteral("36 × 24 mm, assumed")));
    const auto words = [&] { return bench.part<QTextBrowser>("planWords")->toPlainText(); };
    QVERIFY(words().contains(QStringLiteral("Assumed, for nobody has typed it: Part size, mm; Heights")));
    bench.type("planNeed", QStringLiteral("0.1"));  // the same value, but now it is the maker's own
    QVERIFY(!note("planNeedNote").contains(QStringLiteral("assumed")));
    QVERIFY(note("planSizeNote").contains(QStringLiteral("assumed")));
    QVERIFY(waitForPlan(page));
    QVERIFY(!words().contains(QStringLiteral("Wanted ±, mm;")));
}

void PlanTest::decimalCommasAreDecimals() {
    Bench bench{QString()};
    openPlan(bench);
    bench.type("planSize", QStringLiteral("80,5x60"));
    bench.type("planHeights", QStringLiteral("0; 1,6; 12"));
    bench.type("planNeed", QStringLiteral("0,2"));
    bench.type("planRoom", QStringLiteral("2,5"));
    auto* form = bench.part<PlanPage>("plan")->findChild<PlanForm*>();
    const auto task = form->task();
    QVERIFY(static_cast<bool>(task));
    QCOMPARE(task->sizeX_mm, 80.5);
    QVERIFY(task->heights_mm == (std::vector<double>{0, 1.6, 12}));
    QCOMPARE(task->need_mm, 0.2);
    QCOMPARE(task->room_mm, 2500.0);
    QCOMPARE(bench.part<QLabel>("planHeightsNote")->text(), QStringLiteral("0; 1.6; 12"));
    bench.type("planHeights", QStringLiteral("0, 1.6, 12"));
    QVERIFY(form->task()->heights_mm == (std::vector<double>{0, 1.6, 12}));
    bench.type("planHeights", QStringLiteral("0, 1,6, 12"));
    QVERIFY(form->task()->heights_mm == (std::vector<double>{0, 1.6, 12}));
}

void PlanTest::stopsAndSaysSo() {
    Bench bench{QString()};
    auto* page = openPlan(bench);
    auto* stop = bench.part<QPushButton>("stop");
    QVERIFY(QTest::qWaitFor([&] { return stop->isVisible(); }, 5000));
    QTest::mouseClick(stop, Qt::LeftButton);
    auto* verdict = bench.part<QLabel>("planVerdict");
    QTRY_VERIFY_WITH_TIMEOUT(verdict->text().contains(QStringLiteral("was stopped")), 20000);
    QVERIFY(!page->plan());
    QTest::keyClick(bench.part<QLineEdit>("planNeed"), Qt::Key_Return);
    QVERIFY(waitForPlan(page));
}

void PlanTest::theWindowAnswersWhileItPlans() {
    Bench bench{QString()};
    QTimer beat;
    int beats = 0;
    connect(&beat, &QTimer::timeout, this, [&] { ++beats; });
    auto* page = openPlan(bench);
    beat.start(5);
    // Planning on the interface's thread would let no timer run before the plan is there.
    QVERIFY(QTest::qWaitFor([&] { return bench.window.jobs().running(); }, 5000));
    QVERIFY(!page->plan());
    QVERIFY(QTest::qWaitFor([&] { return beats > 3; }, 5000));
    QVERIFY(waitForPlan(page));
}

QTEST_MAIN(PlanTest)
#include "plan_page_test.moc"
