// SPDX-License-Identifier: GPL-3.0-or-later
#include <QAbstractItemModelTester>
#include <QTest>
#include <random>

#include "ui/document/Document.h"
#include "ui/panels/LedgerRows.h"
#include "ui/panels/ListView.h"
#include "ui/panels/RowsModel.h"
#include "ui/panels/SurveyRows.h"
#include "ui/panels/TypedNumber.h"
#include "ui/tools/MarkEdits.h"

using namespace trammel;
using namespace trammel::ui;

class ListsTest : public QObject {
    Q_OBJECT
  private Q_SLOTS:
    void modelKeepsItsPromises();
    void selectionSurvivesChanges();
    void aListenerMayAskForOtherRows();
    void editsAndTicksReachTheirCallers();
    void surveyRowsUnderQtsModelTester();
    void numbersAsPeopleTypeThem();
};

namespace {

Row row(int id, int value) { return {"X" + std::to_string(id), {{.text = QString::number(value)}}}; }

}  // namespace

void ListsTest::modelKeepsItsPromises() {
    RowsModel model({QStringLiteral("value")});
    QAbstractItemModelTester tester(&model, QAbstractItemModelTester::FailureReportingMode::QtTest);
    std::mt19937 random(7);
    std::vector<Row> rows;
    for (int round = 0; round < 500; ++round) {
        const auto dice = random() % 4;
        if (dice == 0 || rows.empty())
            rows.insert(rows.begin() + static_cast<std::ptrdiff_t>(random() % (rows.size() + 1)),
                        row(round, round));
        else if (dice == 1)
            rows.erase(rows.begin() + static_cast<std::ptrdiff_t>(random() % rows.size()));
        else if (dice == 2)
            rows[random() % rows.size()].cells[0].text = QString::number(round);
        else
            std::shuffle(rows.begin(), rows.end(), random);
        model.setRows(rows);
        QVERIFY(model.rows() == rows);
        QCOMPARE(model.rowCount(), int(rows.size()));
    }
}

void ListsTest::selectionSurvivesChanges() {
    RowsModel model({QStringLiteral("value")});
    ListView list(model, 0, QStringLiteral("nothing here"));
    model.setRows({row(1, 1), row(2, 2), row(3, 3)});
    list.choose("X2");
    model.setRows({row(1, 1), row(4, 4), row(2, 20), row(3, 3)});
    QCOMPARE(list.currentId(), survey::Id("X2"));
    model.setRows({row(2, 20), row(3, 3)});
    QCOMPARE(list.currentId(), survey::Id("X2"));
}

void ListsTest::aListenerMayAskForOtherRows() {
    RowsModel model({QStringLiteral("value")});
    ListView list(model, 0, QStringLiteral("nothing here"));
    QAbstractItemModelTester tester(&model, QAbstractItemModelTester::FailureReportingMode::QtTest);
    model.setRows({row(1, 1), row(2, 2), row(3, 3), row(4, 4), row(5, 5)});
    list.choose("X4");
    const std::vector<Row> last = {row(7, 7)};
    connect(&model, &RowsModel::rowsRemoved, this, [&] { model.setRows(last); });
    model.setRows({row(1, 1)});
    QVERIFY(model.rows() == last);
}

void ListsTest::editsAndTicksReachTheirCallers() {
    RowsModel model({QStringLiteral("name"), QStringLiteral("used")});
    model.setRows({{"A", {{.text = QStringLiteral("old"), .editable = true}, {.text = {}, .ticked = true}}}});
    QString asked;
    model.setEditors(
        [&](const survey::Id& id, int column, const QString& text) {
            asked = QString::fromStdString(id) + QString::number(column) + text;
            return text != QStringLiteral("refused");
        },
        [&](const survey::Id&, int, bool ticked) {
            asked = ticked ? QStringLiteral("on") : QStringLiteral("off");
            return true;
        });
    QVERIFY(model.setData(model.index(0, 0), QStringLiteral("new")));
    QCOMPARE(asked, QStringLiteral("A0new"));
    QVERIFY(!model.setData(model.index(0, 0), QStringLiteral("refused")));
    QVERIFY(model.setData(model.index(0, 1), Qt::Unchecked, Qt::CheckStateRole));
    QCOMPARE(asked, QStringLiteral("off"));
    QVERIFY(!(model.flags(model.index(0, 1)) & Qt::ItemIsEditable));
}

void ListsTest::surveyRowsUnderQtsModelTester() {
    Document document;
    survey::Survey survey;
    survey.groups.emplace_back().id = "G1";
    survey::Station& station = survey.stations.emplace_back();
    station.id = "S1", station.name = "top", station.group = "G1";
    station.photo.path = "a.jpg", station.photo.width = 100, station.photo.height = 80;
    survey.levels.push_back({"L1", "base"});
    survey.datum.level = "L1";
    document.start(survey);
    struct {
        RowsModel model;
        std::vector<Row> (*rows)(const Document&);
    } lists[] = {{RowsModel(levelHeadings()), levelRows},     {RowsModel(featureHeadings()), featureRows},
                 {RowsModel(readingHeadings()), readingRows}, {RowsModel(ledgerHeadings()), ledgerRows},
                 {RowsModel(markHeadings()), markRows},       {RowsModel(outlineHeadings()), outlineRows}};
    std::vector<std::unique_ptr<QAbstractItemModelTester>> testers;
    for (auto& list : lists)
        testers.push_back(std::make_unique<QAbstractItemModelTester>(
            &list.model, QAbstractItemModelTester::FailureReportingMode::QtTest));
    const auto fill = [&] {
        for (auto& list : lists) {
            list.model.setRows(list.rows(document));
            for (const auto& r : list.model.rows()) QCOMPARE(int(r.cells.size()), list.model.columnCount());
        }
    };
    fill();
    for (int i = 0; i < 3; ++i) {
        const auto edit = markEdit(document.survey(), "S1", survey::FeatureKind::Corner, {}, "L1",
                                   {QPointF(10 + 20 * i, 20 + 5 * i * i)});
        QVERIFY(static_cast<bool>(document.perform(edit)));
        fill();
    }
    survey::Reading reading{.id = "R1",
                            .objects = {document.survey().features[0].id, document.survey().features[1].id},
                            .measured = {20, 0.05}};
    survey::Dimension dimension{.id = "D1", .objects = reading.objects};
    survey::Outline outline{.id = "O1", .level = "L1", .chain = {}};
    for (const auto& f : document.survey().features) outline.chain.push_back(f.id);
    QVERIFY(static_cast<bool>(
        document.perform({"all",
                          {survey::Put<survey::Reading>{reading}, survey::Put<survey::Dimension>{dimension},
                           survey::Put<survey::Outline>{outline}}})));
    fill();
    while (document.undoStack().canUndo()) {
        document.undoStack().undo();
        fill();
    }
    QVERIFY(document.survey() == survey);
}

void ListsTest::numbersAsPeopleTypeThem() {
    QCOMPARE(*typedNumber(QStringLiteral(" 25,40 "), QStringLiteral("value")), 25.40);
    QCOMPARE(*typedNumber(QStringLiteral("-3e-2"), QStringLiteral("value")), -0.03);
    for (const char* bad : {"", "abc", "1.2.3", "nan", "inf", "12 34", "1,234.5"})
        QVERIFY2(!typedNumber(QString::fromLatin1(bad), QStringLiteral("value")), bad);
    QCOMPARE(typedNumber(QStringLiteral("x"), QStringLiteral("value")).error().object, std::string("value"));
}

QTEST_MAIN(ListsTest)
#include "lists_test.moc"
