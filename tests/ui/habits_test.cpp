// SPDX-License-Identifier: GPL-3.0-or-later
// Habits of a desk: surveys opened lately, files dropped on the window, readings pasted from a sheet of
// cells, names that keep clear of each other, notices that list what they are about.
#include <QClipboard>
#include <QDragEnterEvent>
#include <QDropEvent>
#include <QFileDialog>
#include <QListWidget>
#include <QMenu>
#include <QMessageBox>
#include <QMimeData>
#include <QPainter>
#include <QPlainTextEdit>
#include <QSettings>
#include <QTableView>
#include <QTimer>

#include "Bench.h"
#include "ui/canvas/Strokes.h"
#include "ui/dialogs/DesktopPrompts.h"
#include "ui/panels/LedgerRows.h"
#include "ui/panels/PastedReadings.h"
#include "ui/settings/RecentSurveys.h"

using namespace trammel;
using namespace trammel::ui;

namespace {

void drop(Bench& b, const QStringList& files) {
    QMimeData data;
    QList<QUrl> urls;
    for (const QString& file : files) urls << QUrl::fromLocalFile(file);
    data.setUrls(urls);
    QDragEnterEvent enter(QPoint(200, 200), Qt::CopyAction, &data, Qt::LeftButton, Qt::NoModifier);
    QCoreApplication::sendEvent(&b.window, &enter);
    QVERIFY(enter.isAccepted());
    QDropEvent event(QPointF(200, 200), Qt::CopyAction, &data, Qt::LeftButton, Qt::NoModifier);
    QCoreApplication::sendEvent(&b.window, &event);
    QCoreApplication::processEvents();  // what waits for the drop to end
    QVERIFY(QTest::qWaitFor([&] { return !b.window.jobs().running(); }, 60000));
}

std::vector<PastedLine> read(const survey::Survey& survey, const char* text) {
    return readPasted(survey, QString::fromUtf8(text), 0.05, 0.001);
}

survey::Survey sampleSurvey() {
    Bench b;
    return b.survey();
}

}  // namespace

class HabitsTest : public QObject {
    Q_OBJECT
  private Q_SLOTS:
    void initTestCase() {
        if (!QFile::exists(kSample)) QSKIP("the sample has not been built");
        QSettings::setPath(QSettings::IniFormat, QSettings::UserScope, settings_.path());
    }
    void init() { forgetSurveys(); }
    void whatWasOpenedLatelyIsOffered();
    void photographsAndSurveysAreDropped();
    void cellsAsSheetsHaveThem();
    void everyBadLineIsNamedAndKept();
    void pastesAsOneAct();
    void whatIsCopiedIsPasted();
    void namesKeepClearOfEachOther();
    void aNoticeListsWhatItIsAbout();
    void nothingIsReplacedUnasked();

  private:
    QTemporaryDir settings_;
};

void HabitsTest::whatWasOpenedLatelyIsOffered() {
    QTemporaryDir folder;
    const QString file = QString::fromStdString(copySample(folder).string());
    const QString gone = folder.filePath(QStringLiteral("gone.trammel"));
    noteSurvey(gone);
    {
        Bench b(file);
        QVERIFY(b.window.document().isOpen());
    }
    QCOMPARE(recentSurveys(), (QStringList{file, gone}));
    Bench b{QString()};
    auto* list = b.part<QListWidget>("lately");
    QVERIFY(list->isVisible());
    QCOMPARE(list->count(), 2);
    QVERIFY(list->item(1)->text().contains(QStringLiteral("missing")));
    QVERIFY(!(list->item(1)->flags() & Qt::ItemIsEnabled));
    auto* menu = b.part<QMenu>("latelyMenu");
    Q_EMIT menu->aboutToShow();
    QVERIFY(menu->actions().front()->isEnabled());
    QVERIFY(!menu->actions().at(1)->isEnabled());
    list->setCurrentRow(0);
    list->setFocus();
    QTest::keyClick(list, Qt::Key_Return);
    QVERIFY(b.window.document().isOpen());
    QCOMPARE(QString::fromStdString(b.window.document().file().string()), file);
    // more than are kept push the oldest out; forgetting empties both places
    for (int i = 0; i < 2 * kMostRecent; ++i) noteSurvey(folder.filePath(QString::number(i)));
    QCOMPARE(int(recentSurveys().size()), kMostRecent);
    Bench again{QString()};
    QTest::mouseClick(again.part<QPushButton>("forgetLately"), Qt::LeftButton);
    QVERIFY(recentSurveys().empty());
    QVERIFY(!again.part<QListWidget>("lately")->isVisible());
}

void HabitsTest::photographsAndSurveysAreDropped() {
    QTemporaryDir folder;
    const auto place = copySample(folder);
    const QString file = QString::fromStdString(place.string());
    QStringList photographs;
    for (const auto& entry : fs::directory_iterator(place.parent_path() / "photographs"))
        photographs << QString::fromStdString(entry.path().string());
    QVERIFY(photographs.size() >= 2);
    Bench b{QString()};
    drop(b, photographs.mid(0, 1));  // starts a survey
    QVERIFY(b.window.document().isOpen());
    QCOMPARE(b.survey().stations.size(), std::size_t(1));
    drop(b, photographs.mid(1, 1));  // is added to it
    QCOMPARE(b.survey().stations.size(), std::size_t(2));
    QVERIFY(b.window.document().unsaved());
    const auto before = b.survey();
    drop(b, {folder.path()});
    QVERIFY(b.notices(QStringLiteral("folder")));
    drop(b, {file, photographs[0]});
    QVERIFY(b.notices(QStringLiteral("alone")));
    QVERIFY(b.survey() == before);
    // on the pages aside they are of a board, or of nothing
    QTest::keyClick(&b.window, Qt::Key_F8);
    drop(b, photographs.mid(0, 2));
    QCOMPARE(b.part<QListWidget>("boardPhotographs")->count(), 2);
    QTest::keyClick(&b.window, Qt::Key_F7);
    drop(b, photographs.mid(0, 1));
    QVERIFY(b.notices(QStringLiteral("dropped on the plan")));
    QVERIFY(b.survey() == before);
    b.prompts.unsaved = Prompts::Unsaved::Cancel;
    drop(b, {file});
    QCOMPARE(b.prompts.unsavedAsked, 1);
    QVERIFY(b.survey() == before);  // the user thought better of it
    b.prompts.unsaved = Prompts::Unsaved::Discard;
    drop(b, {file});
    QVERIFY(b.survey().stations.size() > 2);
}

void HabitsTest::cellsAsSheetsHaveThem() {
    const auto survey = sampleSurvey();
    // the same reading with tabs, semicolons and a decimal comma, commas and a decimal point
    for (const char* text :
         {"distance\tH1\tH2\t250,01\tmm", "distance;H1;H2;250,01;mm\r\n", "distance,H1,H2,250.01,mm",
          "Kind;from;to;value;unit\n\nDistance; h1 ;\"H2\";250,01;"}) {
        const auto lines = read(survey, text);
        QVERIFY2(lines.size() == 1 && lines[0].problem.isEmpty(),
                 qPrintable(lines.empty() ? QStringLiteral("no line") : lines[0].problem));
        const auto& r = lines[0].reading.front();
        QCOMPARE(r.measured.value, 250.01);
        QCOMPARE(r.measured.sigma, 0.05);
        QCOMPARE(r.objects.size(), std::size_t(2));
        QCOMPARE(survey::find(survey.features, r.objects[1])->name, std::string("H2"));
    }
    // 1 in is 25.4 mm exactly (international yard and pound agreement, 1959)
    QCOMPARE(read(survey, "diameter;H1;;0,125;in;0,001;bore;check")[0].reading[0].measured.value, 3.175);
    const auto full = read(survey, "diameter;H1;;0,125;in;0,001;bore;check")[0].reading[0];
    QVERIFY(std::abs(full.measured.sigma - 0.0254) < 1e-12);
    QCOMPARE(full.name, std::string("bore"));
    QVERIFY(full.check);
    // what stands in quotes parts no cells; a quote alone is the inch
    const auto quoted = read(survey, "distance,\"H1\",H2,\"250,01\",mm,,\"left, \"\"upper\"\"; new\"");
    QVERIFY2(quoted[0].problem.isEmpty(), qPrintable(quoted[0].problem));
    QCOMPARE(quoted[0].reading[0].measured.value, 250.01);
    QCOMPARE(quoted[0].reading[0].name, std::string("left, \"upper\"; new"));
    QCOMPARE(read(survey, "diameter;H1;;0,125;\";0,001;\"bore\"")[0].reading[0].measured.value, 3.175);
    const auto angle = read(survey, "angle;E5;E6;45;°");
    QVERIFY2(angle[0].problem.isEmpty(), qPrintable(angle[0].problem));
    QVERIFY(std::abs(angle[0].reading[0].measured.value - std::atan(1.0)) < 1e-12);
}

void HabitsTest::everyBadLineIsNamedAndKept() {
    const auto survey = sampleSurvey();
    const auto lines = read(survey,
                            "distance;H1;H2;40;mm\n"
                            "distance;H1;H99;40;mm\n"
                            "girth;H1;H2;40;mm\n"
                            "distance;H1;H2;about 40;mm\n"
                            "distance;H1;H2;40;furlong\n"
                            "distance;H1\n"
                            "distance;H1;H2;-4;mm\n"
                            "diameter;E1;;4;mm\n"
                            "distance;H1;H2;40;mm;0\n");
    QCOMPARE(lines.size(), std::size_t(9));
    const char* said[] = {"", "H99", "girth", "about 40", "furlong", "cells", "", "", ""};
    for (std::size_t i = 0; i < lines.size(); ++i) {
        QCOMPARE(lines[i].number, int(i) + 1);
        QCOMPARE(lines[i].problem.isEmpty(), i == 0);
        QVERIFY2(lines[i].problem.contains(QString::fromLatin1(said[i])), qPrintable(lines[i].problem));
        QCOMPARE(lines[i].reading.empty(), i != 0);
    }
    QCOMPARE(pasteEdit(survey, lines).changes.size(), std::size_t(1));
    read(survey, "\t\t\t\t\t\n;;;;;;;;;;;;\n\"\n\"\";\"\"\n");  // nothing to say, and no crash
}

void HabitsTest::pastesAsOneAct() {
    Bench b;
    b.showTab("readings");
    const auto before = b.survey();
    QGuiApplication::clipboard()->setText(
        QStringLiteral("distance\tH1\tH2\t250,01\tmm\ndistance\tH1\tH77\t12\tmm\ndiameter\tH3\t\t3,21\tmm"));
    QTest::mouseClick(b.part<QPushButton>("pasteReadings"), Qt::LeftButton);
    auto* text = b.part<QPlainTextEdit>("pasteText");
    QVERIFY(text->isVisible() && text->hasFocus());
    const QString words = b.part<QLabel>("pasteWords")->text();
    QVERIFY2(words.contains(QStringLiteral("2 of 3")) && words.contains(QStringLiteral("Line 2")) &&
                 words.contains(QStringLiteral("H77")),
             qPrintable(words));
    QTest::mouseClick(b.part<QPushButton>("pasteTake"), Qt::LeftButton);
    QCOMPARE(b.survey().readings.size(), before.readings.size() + 2);
    QCOMPARE(b.undo().count(), 1);
    QCOMPARE(text->toPlainText(), QStringLiteral("distance\tH1\tH77\t12\tmm"));  // nothing is thrown away
    text->setPlainText(text->toPlainText().replace(QStringLiteral("H77"), QStringLiteral("H4")));
    QTest::mouseClick(b.part<QPushButton>("pasteTake"), Qt::LeftButton);
    QCOMPARE(b.survey().readings.size(), before.readings.size() + 3);
    QVERIFY(!text->isVisible());
    b.undo().undo();
    b.undo().undo();
    QVERIFY(b.survey() == before);
}

void HabitsTest::whatIsCopiedIsPasted() {
    Bench b;
    survey::Reading out = b.survey().readings.front();
    out.excluded = true;
    QVERIFY(static_cast<bool>(b.window.document().perform({"Out", {survey::Put<survey::Reading>{out}}})));
    QVERIFY(b.adjust());
    std::vector<survey::Id> ids;
    for (const auto& r : b.survey().readings) ids.push_back(r.id);
    const std::size_t readings = ids.size();
    for (const auto& d : b.survey().dimensions) ids.push_back(d.id);
    const auto lines = readPasted(b.survey(), asTable(b.window.document(), ids), 1.0, 1.0);
    QVERIFY(ids.size() > readings);
    QCOMPARE(lines.size(), ids.size());
    // what the adjustment found is no observation of its own
    for (std::size_t d = readings; d < lines.size(); ++d) {
        QVERIFY(lines[d].reading.empty());
        QVERIFY2(lines[d].problem.contains(QStringLiteral("passed over")), qPrintable(lines[d].problem));
    }
    std::size_t i = 0;
    for (const auto& r : b.survey().readings) {
        QVERIFY2(lines[i].problem.isEmpty(), qPrintable(lines[i].problem));
        survey::Reading back = lines[i].reading.front();
        back.id = r.id;
        QCOMPARE(back.objects, r.objects);
        QCOMPARE(back.quantity, r.quantity);
        QVERIFY(std::abs(back.measured.value - r.measured.value) < 1e-5);
        QVERIFY(std::abs(back.measured.sigma - r.measured.sigma) < 1e-5);
        QCOMPARE(back.check, r.check);
        QCOMPARE(back.reference, r.reference);
        QCOMPARE(back.excluded, r.excluded);
        ++i;
    }
}

void HabitsTest::namesKeepClearOfEachOther() {
    QImage image(300, 200, QImage::Format_ARGB32);
    QPainter painter(&image);
    Taken taken;
    std::size_t asked = 0;
    for (int y = 0; y <= 200; y += 20)
        for (int x = 0; x <= 300; x += 20, ++asked)
            paintPlate(painter, QPointF(x, y), QStringLiteral("edge E%1").arg(asked), Qt::white, false,
                       taken);
    QVERIFY(taken.size() > 8 && taken.size() < asked);  // thinned, and not all gone
    for (std::size_t i = 0; i < taken.size(); ++i) {
        QVERIFY(QRectF(image.rect()).contains(taken[i]));
        for (std::size_t k = 0; k < i; ++k) QVERIFY(!taken[i].intersects(taken[k]));
    }
    const auto before = taken.size();
    paintPlate(painter, QPointF(299, 100), QStringLiteral("chosen"), Qt::white, true, taken);
    QCOMPARE(taken.size(), before + 1);  // what must be seen is, whole
    QVERIFY(QRectF(image.rect()).contains(taken.back()));
}

void HabitsTest::aNoticeListsWhatItIsAbout() {
    NoticeBar bar;
    bar.resize(500, 300);
    QStringList acted;
    bar.show(NoticeBar::Weight::Said, QStringLiteral("Two stay as they were."), {},
             {{QStringLiteral("first"), [&] { acted << QStringLiteral("first"); }},
              {QStringLiteral("second"), [&] { acted << QStringLiteral("second"); }}});
    auto* which = bar.findChild<QPushButton*>(QStringLiteral("noticeWhich"));
    auto* list = bar.findChild<QListWidget*>(QStringLiteral("noticeList"));
    QVERIFY(which && list && list->isHidden());
    which->click();
    QVERIFY(!list->isHidden());
    bar.setVisible(true);
    const auto click = [&](int row) {
        QTest::mouseClick(list->viewport(), Qt::LeftButton, {},
                          list->visualItemRect(list->item(row)).center());
    };
    click(1);
    click(1);  // once more shows it once more
    QTest::keyClick(list, Qt::Key_Up);
    QCOMPARE(acted, (QStringList{QStringLiteral("second"), QStringLiteral("second")}));
    QTest::keyClick(list, Qt::Key_Return);
    QCOMPARE(acted.size(), 3);
    QCOMPARE(acted.back(), QStringLiteral("first"));
    QCOMPARE(bar.sentences().size(), 1);  // it stays
}

void HabitsTest::nothingIsReplacedUnasked() {
    QTemporaryDir folder;
    // "part 1.2" is a name whose last dot begins no suffix
    for (const QString name : {QStringLiteral("part"), QStringLiteral("part 1.2")}) {
        const QString there = folder.filePath(name + QStringLiteral(".dxf"));
        DesktopPrompts prompts(nullptr);
        int asked = 0, dialogs = 0;
        const auto answer = [&](const QString& typed) {
            QTimer turn;
            connect(&turn, &QTimer::timeout, this, [&] {
                auto* top = QApplication::activeModalWidget();
                if (auto* box = qobject_cast<QMessageBox*>(top)) {
                    ++asked;
                    QTest::mouseClick(box->button(QMessageBox::No), Qt::LeftButton);
                } else if (auto* dialog = qobject_cast<QFileDialog*>(top)) {
                    if (asked > 0 || ++dialogs > 4) return dialog->reject();
                    if (!typed.isEmpty() && dialogs == 1)
                        dialog->findChild<QLineEdit*>(QStringLiteral("fileNameEdit"))->setText(typed);
                    // Queued: the timer does not run again while it waits for the question in here.
                    QMetaObject::invokeMethod(dialog, "accept", Qt::QueuedConnection);
                }
            });
            turn.start(30);
            return prompts.placeToHandOver(folder.filePath(QStringLiteral("drawing.dxf")));
        };
        QCOMPARE(answer(name), there);
        QCOMPARE(asked, 0);
        QFile file(there);
        QVERIFY(file.open(QIODevice::WriteOnly));
        file.close();
        dialogs = 0;
        QCOMPARE(answer(name), QString());
        QCOMPARE(asked, 1);
    }
}

QTEST_MAIN(HabitsTest)
#include "habits_test.moc"
