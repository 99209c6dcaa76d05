// SPDX-License-Identifier: GPL-3.0-or-later
// Fitting, stopping, suspects and what a disagreeing survey hands over, on the real widgets with the sample.
#include <QAbstractButton>
#include <QListWidget>
#include <QRegularExpression>
#include <QScrollArea>
#include <new>
#include <stdexcept>

#include "Bench.h"
#include "core/survey/Edit.h"

using namespace trammel;
using namespace trammel::ui;

namespace {

bool idle(Bench& b, int patience_ms = 240000) {
    return QTest::qWaitFor([&] { return !b.window.jobs().running(); }, patience_ms);
}

const survey::Mark* firstMark(const survey::Survey& s, survey::FeatureKind kind, survey::View view) {
    for (const auto& m : s.marks) {
        const auto* feature = survey::find(s.features, m.feature);
        const auto* station = survey::find(s.stations, m.station);
        if (feature && station && feature->kind == kind && station->view == view) return &m;
    }
    return nullptr;
}

void pick(Bench& b, const survey::Mark& mark) {
    b.window.choice().setStation(mark.station);
    b.window.choice().setMark(mark.id);
    b.window.canvas().setFocus();
}

/// Makes the first distance reading long by this much.
survey::Id spoil(Bench& b, double by_mm) {
    for (survey::Reading r : b.survey().readings) {
        if (r.quantity != survey::Quantity::Distance || r.check) continue;
        r.measured.value += by_mm;
        const auto done = b.window.document().perform({"Spoil", {survey::Put<survey::Reading>{r}}});
        return done ? r.id : survey::Id();
    }
    return {};
}

QPushButton* suspectButton(Bench& b, const QString& text) {
    for (auto* button : b.part<QScrollArea>("suspects")->findChildren<QPushButton*>())
        if (button->text() == text && button->isVisible()) return button;
    return nullptr;
}

}  // namespace

class FitTest : public QObject {
    Q_OBJECT
  private Q_SLOTS:
    void initTestCase() {
        if (!QFile::exists(kSample)) QSKIP("the sample has not been built");
    }
    void oneMarkIsFittedAsAllAre();
    void stopLeavesTheSurvey();
    void suspectsAreShownAndLeftOut();
    void aDisagreeingSurveySaysDoNotCut();
    void aThrowingWorkBecomesANotice();
    void aPhotographPutBackIsShown();
    void theReadingFormSaysWhatATapeIs();
};

void FitTest::oneMarkIsFittedAsAllAre() {
    Bench b;
    const auto byHand = b.survey();
    std::vector<survey::Mark> single;
    for (const auto& [kind, view] : {std::pair(survey::FeatureKind::Edge, survey::View::Top),
                                     std::pair(survey::FeatureKind::Edge, survey::View::Front),
                                     std::pair(survey::FeatureKind::Hole, survey::View::Top),
                                     std::pair(survey::FeatureKind::Corner, survey::View::Top)}) {
        const auto* mark = firstMark(byHand, kind, view);
        if (!mark) continue;
        pick(b, *mark);
        const auto id = mark->id;
        b.key(Qt::Key_F);
        QVERIFY(b.window.jobs().running(QStringLiteral("Fitting")));
        QVERIFY(idle(b));
        const auto* fitted = survey::find(b.survey().marks, id);
        if (fitted->origin != survey::MarkOrigin::Fitted) continue;  // refused, here as there
        QVERIFY(b.notices(QStringLiteral("was fitted")));
        single.push_back(*fitted);
        b.key(Qt::Key_Escape);
        b.undo().undo();
        QVERIFY(b.survey() == byHand);
    }
    QVERIFY2(single.size() >= 2, "too few marks could be fitted to compare");
    QTest::keyClick(&b.window.canvas(), Qt::Key_F, Qt::ShiftModifier);
    QVERIFY(idle(b));
    const QString said = b.window.notices().sentences().join(QLatin1Char('\n'));
    QVERIFY2(said.contains(QStringLiteral("hand marks were fitted")), qPrintable(said));
    QStringList left;  // listed one by one
    if (auto* list = b.window.notices().findChild<QListWidget*>(QStringLiteral("noticeList")))
        for (int i = 0; i < list->count(); ++i) left << list->item(i)->text();
    const QRegularExpression named(QStringLiteral("^photograph [^,]+, (corner|edge|arc|hole|slot) "));
    for (const QString& one : left) QVERIFY2(named.match(one).hasMatch(), qPrintable(one));
    int compared = 0;
    for (const auto& one : single) {
        const auto* all = survey::find(b.survey().marks, one.id);
        if (all->origin != survey::MarkOrigin::Fitted) {  // found, but given back: it must be named
            QVERIFY(left.join(QLatin1Char('\n'))
                        .contains(QString::fromStdString(survey::describe(b.survey(), one.feature))));
            continue;
        }
        ++compared;
        QCOMPARE(all->points.size(), one.points.size());
        for (std::size_t i = 0; i < one.points.size(); ++i) {
            QVERIFY((all->points[i].px - one.points[i].px).norm() < 1e-9);
            QVERIFY(std::abs(all->points[i].sigma_px - one.points[i].sigma_px) < 1e-9);
        }
    }
    QVERIFY(compared >= 1);
    b.undo().undo();  // one act
    QVERIFY(b.survey() == byHand);
}

void FitTest::stopLeavesTheSurvey() {
    Bench b;
    const auto before = b.survey();
    QTest::keyClick(&b.window.canvas(), Qt::Key_F, Qt::ShiftModifier);
    QVERIFY(b.window.jobs().running(QStringLiteral("Fitting all hand marks")));
    auto* stop = b.part<QPushButton>("stop");
    QVERIFY(stop->isVisible());
    QTest::mouseClick(stop, Qt::LeftButton);
    QVERIFY(idle(b));
    QVERIFY2(b.notices(QStringLiteral("stopped")),
             qPrintable(b.window.notices().sentences().join(QLatin1Char('\n'))));
    QVERIFY(b.survey() == before && !b.undo().canUndo());
    QVERIFY(!stop->isVisible());
    QTest::mouseClick(b.part<QPushButton>("adjust"), Qt::LeftButton);
    QTest::mouseClick(stop, Qt::LeftButton);
    QVERIFY(idle(b));
    QVERIFY(!b.window.document().solution());
    QVERIFY(b.notices(QStringLiteral("adjustment was stopped")));
}

void FitTest::suspectsAreShownAndLeftOut() {
    Bench b;
    const auto wrong = spoil(b, 3.0);
    QVERIFY(!wrong.empty());
    QVERIFY(b.adjust());
    const auto& suspects = b.window.document().solution()->suspects;
    QVERIFY(!suspects.empty());
    QCOMPARE(suspects.front().object, wrong);
    b.showTab("suspects");
    QTRY_VERIFY(suspectButton(b, QStringLiteral("Show")));
    QTest::mouseClick(suspectButton(b, QStringLiteral("Show")), Qt::LeftButton);
    QTRY_VERIFY(b.part<QTableView>("ledger")->isVisible());  // where its value can be mended
    QCOMPARE(b.window.choice().entry(), wrong);
    b.showTab("suspects");
    QTest::mouseClick(suspectButton(b, QStringLiteral("Leave out")), Qt::LeftButton);
    QTRY_VERIFY(survey::find(b.survey().readings, wrong)->excluded);
    QTRY_VERIFY(suspectButton(b, QStringLiteral("Take in again")));
    QVERIFY(b.adjust());
    for (const auto& s : b.window.document().solution()->suspects) QVERIFY(s.object != wrong);
    b.undo().undo();
    QVERIFY(!survey::find(b.survey().readings, wrong)->excluded);
}

void FitTest::aDisagreeingSurveySaysDoNotCut() {
    QTemporaryDir folder;
    Bench b;
    QVERIFY(!spoil(b, 3.0).empty());
    QVERIFY(b.adjust());
    b.prompts.handOver = folder.filePath(QStringLiteral("part.dxf"));
    b.showTab("contents");
    QTest::mouseClick(b.part<QPushButton>("writeDxf"), Qt::LeftButton);
    QVERIFY(idle(b));
    QFile file(b.prompts.handOver);
    QVERIFY(file.open(QIODevice::ReadOnly));
    QVERIFY(file.readAll().contains("DO NOT CUT"));
    QVERIFY(b.notices(QStringLiteral("DO NOT CUT")));
}

void FitTest::aThrowingWorkBecomesANotice() {
    Bench b;
    b.window.jobs().run(QStringLiteral("memory"),
                        [](const Progress&) -> Jobs::Outcome { throw std::bad_alloc(); });
    b.window.jobs().run(QStringLiteral("other"),
                        [](const Progress&) -> Jobs::Outcome { throw std::runtime_error("torn"); });
    QVERIFY(idle(b));
    QVERIFY(b.notices(QStringLiteral("not enough memory")));
    QVERIFY(b.notices(QStringLiteral("torn")));
}

void FitTest::aPhotographPutBackIsShown() {
    QTemporaryDir folder;
    const auto file = copySample(folder);
    const auto survey = storage::load(file);
    QVERIFY(static_cast<bool>(survey));
    const fs::path photograph = file.parent_path() / survey->stations[0].photo.path;
    const fs::path away = photograph.string() + ".away";
    fs::rename(photograph, away);
    Bench b(QString::fromStdString(file.string()));
    auto& store = b.window.photographs();
    const QString path = b.window.canvas().path();
    QTRY_VERIFY(!store.problem(path).isEmpty());
    fs::rename(away, photograph);
    b.key(Qt::Key_PageDown);  // to the next one and back again
    b.key(Qt::Key_PageUp);
    QCOMPARE(b.window.canvas().path(), path);
    QTRY_VERIFY(!store.thumbnail(path).isNull());
    QVERIFY(store.problem(path).isEmpty());
}

void FitTest::theReadingFormSaysWhatATapeIs() {
    Bench b;
    b.showTab("readings");
    auto* words = b.part<QLabel>("tapeMeaning");
    QVERIFY(!words->isVisible());
    auto* form = words->parentWidget();
    for (auto* box : form->findChildren<QComboBox*>())
        if (const int tape = box->findData(static_cast<int>(survey::Quantity::Tape)); tape >= 0)
            box->setCurrentIndex(tape);
    QVERIFY(words->isVisible());
    QVERIFY(words->text().contains(QStringLiteral("lens")) &&
            words->text().contains(QStringLiteral("datum")));
}

QTEST_MAIN(FitTest)
#include "fitting_test.moc"
