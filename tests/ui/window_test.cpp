// SPDX-License-Identifier: GPL-3.0-or-later
// The job by mouse and keyboard on the real widgets. The survey is the sample; a test that changes files
// works on a copy of it.
#include <QAction>
#include <QComboBox>
#include <QFile>
#include <QLabel>
#include <QLineEdit>
#include <QPlainTextEdit>
#include <QPushButton>
#include <QTabWidget>
#include <QTableView>
#include <QTemporaryDir>
#include <QTest>
#include <QWheelEvent>
#include <filesystem>

#include "Bench.h"
#include "core/storage/SurveyFile.h"

using namespace trammel;
using namespace trammel::ui;

class WindowTest : public QObject {
    Q_OBJECT
  private Q_SLOTS:
    void initTestCase() {
        if (!QFile::exists(kSample)) QSKIP("the sample has not been built");
    }
    void opensTheSample();
    void zoomKeepsThePointUnderThePointer();
    void panAndZoomByKeyboard();
    void marksACornerInTwoPhotographs();
    void marksAHoleByItsRim();
    void aClickBesideThePhotographIsRefused();
    void tooFewClicksAreKept();
    void movesAndRemovesAMark();
    void setsAReferenceLength();
    void typesAReading();
    void refusedInputStays();
    void makesAnOutline();
    void adjustsAndShowsPlusMinus();
    void handsOver();
    void badSurveyLeavesTheOldOne();
    void missingAndChangedPhotographsAreNamed();
    void savesElsewhereWithItsPhotographs();
    void asksAboutUnsavedChanges();
    void everyActCanBeUndone();
    void startsFromPhotographs();
};

void WindowTest::opensTheSample() {
    Bench b;
    const auto direct = storage::load(kSample.toStdString());
    QVERIFY(static_cast<bool>(direct));
    QVERIFY(b.survey() == *direct);
    QVERIFY(QTest::qWaitFor(
        [&] { return !b.window.photographs().thumbnail(b.window.canvas().path()).isNull(); }));
    QCOMPARE(b.part<QAbstractItemView>("photographs")->model()->rowCount(), int(direct->stations.size()));
    QVERIFY(!b.window.canvas().scene().items().empty());
    QVERIFY(!b.undo().canUndo());
}

void WindowTest::zoomKeepsThePointUnderThePointer() {
    Bench b;
    auto& canvas = b.window.canvas();
    for (const QPointF at : {QPointF(100, 80), QPointF(333, 251), QPointF(20, 400)})
        for (const int notch : {120, 120, -120, 60}) {
            const QPointF before = canvas.view().toPhoto(at);
            const double scale = canvas.view().scale();
            QWheelEvent wheel(at, canvas.mapToGlobal(at), {}, {0, notch}, Qt::NoButton, Qt::NoModifier,
                              Qt::NoScrollPhase, false);
            QCoreApplication::sendEvent(&canvas, &wheel);
            QVERIFY(notch > 0 ? canvas.view().scale() > scale : canvas.view().scale() < scale);
            const QPointF off = canvas.view().toPhoto(at) - before;
            QVERIFY2(std::hypot(off.x(), off.y()) < 1e-6, "the photograph slid under the pointer");
        }
}

void WindowTest::panAndZoomByKeyboard() {
    Bench b;
    auto& canvas = b.window.canvas();
    const double fitted = canvas.view().scale();
    b.key(Qt::Key_Plus);
    QVERIFY(canvas.view().scale() > fitted);
    const QPointF before = canvas.view().toPhoto({100, 100});
    b.key(Qt::Key_Right);
    QVERIFY(canvas.view().toPhoto({100, 100}).x() > before.x());
    b.key(Qt::Key_0);
    QCOMPARE(canvas.view().scale(), fitted);
    QTest::mousePress(&canvas, Qt::MiddleButton, {}, {200, 200});
    QTest::mouseMove(&canvas, {260, 230});
    QTest::mouseRelease(&canvas, Qt::MiddleButton, {}, {260, 230});
    QVERIFY(!b.undo().canUndo());  // looking around is no act
}

void WindowTest::marksACornerInTwoPhotographs() {
    Bench b;
    const auto before = b.survey();
    b.key(Qt::Key_C);
    QCOMPARE(b.window.bench().kind(), ToolKind::Corner);
    const QPoint at(180, 160);
    const QPointF photo = b.photoAt(at);
    b.click(at);
    QCOMPARE(b.survey().features.size(), before.features.size() + 1);
    QCOMPARE(b.survey().marks.size(), before.marks.size() + 1);
    const auto feature = b.survey().features.back();
    QVERIFY(feature.kind == survey::FeatureKind::Corner && feature.level == b.window.choice().level());
    QVERIFY((b.survey().marks.back().points.front().px - Vec2(photo.x(), photo.y())).norm() < 1e-9);
    // tie: choose it in the list, go on to the next photograph, mark it there
    auto* list = b.part<QTableView>("features");
    b.showTab("features");
    const int row = int(b.survey().features.size()) - 1;
    list->scrollTo(list->model()->index(row, 0));
    QTest::mouseClick(list->viewport(), Qt::LeftButton, {},
                      list->visualRect(list->model()->index(row, 0)).center());
    QCOMPARE(b.window.choice().feature(), feature.id);
    b.window.canvas().setFocus();
    b.key(Qt::Key_PageDown);
    QCOMPARE(b.window.choice().station(), before.stations[1].id);
    QVERIFY2(b.part<QLabel>("words")->text().contains(QString::fromStdString(feature.name)),
             "the line says what a click does");
    b.click({220, 200});
    QCOMPARE(b.survey().features.size(), before.features.size() + 1);
    QCOMPARE(b.survey().marks.back().feature, feature.id);
    QCOMPARE(b.survey().marks.back().station, before.stations[1].id);
    const auto after = b.survey();
    b.undo().undo();
    QCOMPARE(b.survey().marks.size(), before.marks.size() + 1);
    b.undo().undo();
    QVERIFY(b.survey() == before);
    b.undo().redo();
    b.undo().redo();
    QVERIFY(b.survey() == after);
}

void WindowTest::marksAHoleByItsRim() {
    Bench b;
    const auto before = b.survey();
    b.key(Qt::Key_H);
    for (const QPoint at : {QPoint(200, 150), QPoint(230, 180), QPoint(200, 210), QPoint(170, 180)})
        b.click(at);
    QVERIFY(b.survey() == before);  // unfinished clicks are not in the survey
    b.key(Qt::Key_Backspace);
    b.key(Qt::Key_Return);
    QCOMPARE(b.survey().features.size(), before.features.size() + 1);
    QVERIFY(b.survey().features.back().kind == survey::FeatureKind::Hole);
    QCOMPARE(b.survey().marks.back().points.size(), std::size_t(3));
    QVERIFY(b.undo().undoText().contains(QStringLiteral("hole")));
    b.undo().undo();
    QVERIFY(b.survey() == before);
}

void WindowTest::aClickBesideThePhotographIsRefused() {
    Bench b;
    const auto before = b.survey();
    b.key(Qt::Key_C);
    for (const QPoint at : {b.inPicture(0.5, -0.01), b.inPicture(0.5, 1.01)}) {
        b.window.notices().clear();
        b.click(at);
        QVERIFY(b.notices(QStringLiteral("beside the photograph")));
        QVERIFY(b.survey() == before);
    }
    b.click(b.inPicture(0.5, 0.01));
    QCOMPARE(b.survey().marks.size(), before.marks.size() + 1);
}

void WindowTest::tooFewClicksAreKept() {
    Bench b;
    const auto before = b.survey();
    b.key(Qt::Key_E);
    b.click({150, 150});
    b.key(Qt::Key_Return);
    QVERIFY(b.notices(QStringLiteral("too few points")));
    QVERIFY(b.survey() == before);
    b.click({260, 155});
    b.key(Qt::Key_Return);
    QCOMPARE(b.survey().marks.back().points.size(), std::size_t(2));
}

void WindowTest::movesAndRemovesAMark() {
    Bench b;
    b.key(Qt::Key_C);
    b.click({180, 160});
    const auto marked = b.survey();
    const auto mark = marked.marks.back();
    b.key(Qt::Key_P);
    auto& canvas = b.window.canvas();
    canvas.lookAt(
        {mark.points[0].px.x(), mark.points[0].px.y()});  // near enough to be alone under the pointer
    const QPoint from = canvas.view().toScreen({mark.points[0].px.x(), mark.points[0].px.y()}).toPoint();
    QTest::mousePress(&canvas, Qt::LeftButton, {}, from);
    QMouseEvent drag(QEvent::MouseMove, QPointF(from + QPoint(30, 12)),
                     canvas.mapToGlobal(QPointF(from + QPoint(30, 12))), Qt::NoButton, Qt::LeftButton,
                     Qt::NoModifier);
    QCoreApplication::sendEvent(&canvas, &drag);
    QTest::mouseRelease(&canvas, Qt::LeftButton, {}, from + QPoint(30, 12));
    const Vec2 moved = survey::find(b.survey().marks, mark.id)->points[0].px - mark.points[0].px;
    const double scale = canvas.view().scale();
    QVERIFY((moved - Vec2(30, 12) / scale).norm() < 1e-9);
    b.key(Qt::Key_Delete);
    QVERIFY(!survey::find(b.survey().marks, mark.id));
    b.undo().undo();
    b.undo().undo();
    QVERIFY(b.survey() == marked);
}

void WindowTest::setsAReferenceLength() {
    Bench b;
    const auto before = b.survey();
    b.key(Qt::Key_R);
    QVERIFY(!b.part<QPushButton>("setReference")->isEnabled());
    b.click(b.inPicture(0.1, 0.1));
    b.click(b.inPicture(0.6, 0.11));
    QVERIFY(b.part<QPushButton>("setReference")->isEnabled());
    b.type("referenceValue", QStringLiteral("0"));
    QTest::keyClick(b.part<QLineEdit>("referenceValue"), Qt::Key_Return);
    QVERIFY2(b.survey() == before, "a length of zero is refused");
    QVERIFY(!b.window.notices().sentences().isEmpty());
    b.type("referenceValue", QStringLiteral("85.60"));
    QTest::keyClick(b.part<QLineEdit>("referenceValue"), Qt::Key_Return);
    QCOMPARE(b.survey().readings.size(), before.readings.size() + 1);
    QVERIFY(b.survey().readings.back().reference);
    QCOMPARE(b.survey().readings.back().measured.value, 85.60);
    QCOMPARE(b.survey().features.size(), before.features.size() + 2);
    b.undo().undo();  // one act
    QVERIFY(b.survey() == before);
}

void WindowTest::typesAReading() {
    Bench b;
    b.showTab("readings");
    const auto before = b.survey();
    b.type("readingValue", QStringLiteral("25,40"));
    b.type("readingSigma", QStringLiteral("0.03"));
    QTest::mouseClick(b.part<QPushButton>("addReading"), Qt::LeftButton);
    QCOMPARE(b.survey().readings.size(), before.readings.size() + 1);
    QVERIFY(b.survey().readings.back().measured == (survey::Measured{25.40, 0.03}));
    QVERIFY(b.part<QLineEdit>("readingValue")->text().isEmpty());
    b.undo().undo();
    QVERIFY(b.survey() == before);
}

void WindowTest::refusedInputStays() {
    Bench b;
    b.showTab("readings");
    const auto before = b.survey();
    b.type("readingValue", QStringLiteral("25.4x"));
    QTest::keyClick(b.part<QLineEdit>("readingValue"), Qt::Key_Return);
    QVERIFY(b.notices(QStringLiteral("25.4x")));
    b.type("readingValue", QStringLiteral("25.4"));
    b.type("readingSigma", QStringLiteral("-1"));
    QTest::keyClick(b.part<QLineEdit>("readingValue"), Qt::Key_Return);
    QVERIFY(b.survey() == before);
    QCOMPARE(b.part<QLineEdit>("readingValue")->text(), QStringLiteral("25.4"));
    QCOMPARE(b.part<QLineEdit>("readingSigma")->text(), QStringLiteral("-1"));
}

void WindowTest::makesAnOutline() {
    Bench b;
    b.key(Qt::Key_C);
    for (const QPoint at : {b.inPicture(0.1, 0.1), b.inPicture(0.6, 0.11), b.inPicture(0.58, 0.9)})
        b.click(at);
    const auto before = b.survey();
    b.key(Qt::Key_O);
    auto* outline = b.window.bench().outline();
    QVERIFY(outline);
    for (std::size_t i = before.features.size() - 3; i < before.features.size(); ++i)
        outline->add(before.features[i].id);
    b.key(Qt::Key_Return);
    QCOMPARE(b.survey().outlines.size(), before.outlines.size() + 1);
    QCOMPARE(b.survey().outlines.back().chain.size(), std::size_t(3));
    b.undo().undo();
    QVERIFY(b.survey() == before);
}

void WindowTest::adjustsAndShowsPlusMinus() {
    Bench b;
    QVERIFY(b.adjust());
    auto* ledger = b.part<QTableView>("ledger")->model();
    const int dimensions = int(b.survey().dimensions.size());  // which stand first
    QVERIFY(ledger->rowCount() > dimensions);
    int byDatum = 0;
    for (int row = 0; row < dimensions; ++row) {
        const QString pm = ledger->index(row, 2).data().toString();
        if (pm == QStringLiteral("by datum"))
            ++byDatum;
        else
            QVERIFY2(pm.startsWith(QStringLiteral("±")) && pm.mid(1).toDouble() > 0, qPrintable(pm));
    }
    QVERIFY(byDatum <= 1);  // only the offset along y to the feature that gives the x axis
    const auto& first = b.window.document().solution()->dimensions.front();
    QVERIFY(std::abs(ledger->index(0, 1).data().toString().section(QLatin1Char(' '), 0, 0).toDouble() -
                     first.value) < 0.01);
    auto* marks = b.part<QTableView>("marks")->model();
    QVERIFY(marks->index(0, 4).data().toString().toDouble() >= 0);
    // an act makes the numbers old, and the window says so
    QVERIFY(static_cast<bool>(b.window.document().perform({"Rename", {survey::SetTitle{"other", "", ""}}})));
    QVERIFY(b.part<QLabel>("summary")->text().contains(QStringLiteral("adjust again")));
}

void WindowTest::handsOver() {
    QTemporaryDir folder;
    Bench b;
    QVERIFY(!b.part<QPushButton>("writeDxf")->isEnabled());
    QVERIFY(!b.part<QPushButton>("writeDxf")->toolTip().isEmpty());
    QVERIFY(b.adjust());
    b.prompts.handOver = folder.filePath(QStringLiteral("part.dxf"));
    b.showTab("contents");
    QTest::mouseClick(b.part<QPushButton>("writeDxf"), Qt::LeftButton);
    QVERIFY(QTest::qWaitFor([&] { return !b.window.jobs().running(); }, 30000));
    QVERIFY2(QFile::exists(b.prompts.handOver),
             qPrintable(b.window.notices().sentences().join(QLatin1Char('\n'))));
    const QString shown = b.part<QPlainTextEdit>("contents")->toPlainText();
    QVERIFY(shown.contains(QStringLiteral("millimetre")));
    QVERIFY(shown.contains(QStringLiteral("holds the same as the drawing")));
}

void WindowTest::badSurveyLeavesTheOldOne() {
    QTemporaryDir folder;
    Bench b;
    const auto before = b.survey();
    QFile file(folder.filePath(QStringLiteral("cut.trammel")));
    QVERIFY(file.open(QIODevice::WriteOnly));
    file.write("{\"format\": \"trammel survey\", \"version\": 1, \"stations\": [");
    file.close();
    b.window.desk().openFile(file.fileName());
    QVERIFY(b.notices(QStringLiteral("cut.trammel")));
    QVERIFY(b.survey() == before);
    b.window.desk().openFile(folder.filePath(QStringLiteral("absent.trammel")));
    QVERIFY(b.notices(QStringLiteral("absent.trammel")));
    QVERIFY(b.survey() == before);
}

void WindowTest::missingAndChangedPhotographsAreNamed() {
    QTemporaryDir folder;
    const auto file = copySample(folder);
    const auto survey = storage::load(file);
    QVERIFY(static_cast<bool>(survey));
    const fs::path missing = file.parent_path() / survey->stations[0].photo.path;
    const fs::path changed = file.parent_path() / survey->stations[1].photo.path;
    fs::remove(missing);
    QFile more(QString::fromStdString(changed.string()));
    QVERIFY(more.open(QIODevice::Append));
    more.write("more");
    more.close();
    Bench b(QString::fromStdString(file.string()));
    QVERIFY(QTest::qWaitFor([&] { return b.window.notices().sentences().size() >= 2; }, 30000));
    QVERIFY(b.notices(QString::fromStdString(missing.filename().string())));
    QVERIFY(b.notices(QString::fromStdString(changed.filename().string())));
    QVERIFY(
        QTest::qWaitFor([&] { return !b.window.photographs().problem(b.window.canvas().path()).isEmpty(); }));
    QVERIFY(b.survey() == *survey);
}

void WindowTest::savesElsewhereWithItsPhotographs() {
    QTemporaryDir from, to;
    const auto file = copySample(from);
    Bench b(QString::fromStdString(file.string()));
    b.key(Qt::Key_C);
    b.click(b.inPicture(0.1, 0.1));
    b.prompts.save = to.filePath(QStringLiteral("moved.trammel"));
    QVERIFY(b.window.desk().saveAs());
    QVERIFY(!b.window.document().unsaved());
    const auto again = storage::load(b.prompts.save.toStdString());
    QVERIFY(static_cast<bool>(again));
    QCOMPARE(again->marks.size(), b.survey().marks.size());
    for (const auto& station : again->stations)
        QVERIFY(fs::exists(fs::path(to.path().toStdString()) / station.photo.path));
    QVERIFY(storage::checkPhotographs(*again, b.prompts.save.toStdString()).empty());
    // a place that cannot be written: a notice, and the survey is still unsaved work
    b.click(b.inPicture(0.6, 0.11));
    b.prompts.save = QStringLiteral("/proc/nowhere/x.trammel");
    QVERIFY(!b.window.desk().saveAs());
    QVERIFY(b.notices(QStringLiteral("x.trammel")));
    QVERIFY(b.window.document().unsaved());
}

void WindowTest::asksAboutUnsavedChanges() {
    Bench b;
    b.key(Qt::Key_C);
    b.click(b.inPicture(0.1, 0.1));
    const auto work = b.survey();
    b.prompts.unsaved = Prompts::Unsaved::Cancel;
    b.window.desk().openFile(kSample);
    QCOMPARE(b.prompts.unsavedAsked, 1);
    QVERIFY(b.survey() == work);
    QVERIFY(!b.window.close());
    b.prompts.unsaved = Prompts::Unsaved::Discard;
    QVERIFY(b.window.close());
}

void WindowTest::everyActCanBeUndone() {
    Bench b;
    const auto before = b.survey();
    auto clickButton = [&](const char* name) {
        QTest::mouseClick(b.part<QPushButton>(name), Qt::LeftButton);
    };
    b.key(Qt::Key_C);
    b.click(b.inPicture(0.1, 0.1));
    b.key(Qt::Key_X);  // leave it out
    QVERIFY(b.survey().marks.back().excluded);
    b.showTab("ledger");
    clickButton("addDimension");
    auto* view = b.part<QComboBox>("view");
    view->setCurrentIndex(3);
    Q_EMIT view->activated(3);
    auto* levels = b.part<QTableView>("levels")->model();
    QVERIFY(levels->setData(levels->index(0, 0), QStringLiteral("base")));
    auto* marks = b.part<QTableView>("marks")->model();
    QVERIFY(marks->setData(marks->index(0, 3), Qt::Unchecked, Qt::CheckStateRole));
    auto* features = b.part<QTableView>("features")->model();
    QVERIFY(features->setData(features->index(0, 0), QStringLiteral("renamed")));
    QCOMPARE(b.undo().count(), 7);
    const auto after = b.survey();
    while (b.undo().canUndo()) {
        QVERIFY(!b.undo().undoText().isEmpty());
        b.undo().undo();
    }
    QVERIFY(b.survey() == before);
    while (b.undo().canRedo()) b.undo().redo();
    QVERIFY(b.survey() == after);
}

void WindowTest::startsFromPhotographs() {
    QTemporaryDir folder;
    const auto file = copySample(folder);
    Bench b{QString()};
    for (const char* name : {"front.jpg", "top.jpg"})
        b.prompts.files << QString::fromStdString((file.parent_path() / "photographs" / name).string());
    QFile text(folder.filePath(QStringLiteral("words.jpg")));
    QVERIFY(text.open(QIODevice::WriteOnly));
    text.write("no photograph");
    text.close();
    b.prompts.files << text.fileName();
    QTest::mouseClick(b.part<QPushButton>("photographsWay"), Qt::LeftButton);
    QVERIFY(QTest::qWaitFor([&] { return b.survey().stations.size() == 2 && !b.window.jobs().running(); },
                            30000));
    QVERIFY(b.survey().stations[0].view == survey::View::Front);
    QVERIFY(b.survey().stations[1].view == survey::View::Top);
    QVERIFY(b.notices(QStringLiteral("words.jpg")));
    if (!b.survey().stations[0].photo.crop.known) {
        QVERIFY(b.part<QWidget>("crop")->isVisible());  // asked in place
        QTest::mouseClick(b.part<QPushButton>("whole"), Qt::LeftButton);
        QVERIFY(b.survey().stations[0].photo.crop.known);
    }
    b.key(Qt::Key_C);
    b.click(b.inPicture(0.5, 0.5));
    QCOMPARE(b.survey().marks.size(), std::size_t(1));
}

QTEST_MAIN(WindowTest)
#include "window_test.moc"
