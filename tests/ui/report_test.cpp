// SPDX-License-Identifier: GPL-3.0-or-later
// The report page on the real widget: what it says of an adjustment, and that it follows the survey.
#include <QScrollBar>
#include <QTableView>
#include <QTextBrowser>

#include "Bench.h"
#include "core/adjust/Report.h"
#include "core/survey/Edit.h"
#include "ui/panels/SurveyRows.h"

using namespace trammel;
using namespace trammel::ui;

namespace {

QString plain(const std::string& text) { return QString::fromStdString(text).simplified(); }

/// What the page says, as one line.
QString said(Bench& b) { return b.part<QTextBrowser>("report")->toPlainText().simplified(); }

void change(Bench& b, const survey::Change& change) {
    const auto done = b.window.document().perform({"Change", {change}});
    QVERIFY2(static_cast<bool>(done), "the survey takes the change");
}

/// Makes the first distance that is used, or the first check, this much longer.
survey::Id lengthen(Bench& b, bool check, double by_mm) {
    for (survey::Reading r : b.survey().readings) {
        if (r.check != check || r.quantity == survey::Quantity::Angle) continue;
        if (!check && r.quantity != survey::Quantity::Distance) continue;
        r.measured.value += by_mm;
        change(b, survey::Put<survey::Reading>{r});
        return r.id;
    }
    return {};
}

/// Withholds a reading where the survey has no check of its own.
void haveACheck(Bench& b) {
    for (const auto& r : b.survey().readings)
        if (r.check) return;
    survey::Reading last = b.survey().readings.back();
    last.check = true;
    change(b, survey::Put<survey::Reading>{last});
}

}  // namespace

class ReportTest : public QObject {
    Q_OBJECT
  private Q_SLOTS:
    void initTestCase() {
        if (!QFile::exists(kSample)) QSKIP("the sample has not been built");
    }
    void beforeAnAdjustmentItSaysSo();
    void saysWhatTheAdjustmentFound();
    void goesOutOfDateWithTheSurvey();
    void namesWhatDisagreesAndLeadsThere();
    void aMissedCheckIsMissed();
    void aWantedPlusMinusIsJudged();
    void fitsThePageInBothPalettes();
};

void ReportTest::beforeAnAdjustmentItSaysSo() {
    Bench b;
    b.key(Qt::Key_F6);
    QVERIFY(b.part<QTextBrowser>("report")->isVisible());
    QVERIFY2(said(b).contains(QStringLiteral("Not adjusted yet")), qPrintable(said(b)));
    QTest::keyClick(b.part<QTextBrowser>("report"), Qt::Key_F6);
    QVERIFY(b.window.canvas().isVisible());
}

void ReportTest::saysWhatTheAdjustmentFound() {
    Bench b;
    haveACheck(b);
    QVERIFY(b.adjust());
    b.key(Qt::Key_F6);
    const QString text = said(b);
    const auto& s = *b.window.document().solution();
    QVERIFY(!s.dimensions.empty());
    for (const auto& d : s.dimensions) {
        const auto q = d.dimension.quantity;
        QVERIFY2(text.contains(valueText(q, d.value, d.plusMinus) + QLatin1Char(' ') + unitOf(q)),
                 d.dimension.name.c_str());
        if (d.plusMinus > 1e-7) QVERIFY(text.contains(plusMinusText(q, d.plusMinus)));
        if (!d.carriers.empty()) QVERIFY(text.contains(plain(d.carriers.front().description)));
    }
    for (const auto& o : s.observations)
        if (o.check) QVERIFY(text.contains(plain(o.description)));
    QVERIFY(text.contains(QStringLiteral("comes out right")) && !text.contains(QStringLiteral("MISSED")));
    for (const auto& l : b.survey().levels) QVERIFY(text.contains(plain(l.name)));
    for (const auto& limit : s.limits) QVERIFY(text.contains(plain(limit), Qt::CaseInsensitive));
    for (const auto& note : s.notes) QVERIFY(text.contains(plain(note), Qt::CaseInsensitive));
    const auto advice = adjust::advise(s);
    QVERIFY(static_cast<bool>(advice) && !advice->sentence.empty());
    QVERIFY2(text.contains(plain(advice->sentence), Qt::CaseInsensitive), qPrintable(text));
    for (const auto& proposal : advice->proposals)
        QVERIFY2(text.contains(plain(proposal.sentence), Qt::CaseInsensitive), proposal.sentence.c_str());
    QCOMPARE(text.contains(QStringLiteral("Everything agrees")), adjust::agrees(s));
}

void ReportTest::goesOutOfDateWithTheSurvey() {
    Bench b;
    QVERIFY(b.adjust());
    b.key(Qt::Key_F6);
    QVERIFY(!said(b).contains(QStringLiteral("Out of date")));
    QVERIFY(!lengthen(b, false, 0.01).empty());
    QVERIFY2(said(b).contains(QStringLiteral("Out of date")), qPrintable(said(b)));
    Q_EMIT b.part<QTextBrowser>("report")->anchorClicked(QUrl(QStringLiteral("adjust:now")));
    QVERIFY(QTest::qWaitFor([&] { return !b.window.jobs().running(); }, 120000));
    QVERIFY(!said(b).contains(QStringLiteral("Out of date")));
}

void ReportTest::namesWhatDisagreesAndLeadsThere() {
    Bench b;
    const auto wrong = lengthen(b, false, 3.0);
    QVERIFY(!wrong.empty());
    QVERIFY(b.adjust());
    b.key(Qt::Key_F6);
    const auto& suspects = b.window.document().solution()->suspects;
    QVERIFY(!suspects.empty());
    QVERIFY2(said(b).contains(plain(suspects.front().sentence), Qt::CaseInsensitive), qPrintable(said(b)));
    QVERIFY(said(b).contains(QStringLiteral("Something disagrees")));
    auto* page = b.part<QTextBrowser>("report");
    const QString link = QStringLiteral("show:") + QString::fromStdString(suspects.front().object);
    QVERIFY(page->toHtml().contains(link));
    Q_EMIT page->anchorClicked(QUrl(link));
    // the ledger's row, where the value can be mended
    QVERIFY(b.part<QTableView>("ledger")->isVisible());
    QCOMPARE(b.window.choice().entry(), suspects.front().object);
}

void ReportTest::aMissedCheckIsMissed() {
    Bench b;
    haveACheck(b);
    QVERIFY(!lengthen(b, true, 5.0).empty());
    QVERIFY(b.adjust());
    b.key(Qt::Key_F6);
    QVERIFY2(said(b).contains(QStringLiteral("MISSED")), qPrintable(said(b)));
}

void ReportTest::aWantedPlusMinusIsJudged() {
    Bench b;
    auto* ledger = b.part<QTableView>("ledger");
    const auto cell = ledger->model()->index(0, 7);
    QVERIFY(!ledger->model()->setData(cell, QStringLiteral("-1")));
    QVERIFY(!ledger->model()->setData(cell, QStringLiteral("fine")));
    QCOMPARE(b.survey().dimensions.front().target, 0.0);
    QVERIFY(ledger->model()->setData(cell, QStringLiteral("±0,000001")));
    QCOMPARE(b.survey().dimensions.front().target, 1e-6);
    QVERIFY(b.adjust());
    b.key(Qt::Key_F6);
    QVERIFY2(said(b).contains(QStringLiteral("NOT met")), qPrintable(said(b)));
    QVERIFY(ledger->model()->setData(cell, QStringLiteral("50")));
    QCOMPARE(b.survey().dimensions.front().target, 50.0);
    b.key(Qt::Key_F5);
    QVERIFY(QTest::qWaitFor([&] { return !b.window.jobs().running(); }, 120000));
    QVERIFY(!said(b).contains(QStringLiteral("NOT met")));
    QVERIFY(said(b).contains(QStringLiteral("wanted")));
    QVERIFY(ledger->model()->setData(cell, QString()));
    QCOMPARE(b.survey().dimensions.front().target, 0.0);
}

void ReportTest::fitsThePageInBothPalettes() {
    Bench b;
    QVERIFY(!lengthen(b, false, 3.0).empty());
    for (survey::Dimension d : b.survey().dimensions) {  // the widest table there is
        d.name += " of the part as it lies on the bench";
        d.target = 0.00012345;
        change(b, survey::Put<survey::Dimension>{d});
    }
    QVERIFY(b.adjust());
    b.key(Qt::Key_F6);
    auto* page = b.part<QTextBrowser>("report");
    QVERIFY(!b.window.notices().sentences().isEmpty());
    const auto* panels = b.part<QTabWidget>("panels");
    for (int back = 0; back < 2; ++back) {  // beside the report, and beside the photograph
        const int right = panels->mapTo(&b.window, QPoint(panels->width(), 0)).x();
        QVERIFY2(right <= b.window.width(), qPrintable(QStringLiteral("panels end at %1").arg(right)));
        QTest::keyClick(&b.window, Qt::Key_F6);
        QCoreApplication::processEvents();
    }
    for (const bool dark : {false, true, false}) {
        b.part<QAction>("dark")->setChecked(dark);
        QCoreApplication::processEvents();
        QCOMPARE(page->horizontalScrollBar()->maximum(), 0);
        QVERIFY(page->document()->size().width() <= page->viewport()->width());
        const auto ground = page->palette().color(QPalette::AlternateBase).name();
        QVERIFY2(page->toHtml().contains(ground), "the rules of the tables follow the palette");
    }
}

QTEST_MAIN(ReportTest)
#include "report_test.moc"
