// SPDX-License-Identifier: GPL-3.0-or-later
// The whole job on the real widgets, by mouse and keyboard alone: a new survey from photographs, ten features
// marked in three of them, a length, a reading typed wrong, named, mended; all of it undone and redone;
// handed over, with the file beside what the batch writes. Clicks go where the sample's own marks lie.
#include <QAbstractItemView>
#include <QAction>
#include <QComboBox>
#include <QFile>

#include <algorithm>
#include <cmath>

#include "Bench.h"
#include "core/adjust/Adjust.h"
#include "core/adjust/Report.h"
#include "core/handover/Deliver.h"
#include "core/handover/DxfReader.h"
#include "ui/settings/WindowSettings.h"

using namespace trammel;
using namespace trammel::ui;

namespace {

const std::vector<std::string> kStations = {"top", "oblique A", "oblique B"};
const std::vector<std::string> kOutline = {"C2", "C3", "C5", "C7", "C11", "C13"};
const std::vector<std::string> kHoles = {"H1", "H3"};
const std::vector<std::string> kSink = {"sink front left", "sink rear right"};

/// The bench with the answers of the sample at hand: where each feature is seen.
struct Job : Bench {
    survey::Survey known;

    Job() : Bench(QString()) {
        if (auto loaded = storage::load(kSample.toStdString())) known = *std::move(loaded);
    }

    const survey::Station& knownStation(const std::string& name) {
        return *std::ranges::find(known.stations, name, &survey::Station::name);
    }

    std::vector<survey::MarkPoint> seen(const std::string& feature, const std::string& station) {
        const auto& f = *std::ranges::find(known.features, feature, &survey::Feature::name);
        const auto& st = knownStation(station);
        for (const survey::Mark& m : known.marks)
            if (m.feature == f.id && m.station == st.id) return m.points;
        return {};
    }

    void clickPhoto(const Vec2& px) {
        auto& canvas = window.canvas();
        canvas.lookAt({px.x(), px.y()});
        click(canvas.view().toScreen({px.x(), px.y()}).toPoint());
    }

    void mark(Qt::Key tool, const std::string& feature, const std::string& station) {
        window.canvas().setFocus();
        key(tool);
        const auto points = seen(feature, station);
        for (const survey::MarkPoint& p : points) clickPhoto(p.px);
        if (tool != Qt::Key_C) key(Qt::Key_Return);
    }

    void goTo(std::size_t station) {
        auto* list = part<QAbstractItemView>("photographs");
        showTab("photographs");
        chooseRow(list, int(station));
        window.canvas().setFocus();
        window.canvas().zoomToPixels();
    }

    void chooseRow(QAbstractItemView* list, int row) {
        list->scrollTo(list->model()->index(row, 0));
        QTest::mouseClick(list->viewport(), Qt::LeftButton, {},
                          list->visualRect(list->model()->index(row, 0)).center());
    }

    survey::Id id(const std::string& name) {
        const auto& features = survey().features;
        const auto it = std::ranges::find(features, name, &survey::Feature::name);
        return it == features.end() ? survey::Id() : it->id;
    }

    /// Chooses a feature in the list of features and levels' rows by its name.
    void chooseFeature(const std::string& name) {
        auto* list = part<QAbstractItemView>("features");
        showTab("features");
        for (int row = 0; row < list->model()->rowCount(); ++row)
            if (list->model()->index(row, 0).data().toString().toStdString() == name)
                return chooseRow(list, row);
        qFatal("no feature is called %s", name.c_str());
    }

    void rename(int row, const std::string& name) {
        auto* model = part<QAbstractItemView>("features")->model();
        const QString wanted = QString::fromStdString(name);
        if (model->index(row, 0).data().toString() == wanted) return;
        QVERIFY2(model->setData(model->index(row, 0), wanted), name.c_str());
    }

    void press(const QString& words, const char* beside) {
        QWidget* panel = part<QAbstractItemView>(beside)->parentWidget();
        for (auto* button : panel->findChildren<QPushButton*>())
            if (button->text() == words) {
                QVERIFY2(button->isEnabled(), qPrintable(words));
                return QTest::mouseClick(button, Qt::LeftButton);
            }
        qFatal("no button says %s", qPrintable(words));
    }

    /// Puts the objects into the two boxes of the form that stands in the same panel.
    void objects(const char* beside, const std::string& first, const std::string& second) {
        QWidget* panel = part<QAbstractItemView>(beside)->parentWidget();
        const auto take = [&](const QString& box, const std::string& name) {
            for (auto* combo : panel->findChildren<QComboBox*>())
                if (combo->accessibleName() == box) {
                    const int at = combo->findData(QString::fromStdString(id(name)));
                    QVERIFY2(at >= 0, name.c_str());
                    combo->setCurrentIndex(at);
                    return;
                }
            qFatal("no box is called %s", qPrintable(box));
        };
        take(QStringLiteral("First object"), first);
        take(QStringLiteral("Second object"), second);
    }

    void reading(const std::string& a, const std::string& b, const QString& value, const QString& name) {
        showTab("readings");
        objects("readings", a, b);
        type("readingValue", value);
        type("readingSigma", QStringLiteral("0.05"));
        type("readingName", name);
        QTest::mouseClick(part<QPushButton>("addReading"), Qt::LeftButton);
    }

    /// How many of the first steps are ticked.
    int stepsDone() { return int(part<QLabel>("firstStepsRow")->text().count(QChar(0x2713))); }

    double truth(const std::string& a, const std::string& b) {
        static const auto solution = adjust::adjust(known);
        survey::Dimension d;
        for (const std::string& name : {a, b})
            d.objects.push_back(std::ranges::find(known.features, name, &survey::Feature::name)->id);
        return solution->measure(d)->value;
    }
};

}  // namespace

class WholeJobTest : public QObject {
    Q_OBJECT
  private Q_SLOTS:
    void initTestCase() {
        if (!QFile::exists(kSample)) QSKIP("the sample has not been built");
        QFile::remove(WindowSettings().fileName());
    }
    void fromPhotographsToTheFile();
    void theStepsCanBeLeft();

  private:
    void addPhotographs(Job& j);
    void markAll(Job& j);
    void stateLengths(Job& j);
    void findTheMistake(Job& j);
    void handOver(Job& j, const QTemporaryDir& folder);
};

void WholeJobTest::addPhotographs(Job& j) {
    for (const std::string& name : kStations)
        j.prompts.files << QString::fromStdString(
            (fs::path(kSample.toStdString()).parent_path() / j.knownStation(name).photo.path).string());
    QTest::mouseClick(j.part<QPushButton>("photographsWay"), Qt::LeftButton);
    QVERIFY(QTest::qWaitFor([&] { return j.survey().stations.size() == 3 && !j.window.jobs().running(); },
                            30000));
    auto* view = j.part<QComboBox>("view");
    for (std::size_t i = 0; i < 3; ++i) {
        j.goTo(i);
        const int wanted =
            view->findText(i == 0 ? QStringLiteral("top") : QStringLiteral("oblique"), Qt::MatchContains);
        QVERIFY(wanted >= 0);
        if (view->currentIndex() == wanted) continue;
        view->setCurrentIndex(wanted);
        Q_EMIT view->activated(wanted);
    }
}

void WholeJobTest::markAll(Job& j) {
    j.goTo(0);
    std::vector<std::string> order;
    const auto first = [&](Qt::Key tool, const std::string& name) {
        j.mark(tool, name, kStations[0]);
        j.rename(int(j.survey().features.size()) - 1, name);
        order.push_back(name);
    };
    for (const auto& name : kOutline) first(Qt::Key_C, name);
    for (const auto& name : kHoles) first(Qt::Key_H, name);
    QCOMPARE(j.survey().features.size(), kOutline.size() + kHoles.size());
    j.showTab("levels");
    j.press(QStringLiteral("Add"), "levels");
    QTest::keyClick(j.part<QAbstractItemView>("levels"), Qt::Key_Escape);
    j.window.canvas().setFocus();
    for (const auto& name : kSink) first(Qt::Key_C, name);
    QCOMPARE(j.survey().levels.size(), std::size_t(2));
    for (std::size_t station = 1; station < 3; ++station) {
        j.goTo(station);
        for (const auto& name : order) {
            j.chooseFeature(name);
            const bool hole = std::ranges::find(kHoles, name) != kHoles.end();
            j.mark(hole ? Qt::Key_H : Qt::Key_C, name, kStations[station]);
        }
    }
    QCOMPARE(j.survey().features.size(), order.size());
    QCOMPARE(j.survey().marks.size(), 3 * order.size());
    j.chooseFeature("H1");
    j.press(QStringLiteral("Datum point"), "features");
    j.chooseFeature("H3");
    j.press(QStringLiteral("Datum edge"), "features");
    j.goTo(0);
    j.key(Qt::Key_O);
    for (const auto& name : kOutline) j.window.bench().outline()->add(j.id(name));
    j.key(Qt::Key_Return);
    QCOMPARE(j.survey().outlines.size(), std::size_t(1));
}

void WholeJobTest::stateLengths(Job& j) {
    const auto number = [](double v) { return QString::number(v, 'f', 2); };
    j.reading("H1", "H3", number(j.truth("H1", "H3")), QStringLiteral("holes"));
    j.reading("C3", "C11", number(j.truth("C3", "C11")), QStringLiteral("diagonal"));
    QString wrong = number(j.truth("C2", "C7"));
    QVERIFY(wrong.size() == 6 && wrong[1] != wrong[2]);
    std::swap(wrong[1], wrong[2]);  // two digits exchanged while typing
    j.reading("C2", "C7", wrong, QStringLiteral("side"));
    QCOMPARE(j.survey().readings.size(), std::size_t(3));
    j.showTab("ledger");
    j.objects("ledger", "C5", "C13");
    QTest::mouseClick(j.part<QPushButton>("addDimension"), Qt::LeftButton);
    j.objects("ledger", "H1", "H3");
    QTest::mouseClick(j.part<QPushButton>("addDimension"), Qt::LeftButton);
    QCOMPARE(j.survey().dimensions.size(), std::size_t(2));
}

void WholeJobTest::findTheMistake(Job& j) {
    QVERIFY(j.adjust());
    const auto& bad = *j.window.document().solution();
    QVERIFY2(!adjust::agrees(bad), adjust::reportText(j.survey(), bad).c_str());
    QVERIFY(!bad.suspects.empty());
    QVERIFY2(bad.suspects.front().sentence.find("side") != std::string::npos,
             bad.suspects.front().sentence.c_str());
    j.showTab("readings");
    auto* readings = j.part<QAbstractItemView>("readings")->model();
    for (int row = 0; row < readings->rowCount(); ++row)
        if (readings->index(row, 0).data().toString() == QStringLiteral("side"))
            QVERIFY(readings->setData(readings->index(row, 2), QString::number(j.truth("C2", "C7"), 'f', 2)));
    QVERIFY(j.adjust());
    QVERIFY2(adjust::agrees(*j.window.document().solution()), "the mended survey agrees");
    const auto& d = j.window.document().solution()->dimensions.front();
    QVERIFY2(std::abs(d.value - j.truth("C5", "C13")) <= 1.5 * d.plusMinus, "the dimension is right");
}

void WholeJobTest::handOver(Job& j, const QTemporaryDir& folder) {
    const QString byWindow = folder.filePath(QStringLiteral("window.dxf"));
    j.prompts.handOver = byWindow;
    j.showTab("contents");
    QTest::mouseClick(j.part<QPushButton>("writeDxf"), Qt::LeftButton);
    QVERIFY(QTest::qWaitFor([&] { return !j.window.jobs().running(); }, 30000));
    QVERIFY2(QFile::exists(byWindow), qPrintable(j.window.notices().sentences().join(QLatin1Char('\n'))));
    // The batch: the saved survey loaded, adjusted from its own start, drawn and written.
    j.prompts.save = folder.filePath(QStringLiteral("job.trammel"));
    QVERIFY(j.window.desk().saveAs());
    const auto saved = storage::load(j.prompts.save.toStdString());
    QVERIFY(static_cast<bool>(saved));
    const auto solution = adjust::adjust(*saved);
    QVERIFY(static_cast<bool>(solution));
    const auto window = handover::readDxf(byWindow.toStdString());
    QVERIFY(static_cast<bool>(window));
    QVERIFY(!window->dimensions.empty());
    std::size_t found = 0;
    for (const auto& d : solution->dimensions)
        for (const auto& written : window->dimensions)
            if (written.stated && std::abs(*written.stated - d.value) <= 1e-9) {
                ++found;
                break;
            }
    QCOMPARE(found, solution->dimensions.size());
}

void WholeJobTest::fromPhotographsToTheFile() {
    QTemporaryDir folder;
    Job j;
    QVERIFY(!j.known.stations.empty());
    addPhotographs(j);
    QCOMPARE(j.stepsDone(), 1);
    markAll(j);
    QCOMPARE(j.stepsDone(), 2);
    stateLengths(j);
    QCOMPARE(j.stepsDone(), 3);
    findTheMistake(j);
    QCOMPARE(j.stepsDone(), 4);
    if (QTest::currentTestFailed()) return;
    const survey::Survey done = j.survey();
    while (j.undo().canUndo()) {
        QVERIFY(!j.undo().undoText().isEmpty());
        j.undo().undo();
    }
    QVERIFY(j.survey().marks.empty() && j.survey().features.empty());
    while (j.undo().canRedo()) j.undo().redo();
    QVERIFY(j.survey() == done);
    QVERIFY(j.adjust());
    handOver(j, folder);
    QCOMPARE(j.stepsDone(), 5);
}

void WholeJobTest::theStepsCanBeLeft() {
    Job j;
    auto* bar = j.part<QWidget>("firstSteps");
    QVERIFY2(!bar->isVisible(), "nothing is open yet");
    j.window.desk().openFile(kSample);
    QVERIFY(bar->isVisible());
    QTest::mouseClick(j.part<QPushButton>("firstStepsShow"), Qt::LeftButton);  // agreement is what is missing
    QVERIFY(QTest::qWaitFor([&] { return !j.window.jobs().running() && j.window.document().solution(); },
                            120000));
    QTest::mouseClick(j.part<QPushButton>("firstStepsLeave"), Qt::LeftButton);
    QVERIFY(!bar->isVisible());
    {
        Job again;
        again.window.desk().openFile(kSample);
        QVERIFY2(!again.part<QWidget>("firstSteps")->isVisible(), "left is left in later sessions too");
    }
    for (auto* action : j.window.findChildren<QAction*>())
        if (action->text() == QStringLiteral("First steps")) action->trigger();
    QVERIFY(bar->isVisible());
}

QTEST_MAIN(WholeJobTest)
#include "whole_job_test.moc"
