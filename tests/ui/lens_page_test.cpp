// SPDX-License-Identifier: GPL-3.0-or-later
// A lens is calibrated in the window to the truth that its photographs were computed with, kept, and removed.
#include <QCheckBox>
#include <QListWidget>
#include <QPlainTextEdit>
#include <QTimer>

#include "Bench.h"
#include "RenderedBoards.h"
#include "core/calibrate/CalibrationText.h"
#include "core/calibrate/LensStore.h"
#include "core/photo/Decode.h"
#include "core/photo/Encode.h"
#include "core/photo/Exif.h"
#include "ui/panels/LensPage.h"
#include "ui/panels/SheetView.h"

using namespace trammel;
using namespace trammel::ui;

namespace {

const tests::Lens kLens{{640.0, Vec2(241.0, 158.5), -0.15, 0.12, 0.0, 0.0, 0.0}, 480, 320};

LensPage* openLens(Bench& bench) {
    QTest::keyClick(&bench.window, Qt::Key_F8);
    return bench.part<LensPage>("lens");
}

void typeBoard(Bench& bench) {
    bench.type("boardColumns", QStringLiteral("8"));
    bench.type("boardRows", QStringLiteral("6"));
    bench.type("boardWidth", QStringLiteral("80,0"));
    bench.type("boardHeight", QStringLiteral("60"));
    QTest::mouseClick(bench.part<QCheckBox>("boardEven"), Qt::LeftButton, {}, QPoint(8, 8));
}

bool runOn(Bench& bench, LensPage* page) {
    QTest::mouseClick(bench.part<QPushButton>("lensRun"), Qt::LeftButton);
    return QTest::qWaitFor([&] { return !bench.window.jobs().running(); }, 120000) &&
           page->calibration().has_value();
}

}  // namespace

class LensPageTest : public QObject {
    Q_OBJECT
  private Q_SLOTS:
    void initTestCase();
    void calibratesToTheTruthAndKeepsTheLens();
    void leavesOutAndTakesBack();
    void refusesInPlaceAndKeepsWhatWasTyped();
    void printsTheBoardAtTrueScale();
    void stopsAndAnswersMeanwhile();

  private:
    QTemporaryDir folder_;
    QStringList files_;
};

void LensPageTest::initTestCase() {
    const calibrate::Board board{8, 6, 10.0, 10.0};
    const auto made = tests::renderBoard(board, kLens, 8, fs::path(folder_.path().toStdString()));
    QVERIFY(static_cast<bool>(made));
    photo::Exif told;  // no lens, focal length, focus or date
    told.make = "Example";
    told.model = "Body 1";
    for (const auto& file : *made) {
        const auto image = photo::decode(file);
        QVERIFY(static_cast<bool>(image) && static_cast<bool>(photo::encodeJpeg(*image, file, 97)));
        QVERIFY(static_cast<bool>(photo::writeExif(file, told)));
        files_ << QString::fromStdString(file.string());
    }
    qputenv("XDG_DATA_HOME", folder_.filePath(QStringLiteral("data")).toUtf8());
}

void LensPageTest::calibratesToTheTruthAndKeepsTheLens() {
    Bench bench{QString()};
    auto* page = openLens(bench);
    QVERIFY(page->isVisible());
    typeBoard(bench);
    bench.prompts.files = files_;
    QTest::mouseClick(bench.part<QPushButton>("boardAdd"), Qt::LeftButton);
    QVERIFY(runOn(bench, page));
    const auto& record = page->calibration()->record;
    QVERIFY(std::abs(record.constants.c - kLens.truth.c) < 3.5 * record.sigma(calibrate::kDistance));
    QVERIFY(std::abs(record.constants.k1 - kLens.truth.k1) < 3.5 * record.sigma(calibrate::kK1));
    QCOMPARE(bench.part<QLabel>("lensVerdict")->text(),
             QString::fromStdString(calibrate::verdict(*page->calibration())));
    QVERIFY(!bench.part<QLabel>("lensNext")->text().isEmpty());
    QVERIFY(bench.part<SheetView>("lensSheet")->page().has_value());
    QVERIFY(bench.part<QPlainTextEdit>("lensWords")->toPlainText().contains(QStringLiteral("k1")));
    QVERIFY(bench.part<QListWidget>("boardPhotographs")->item(0)->text().contains(QStringLiteral("px RMS")));
    // What the photographs tell stands fixed; what they do not is asked for.
    QCOMPARE(bench.part<QLineEdit>("lensBody")->text(), QStringLiteral("Example Body 1"));
    QVERIFY(bench.part<QLineEdit>("lensBody")->isReadOnly());
    const auto keep = [&] { QTest::mouseClick(bench.part<QPushButton>("lensKeep"), Qt::LeftButton); };
    keep();
    QVERIFY(bench.notices(QStringLiteral("lens: the photographs do not tell it")));
    bench.type("lensLens", QStringLiteral("Example Optics 35"));
    bench.type("lensFocal", QStringLiteral("no"));
    keep();
    QVERIFY(bench.notices(QStringLiteral("focal length")));
    QCOMPARE(bench.part<QLineEdit>("lensFocal")->text(), QStringLiteral("no"));
    bench.type("lensFocal", QStringLiteral("35"));
    bench.type("lensFocus", QStringLiteral("1,25"));
    keep();
    QVERIFY(bench.notices(QStringLiteral("date: the photographs do not tell it")));
    bench.type("lensDate", QStringLiteral("2026-05-02"));
    const calibrate::LensStore store(calibrate::usersLensFolder());
    QVERIFY(store.all().lenses.empty());
    keep();
    QCOMPARE(store.all().lenses.size(), 1u);
    QCOMPARE(store.all().lenses.front().record.focus_m, 1.25);
    QCOMPARE(store.all().lenses.front().record.date, std::string("2026-05-02"));
    QCOMPARE(store.all().lenses.front().record.constants.c, record.constants.c);
    auto* list = bench.part<QListWidget>("keptLenses");
    QVERIFY(list->isVisible());
    QCOMPARE(list->count(), 1);
    list->setCurrentRow(0);
    QTest::mouseClick(bench.part<QPushButton>("keptRemove"), Qt::LeftButton);
    QVERIFY(store.all().lenses.empty());
    QTest::mouseClick(bench.part<QPushButton>("keptBack"), Qt::LeftButton);
    QCOMPARE(store.all().lenses.size(), 1u);
    QVERIFY(calibrate::toJson(store.all().lenses.front().record).find("Example Optics 35") !=
            std::string::npos);
}

void LensPageTest::leavesOutAndTakesBack() {
    Bench bench{QString()};
    auto* page = openLens(bench);
    typeBoard(bench);
    page->addPhotographs(files_);
    auto* list = bench.part<QListWidget>("boardPhotographs");
    list->item(4)->setCheckState(Qt::Unchecked);
    QVERIFY(runOn(bench, page));
    QCOMPARE(page->calibration()->calibration.frames.size(), 7u);
    QVERIFY(list->item(4)->text().contains(QStringLiteral("left out by you")));
    list->item(4)->setCheckState(Qt::Checked);
    QVERIFY(!page->calibration());  // what was computed is not of what is ticked now
    QVERIFY(!bench.part<QPushButton>("lensKeep")->isEnabled());
    QVERIFY(!bench.part<SheetView>("lensSheet")->page());
    QVERIFY(!list->item(4)->text().contains(QStringLiteral("left out")));
}

void LensPageTest::refusesInPlaceAndKeepsWhatWasTyped() {
    Bench bench{QString()};
    auto* page = openLens(bench);
    auto* verdict = bench.part<QLabel>("lensVerdict");
    page->addPhotographs({files_.first()});
    QTest::mouseClick(bench.part<QPushButton>("lensRun"), Qt::LeftButton);
    QVERIFY(verdict->text().contains(QStringLiteral("length over all columns")));  // nothing is assumed
    typeBoard(bench);
    bench.type("boardPlusMinus", QStringLiteral("a hair"));
    QTest::mouseClick(bench.part<QPushButton>("lensRun"), Qt::LeftButton);
    QVERIFY(verdict->text().contains(QStringLiteral("a hair")));
    QCOMPARE(bench.part<QLineEdit>("boardPlusMinus")->text(), QStringLiteral("a hair"));
    bench.type("boardPlusMinus", QStringLiteral("0,2"));
    QTest::mouseClick(bench.part<QPushButton>("lensRun"), Qt::LeftButton);
    QTRY_VERIFY_WITH_TIMEOUT(!bench.window.jobs().running(), 60000);
    QVERIFY(!page->calibration());  // one photograph alone
    QVERIFY(!verdict->text().contains(QStringLiteral("Calibrating")));
    QVERIFY(bench.part<QPushButton>("lensRun")->isEnabled());
    QTest::keyClick(bench.part<QLineEdit>("boardWidth"), Qt::Key_Escape);
    QVERIFY(!page->isVisible());
    QTest::keyClick(&bench.window, Qt::Key_F8);
    QCOMPARE(bench.part<QLineEdit>("boardWidth")->text(), QStringLiteral("80,0"));
}

void LensPageTest::printsTheBoardAtTrueScale() {
    Bench bench{QString()};
    openLens(bench);
    bench.type("boardSquare", QStringLiteral("12,5"));
    bench.prompts.page = folder_.filePath(QStringLiteral("board.svg"));
    QTest::mouseClick(bench.part<QPushButton>("boardSave"), Qt::LeftButton);
    QFile file(bench.prompts.page);
    QVERIFY(file.open(QIODevice::ReadOnly));
    const QString svg = QString::fromUtf8(file.readAll());
    // One unit of the drawing is one millimetre of an A4 page (SVG 1.1: width, height and viewBox).
    QVERIFY(svg.contains(QStringLiteral(R"(width="297mm" height="210mm" viewBox="0 0 297 210")")));
    const QString verdict = bench.part<QLabel>("lensVerdict")->text();
    bench.type("boardSquare", QStringLiteral("500"));
    QVERIFY(!bench.part<QPushButton>("boardSave")->isEnabled());
    auto* words = bench.part<QLabel>("boardWords");
    QVERIFY(words->text().contains(QStringLiteral("fewer or smaller squares")));
    QCOMPARE(bench.part<QLabel>("lensVerdict")->text(), verdict);  // which is about the calibration
    bench.type("boardSquare", QStringLiteral("10"));
    QVERIFY(words->text().isEmpty());
}

void LensPageTest::stopsAndAnswersMeanwhile() {
    Bench bench{QString()};
    auto* page = openLens(bench);
    typeBoard(bench);
    page->addPhotographs(files_);
    int beats = 0;
    QTimer beat;
    connect(&beat, &QTimer::timeout, this, [&] { ++beats; });
    beat.start(5);
    QTest::mouseClick(bench.part<QPushButton>("lensRun"), Qt::LeftButton);
    QVERIFY(QTest::qWaitFor([&] { return beats > 2; }, 20000));
    QVERIFY(bench.window.jobs().running());
    QTest::mouseClick(bench.part<QPushButton>("stop"), Qt::LeftButton);
    QTRY_VERIFY_WITH_TIMEOUT(!bench.window.jobs().running(), 60000);
    QVERIFY(!page->calibration());
    QVERIFY(bench.part<QLabel>("lensVerdict")->text().contains(QStringLiteral("was stopped")));
}

QTEST_MAIN(LensPageTest)
#include "lens_page_test.moc"
