// SPDX-License-Identifier: GPL-3.0-or-later
// The unfolded part on the real widgets: the sheet, projectors under the pointer, choices from both sides.
#include <QAction>
#include <QListWidget>
#include <QMenu>
#include <QSettings>
#include <QTableView>
#include <QTemporaryDir>
#include <QToolButton>
#include <QWheelEvent>

#include "Bench.h"

using namespace trammel;
using namespace trammel::ui;

namespace {

UnfoldedCanvas& paper(Bench& b) { return b.window.unfolded().canvas(); }

/// Opens the page; the survey is adjusted first where asked.
void openSheet(Bench& b, bool adjusted = true) {
    if (adjusted) QVERIFY(b.adjust());
    b.key(Qt::Key_F4);
    QVERIFY(b.window.unfolded().isVisible());
}

int named(Bench& b, const std::string& name) {
    const auto& features = paper(b).scene()->features();
    for (std::size_t i = 0; i < features.size(); ++i)
        if (features[i].label == name) return int(i);
    qFatal("the sample has no feature %s", name.c_str());
}

QPoint placeOf(Bench& b, const std::string& name, View view) {
    const auto* line = paper(b).scene()->line(named(b, name), view);
    if (!line) qFatal("%s is not in that view", name.c_str());
    // on the rim of a hole, for its middle may be another's too
    return paper(b).view().toScreen(line->points.front()).toPoint();
}

double heightOf(Bench& b, const survey::Id& level) {
    const auto& levels = b.window.document().solution()->levels;
    const auto it = levels.find(level);
    return it == levels.end() ? 0.0 : it->second;
}

void pick(QAbstractItemView* list, int row) {
    const auto index = list->model()->index(row, 0);
    list->scrollTo(index);
    QTest::mouseClick(list->viewport(), Qt::LeftButton, {}, list->visualRect(index).center());
}

}  // namespace

class UnfoldedTest : public QObject {
    Q_OBJECT
  private Q_SLOTS:
    void initTestCase() {
        if (!QFile::exists(kSample)) QSKIP("the sample has not been built");
        qputenv("XDG_CONFIG_HOME", settings_.path().toLocal8Bit());
        QSettings::setPath(QSettings::IniFormat, QSettings::UserScope, settings_.path());
    }
    void saysWhatIsMissingFirst();
    void hoveringAHoleDrawsItsLinesIntoTheNeighbours();
    void choosesBothWays();
    void aDimensionOfTheLedgerIsChosenHere();
    void levelsFanOut();
    void opensThePhotographThere();
    void keepsThePointUnderThePointer();
    void keepsHowItIsLaidOut();
    void saysWhichPhotographIsGone();
    void drawsEveryShowInBothPalettes();

  private:
    QTemporaryDir settings_;
};

void UnfoldedTest::saysWhatIsMissingFirst() {
    Bench b;
    openSheet(b, false);
    QVERIFY(b.part<QLabel>("unfoldedEmpty")->isVisible());
    QVERIFY(b.part<QLabel>("unfoldedEmpty")->text().contains(QStringLiteral("Adjust first")));
    QTest::mouseClick(b.part<QPushButton>("unfoldedAct"), Qt::LeftButton);
    QVERIFY(QTest::qWaitFor([&] { return !b.window.jobs().running(); }, 120000));
    QVERIFY(paper(b).scene());
    QVERIFY(paper(b).isVisible());
    QTest::keyClick(&paper(b), Qt::Key_F4);
    QVERIFY(b.window.canvas().isVisible());
}

void UnfoldedTest::hoveringAHoleDrawsItsLinesIntoTheNeighbours() {
    Bench b;
    openSheet(b);
    QVERIFY(QTest::qWaitFor([&] { return !paper(b).pictures().busy() && paper(b).pictures().at(View::Top); },
                            60000));
    QVERIFY(!paper(b).pictures().at(View::Top)->image.isNull());
    QTest::mouseMove(&paper(b), placeOf(b, "H3", View::Top));
    QTRY_VERIFY(paper(b).hovered());
    QCOMPARE(paper(b).hovered()->feature, named(b, "H3"));
    const auto& truth = b.window.document().solution()->features.at(
        paper(b).scene()->features()[std::size_t(named(b, "H3"))].feature);
    const auto& a = paper(b).scene()->arrangement();
    int front = 0, side = 0;
    for (const auto& p : paper(b).shownProjectors()) {
        if (p.trace.role != unfold::Trace::Role::Centre) continue;
        QVERIFY((p.place - a.toSheet(p.to, truth.point)).norm() < 1e-9);
        QVERIFY(p.trace.plusMinus() > 0.0);
        if (p.to == View::Front) {  // x goes straight there
            QVERIFY(std::abs(p.path.back().x() - truth.point.x()) < 1e-9);
            ++front;
        }
        if (p.to == View::Left) {  // y by the mitre line
            QCOMPARE(p.path.size(), std::size_t(3));
            ++side;
        }
    }
    QCOMPARE(front, 1);
    QCOMPARE(side, 1);
    QVERIFY(b.part<QLabel>("words")->text().contains(QStringLiteral("hole H3")));
    QVERIFY(paper(b).accessibleDescription().contains(QStringLiteral("H3")));
    // the line is on the screen: something changed between the views when the pointer came
    const auto path = paper(b).shownProjectors().front();
    const QPoint between = paper(b).view().toScreen(Vec2(0.5 * (path.path[0] + path.path[1]))).toPoint();
    const QImage with = paper(b).grab().toImage();
    QTest::mouseMove(&paper(b), QPoint(3, 3));
    QTRY_VERIFY(!paper(b).hovered());
    const QImage without = paper(b).grab().toImage();
    int changed = 0;
    for (int dx = -2; dx <= 2; ++dx)
        for (int dy = -20; dy <= 20; ++dy)
            changed += with.pixel(between + QPoint(dx, dy)) != without.pixel(between + QPoint(dx, dy));
    QVERIFY(changed > 10);
}

void UnfoldedTest::choosesBothWays() {
    Bench b;
    openSheet(b);
    QTest::mouseClick(&paper(b), Qt::LeftButton, {}, placeOf(b, "H2", View::Top));
    const auto id = paper(b).scene()->features()[std::size_t(named(b, "H2"))].feature;
    QCOMPARE(b.window.choice().feature(), id);
    // from the list
    b.showTab("features");
    pick(b.part<QTableView>("features"), 3);
    QCOMPARE(b.window.choice().feature(), b.survey().features[3].id);
    QCOMPARE(paper(b).scene()->features()[std::size_t(paper(b).chosen().feature)].feature,
             b.survey().features[3].id);
    // by keyboard to a neighbour of the same level, and away
    const auto before = paper(b).chosen().feature;
    QTest::keyClick(&paper(b), Qt::Key_Right);
    QVERIFY(paper(b).chosen().feature != before);
    QVERIFY(!b.window.choice().feature().empty());
    QTest::keyClick(&paper(b), Qt::Key_Escape);
    QVERIFY(b.window.choice().feature().empty());
    QVERIFY(!b.undo().canUndo());  // looking is no act
}

void UnfoldedTest::aDimensionOfTheLedgerIsChosenHere() {
    Bench b;
    openSheet(b);
    b.showTab("ledger");
    pick(b.part<QTableView>("ledger"), 1);
    const auto& d = b.survey().dimensions[1];
    QCOMPARE(b.window.choice().entry(), d.id);
    const QImage with = paper(b).grab().toImage();
    QTest::keyClick(&paper(b), Qt::Key_Escape);
    QVERIFY(b.window.choice().entry().empty());
    QVERIFY(paper(b).grab().toImage() != with);
}

void UnfoldedTest::levelsFanOut() {
    Bench b;
    openSheet(b);
    auto* list = b.part<QListWidget>("unfoldedLevels");
    // the rule and the card lie beside the part
    QCOMPARE(list->count(), int(b.survey().levels.size()) - 2);
    double above = INFINITY;
    for (int i = 0; i < list->count(); ++i) {
        const std::string name = list->item(i)->text().section(QLatin1Char('\n'), 0, 0).toStdString();
        double z = NAN;
        for (const auto& level : b.survey().levels)
            if (level.name == name) z = heightOf(b, level.id);
        QVERIFY2(z < above, name.c_str());
        above = z;
    }
    pick(list, 0);
    const double z = heightOf(b, b.window.choice().level());
    QCOMPARE(paper(b).depthOf(View::Top), z);
    QVERIFY(QTest::qWaitFor(
        [&] {
            const auto* picture = paper(b).pictures().at(View::Top);
            return picture && picture->depth == z;
        },
        60000));
    const auto highest = b.window.choice().level();
    QTest::keyClick(&paper(b), Qt::Key_Down, Qt::ShiftModifier);
    QVERIFY(b.window.choice().level() != highest);
    QTest::keyClick(&paper(b), Qt::Key_Up, Qt::ShiftModifier);
    QCOMPARE(b.window.choice().level(), highest);
}

void UnfoldedTest::opensThePhotographThere() {
    Bench b;
    openSheet(b);
    QTest::mouseDClick(&paper(b), Qt::LeftButton, {}, placeOf(b, "H4", View::Top));
    QVERIFY(b.window.canvas().isVisible());
    const auto* station = survey::find(b.survey().stations, b.window.choice().station());
    QVERIFY(station && station->view == View::Top);
    const auto* mark = survey::find(b.survey().marks, b.window.choice().mark());
    QVERIFY(mark && mark->station == station->id);
    const QPointF at =
        b.window.canvas().view().toScreen(QPointF(mark->points.front().px.x(), mark->points.front().px.y()));
    QVERIFY((at - b.window.canvas().rect().toRectF().center()).manhattanLength() < 4.0);
    // and from the keyboard
    b.key(Qt::Key_F4);
    QTest::mouseClick(&paper(b), Qt::LeftButton, {}, placeOf(b, "H1", View::Top));
    QTest::keyClick(&paper(b), Qt::Key_Return);
    QVERIFY(b.window.canvas().isVisible());
}

void UnfoldedTest::keepsThePointUnderThePointer() {
    Bench b;
    openSheet(b);
    for (const QPointF at : {QPointF(100, 80), QPointF(300, 200)})
        for (const int notch : {120, 120, -120}) {
            const Vec2 before = paper(b).view().toSheet(at);
            const double scale = paper(b).view().scale;
            QWheelEvent wheel(at, paper(b).mapToGlobal(at), {}, {0, notch}, Qt::NoButton, Qt::NoModifier,
                              Qt::NoScrollPhase, false);
            QCoreApplication::sendEvent(&paper(b), &wheel);
            QVERIFY(paper(b).view().scale != scale);
            QVERIFY((paper(b).view().toSheet(at) - before).norm() < 1e-6);
        }
    QTest::keyClick(&paper(b), Qt::Key_0);
    QVERIFY(paper(b).rect().toRectF().contains(
        paper(b).view().toScreen(paper(b).scene()->arrangement().whole())));
}

void UnfoldedTest::keepsHowItIsLaidOut() {
    {
        Bench b;
        openSheet(b);
        const auto& a = paper(b).scene()->arrangement();
        QVERIFY(a.frame(View::Top).high.y() < a.frame(View::Front).low.y());  // first-angle: below
        QCOMPARE(int(a.views().size()), 3);
        auto* method = b.part<QComboBox>("method");
        method->setFocus();
        QTest::keyClick(method, Qt::Key_Down);
        auto* views = b.part<QComboBox>("sheetViews");
        QTest::keyClick(views, Qt::Key_Down);
        const auto& now = paper(b).scene()->arrangement();
        QVERIFY(now.frame(View::Top).low.y() > now.frame(View::Front).high.y());
        QCOMPARE(int(now.views().size()), 6);
    }
    Bench again;
    openSheet(again);
    QCOMPARE(int(paper(again).scene()->arrangement().method()), int(unfold::Method::ThirdAngle));
    QCOMPARE(int(paper(again).scene()->arrangement().views().size()), 6);
    saveSheetSettings({});
}

void UnfoldedTest::saysWhichPhotographIsGone() {
    QTemporaryDir folder;
    const auto file = copySample(folder);
    Bench b(QString::fromStdString(file.string()));
    QVERIFY(b.adjust());
    const auto away = file.parent_path() / "away", home = file.parent_path() / "photographs";
    fs::rename(home, away);
    b.key(Qt::Key_F4);
    QTRY_VERIFY(paper(b).pictures().anyProblem());
    const auto* side = paper(b).scene()->side(View::Top);
    QTRY_VERIFY(paper(b).pictures().problem(side->path).contains(QStringLiteral("top")));
    fs::rename(away, home);
    paper(b).retry();  // as the window does when the user comes back to it
    QTRY_VERIFY(paper(b).pictures().at(View::Top) && !paper(b).pictures().at(View::Top)->image.isNull());
    QVERIFY(!paper(b).pictures().anyProblem());
}

void UnfoldedTest::drawsEveryShowInBothPalettes() {
    Bench b;
    openSheet(b);
    QTest::mouseClick(&paper(b), Qt::LeftButton, {}, placeOf(b, "H2", View::Top));
    auto* show = b.part<QToolButton>("sheetShow");
    QImage last;
    for (auto* action : show->menu()->actions()) {
        if (!action->isCheckable()) continue;
        const QImage before = paper(b).grab().toImage();
        action->toggle();
        QVERIFY(!action->toolTip().isEmpty());
        // carriers need a dimension, names may be crowded out: the others change what is seen
        if (action->text() != QStringLiteral("Carriers") && action->text() != QStringLiteral("Names"))
            QVERIFY2(paper(b).grab().toImage() != before, qPrintable(action->text()));
        last = paper(b).grab().toImage();
    }
    b.part<QAction>("dark")->toggle();
    QVERIFY(paper(b).grab().toImage() != last);
    b.part<QAction>("dark")->toggle();
    saveSheetSettings({});
}

QTEST_MAIN(UnfoldedTest)
#include "unfolded_test.moc"
