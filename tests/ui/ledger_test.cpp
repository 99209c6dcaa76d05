// SPDX-License-Identifier: GPL-3.0-or-later
// The ledger on the real widgets: one list of what is wanted and typed, found, ordered, chosen both ways.
#include <QClipboard>
#include <QHeaderView>
#include <QTableView>
#include <QTextBrowser>
#include <cmath>

#include "Bench.h"
#include "ui/panels/LedgerRows.h"
#include "ui/panels/ResidualBar.h"

using namespace trammel;
using namespace trammel::ui;

namespace {

ListView* ledger(Bench& b) { return b.part<ListView>("ledger"); }

QVariant cell(Bench& b, int row, int column, int role = Qt::DisplayRole) {
    return ledger(b)->model()->index(row, column).data(role);
}

int rowOf(Bench& b, const survey::Id& id) {
    for (int row = 0; row < ledger(b)->model()->rowCount(); ++row)
        if (cell(b, row, 0, RowsModel::kIdRole).toString().toStdString() == id) return row;
    return -1;
}

void pick(Bench& b, int row, Qt::KeyboardModifiers keys = {}) {
    const auto index = ledger(b)->model()->index(row, 0);
    ledger(b)->scrollTo(index);
    QTest::mouseClick(ledger(b)->viewport(), Qt::LeftButton, keys, ledger(b)->visualRect(index).center());
}

void heading(Bench& b, int column) {
    auto* header = ledger(b)->horizontalHeader();
    QTest::mouseClick(header->viewport(), Qt::LeftButton, {},
                      QPoint(header->sectionViewportPosition(column) + 20, header->height() / 2));
}

void change(Bench& b, survey::Change change) {
    QVERIFY(static_cast<bool>(b.window.document().perform({"Change", {std::move(change)}})));
}

}  // namespace

class LedgerTest : public QObject {
    Q_OBJECT
  private Q_SLOTS:
    void initTestCase() {
        if (!QFile::exists(kSample)) QSKIP("the sample has not been built");
    }
    void holdsAllKinds();
    void isFoundByWordsAndKind();
    void comesInOrder();
    void comesInOrderOfWhatIsShown();
    void residualsHaveASignAndAMark();
    void ticksAreActs();
    void choosesBothWays();
    void tellsWhereAPlusMinusComesFrom();
    void copiesAsTable();
    void aSuspectIsShown();
};

void LedgerTest::holdsAllKinds() {
    Bench b;
    b.showTab("ledger");
    const auto& s = b.survey();
    QCOMPARE(ledger(b)->model()->rowCount(),
             int(s.dimensions.size() + s.readings.size() + s.conditions.size()));
    for (const auto& r : s.readings) QVERIFY(rowOf(b, r.id) >= 0);
    // a reading's value is mended here, and a word that is no number is refused
    const int row = rowOf(b, s.readings.front().id);
    const double before = s.readings.front().measured.value;
    auto* model = ledger(b)->model();
    QVERIFY(!model->setData(model->index(row, kValue), QStringLiteral("wide")));
    QVERIFY(model->setData(model->index(row, kValue), QStringLiteral("12,5")));
    QCOMPARE(b.survey().readings.front().measured.value, 12.5);
    b.undo().undo();
    QCOMPARE(b.survey().readings.front().measured.value, before);
}

void LedgerTest::isFoundByWordsAndKind() {
    Bench b;
    b.showTab("ledger");
    auto* model = ledger(b)->model();
    const int all = model->rowCount();
    b.type("ledgerWords", QStringLiteral("H3 diam"));
    QVERIFY(model->rowCount() > 0 && model->rowCount() < all);
    for (int row = 0; row < model->rowCount(); ++row)
        QVERIFY(cell(b, row, kOf).toString().contains(QStringLiteral("H3")));
    b.type("ledgerWords", QStringLiteral("no such thing"));
    QCOMPARE(model->rowCount(), 0);
    QVERIFY(ledger(b)->currentId().empty());
    b.type("ledgerWords", QString());
    QCOMPARE(model->rowCount(), all);
    auto* kinds = b.part<QComboBox>("ledgerKinds");
    int told = 0;
    for (const char* kind : {"dimensions", "readings", "references", "conditions"}) {
        kinds->setCurrentText(QString::fromLatin1(kind));
        told += model->rowCount();
    }
    QCOMPARE(told, all);
    kinds->setCurrentText(QStringLiteral("what matters"));
    const int matter = model->rowCount();
    survey::Dimension d = b.survey().dimensions.back();
    d.important = !d.important;
    change(b, survey::Put<survey::Dimension>{d});
    QCOMPARE(model->rowCount(), matter + (d.important ? 1 : -1));  // the list follows
}

void LedgerTest::comesInOrder() {
    Bench b;
    QVERIFY(b.adjust());
    b.showTab("ledger");
    const auto first = cell(b, 0, 0, RowsModel::kIdRole);
    heading(b, kValue);
    auto* model = ledger(b)->model();
    const auto sorted = [&](int column, bool up) {
        bool numbers = true;
        for (int row = 1; row < model->rowCount(); ++row) {
            const QVariant a = cell(b, row - 1, column, RowsModel::kOrderRole),
                           c = cell(b, row, column, RowsModel::kOrderRole);
            if (!a.isValid() && c.isValid()) return false;  // rows without a number stand last
            numbers = c.isValid();
            if (numbers && (up ? a.toDouble() > c.toDouble() : a.toDouble() < c.toDouble())) return false;
        }
        return true;
    };
    QVERIFY(sorted(kValue, true));
    QVERIFY(model->headerData(kValue, Qt::Horizontal).toString().contains(QChar(0x2191)));
    heading(b, kValue);
    QVERIFY(sorted(kValue, false));
    QVERIFY(cell(b, 0, 0, RowsModel::kIdRole) != first);
    heading(b, kValue);  // as the survey has them
    QCOMPARE(cell(b, 0, 0, RowsModel::kIdRole), first);
    heading(b, kResidual);
    QVERIFY(sorted(kResidual, true));
    heading(b, kResidual);
    QVERIFY(sorted(kResidual, false));
    // a dash is no number: it stands last both ways
    RowsModel rows({QStringLiteral("w")});
    RowsOrder order(rows);
    rows.setRows({{"A", {{.text = QStringLiteral("2"), .order = 2.0}}},
                  {"B", {{.text = QStringLiteral("–")}}},
                  {"C", {{.text = QStringLiteral("1"), .order = 1.0}}}});
    QString seen;
    for (int turn = 0; turn < 3; ++turn) {
        order.step(0);
        for (int row = 0; row < 3; ++row) seen += order.index(row, 0).data(RowsModel::kIdRole).toString();
    }
    QCOMPARE(seen, QStringLiteral("CABACBABC"));
}

void LedgerTest::comesInOrderOfWhatIsShown() {
    // 1 rad is 57.3°: an angle stands after a length of 50 mm, not among those of 1 mm
    Bench b;
    survey::Reading angle;
    for (const auto& r : b.survey().readings)
        if (r.quantity == survey::Quantity::Distance) angle = r;
    std::vector<survey::Id> edges;
    for (const auto& f : b.survey().features)
        if (f.name == "E5" || f.name == "E6") edges.push_back(f.id);
    QCOMPARE(edges.size(), std::size_t(2));
    angle.id = survey::freshId(b.survey(), 'R');
    angle.name = "angle";
    angle.check = angle.reference = false;
    angle.quantity = survey::Quantity::Angle;
    angle.objects = edges;
    angle.measured = {1.0, 0.01};
    change(b, survey::Put<survey::Reading>{angle});
    b.showTab("ledger");
    const int row = rowOf(b, angle.id);
    QVERIFY(row >= 0);
    for (const int column : {kValue, kPlusMinus}) {
        QString text = cell(b, row, column).toString();
        text.remove(QChar(0xb1));
        const double order = cell(b, row, column, RowsModel::kOrderRole).toDouble();
        QVERIFY2(std::abs(order - text.split(QLatin1Char(' ')).front().remove(QChar(0xb0)).toDouble()) < 6e-4,
                 qPrintable(text));
    }
}

void LedgerTest::residualsHaveASignAndAMark() {
    Bench b;
    QVERIFY(b.adjust());
    b.showTab("ledger");
    int bars = 0;
    for (const auto& o : b.window.document().solution()->observations) {
        const int row = rowOf(b, o.object);
        const auto* r = survey::find(b.survey().readings, o.object);
        if (row < 0 || !r) continue;
        const double bar = cell(b, row, kResidual, RowsModel::kBarRole).toDouble();
        QCOMPARE(std::abs(bar), o.w);
        if (o.residual[0] != 0.0) QCOMPARE(bar < 0.0, o.residual[0] < 0.0);
        ++bars;
    }
    QVERIFY(bars > 0);
    // drawn: to the left of the middle for a negative one, to the right for a positive one
    RowsModel model({QStringLiteral("w")});
    ListView list(model, -1, QString());
    list.setItemDelegateForColumn(0, new ResidualBar(&list));
    list.resize(160, 160);
    list.show();
    QVERIFY(QTest::qWaitForWindowExposed(&list));
    const auto inked = [&](double w) {
        model.setRows({{"X", {{.text = QString(), .number = true, .order = w, .bar = w}}}});
        const auto rect = list.visualRect(list.model()->index(0, 0));
        const QImage image = list.viewport()->grab(rect).toImage();
        if (image.width() < 60) qFatal("the cell is too narrow to be looked at");
        const int y = image.height() / 2, middle = image.width() - 4 - 27;
        std::pair<int, int> sides{0, 0};
        const QRgb ground = image.pixel(2, y);
        for (int x = middle - 25; x <= middle + 25; ++x)
            if (std::abs(x - middle) > 2 && image.pixel(x, y) != ground)
                (x < middle ? sides.first : sides.second)++;
        return sides;
    };
    const auto left = inked(-3.0), right = inked(3.0), far = inked(4.9);
    QVERIFY2(left.first > left.second + 8, qPrintable(QString::number(left.first)));
    QVERIFY(right.second > right.first + 8);
    QVERIFY(far.second > right.second);
}

void LedgerTest::ticksAreActs() {
    Bench b;
    b.showTab("ledger");
    auto* model = ledger(b)->model();
    const auto before = b.survey();
    const auto d = before.dimensions.front();
    QVERIFY(model->setData(model->index(rowOf(b, d.id), kMatters), d.important ? Qt::Unchecked : Qt::Checked,
                           Qt::CheckStateRole));
    QCOMPARE(b.survey().dimensions.front().important, !d.important);
    const auto r = before.readings.front();
    QVERIFY(model->setData(model->index(rowOf(b, r.id), kCheck), r.check ? Qt::Unchecked : Qt::Checked,
                           Qt::CheckStateRole));
    QCOMPARE(survey::find(b.survey().readings, r.id)->check, !r.check);
    pick(b, rowOf(b, r.id));
    QTest::mouseClick(b.part<QPushButton>("ledgerOut"), Qt::LeftButton);
    QVERIFY(survey::find(b.survey().readings, r.id)->excluded);
    QVERIFY(b.part<QPushButton>("ledgerOut")->text().contains(QStringLiteral("in again")));
    QCOMPARE(b.undo().count(), 3);
    for (int i = 0; i < 3; ++i) b.undo().undo();
    QVERIFY(b.survey() == before);
}

void LedgerTest::choosesBothWays() {
    Bench b;
    QVERIFY(b.adjust());
    b.showTab("ledger");
    const QImage without = b.window.canvas().grab().toImage();
    const auto& reading = b.survey().readings.front();
    pick(b, rowOf(b, reading.id));
    QCOMPARE(b.window.choice().entry(), reading.id);
    QCOMPARE(b.window.canvas().style().shown, reading.objects);
    QVERIFY(b.window.canvas().grab().toImage() != without);
    QVERIFY(b.window.choice().feature().empty());  // the next mark is of no other feature for that
    // a feature that is chosen chooses every row that is about it
    survey::Id feature;
    for (const auto& f : b.survey().features)
        if (f.name == "H3") feature = f.id;
    b.window.choice().setFeature(feature);
    const auto ids = ledger(b)->selectedIds();
    QVERIFY(ids.size() > 1);
    int about = 0;
    for (int row = 0; row < ledger(b)->model()->rowCount(); ++row) {
        const auto id = cell(b, row, 0, RowsModel::kIdRole).toString().toStdString();
        const auto objects = objectsOf(b.survey(), id);
        about += std::ranges::find(objects, feature) != objects.end();
    }
    QCOMPARE(int(ids.size()), about);
    QVERIFY(b.window.choice().entry().empty());
    QVERIFY(!b.undo().canUndo());
    // a feature of one row: it stays chosen, also when something else is chosen beside it
    survey::Dimension alone;
    std::vector<survey::Id> none;
    for (const auto& f : b.survey().features) {
        std::vector<survey::Id> rows;
        for (int row = 0; row < ledger(b)->model()->rowCount(); ++row) {
            const auto id = cell(b, row, 0, RowsModel::kIdRole).toString().toStdString();
            const auto objects = objectsOf(b.survey(), id);
            if (std::ranges::find(objects, f.id) != objects.end()) rows.push_back(id);
        }
        if (rows.size() != 1) continue;
        pick(b, 0);
        b.window.choice().setFeature({});
        b.window.choice().setEntry(cell(b, 0, 0, RowsModel::kIdRole).toString().toStdString());
        b.window.choice().setFeature(f.id);
        QCOMPARE(ledger(b)->selectedIds(), rows);
        b.window.choice().setStation(b.survey().stations.back().id);
        QCOMPARE(ledger(b)->selectedIds(), rows);
        none = rows;
        break;
    }
    QVERIFY2(!none.empty(), "the sample has a feature of one row");
    // and removing what is chosen leaves nothing chosen
    pick(b, 0);
    change(b, survey::Remove<survey::Dimension>{b.window.choice().entry()});
    QVERIFY(!survey::find(b.survey().dimensions, b.window.choice().entry()) ||
            b.window.choice().entry() == ledger(b)->currentId());
}

void LedgerTest::tellsWhereAPlusMinusComesFrom() {
    Bench b;
    QVERIFY(b.adjust());
    b.showTab("ledger");
    const auto& d = b.window.document().solution()->dimensions.front();
    pick(b, rowOf(b, d.dimension.id));
    auto* page = b.part<QTextBrowser>("origin");
    QVERIFY(!page->isVisible());
    QTest::mouseClick(b.part<QPushButton>("ledgerOrigin"), Qt::LeftButton);
    QVERIFY(page->isVisible());
    QVERIFY(!d.carriers.empty());
    const QString words = page->toPlainText();
    QVERIFY2(words.contains(QString::fromStdString(d.carriers.front().description)), qPrintable(words));
    // the shares that are told sum to all of it, within their rounding
    double sum = 0.0;
    int lines = 0;
    for (const QString& line : words.split(QLatin1Char('\n')))
        if (line.endsWith(QStringLiteral(" %"))) sum += line.chopped(2).toDouble(), ++lines;
    QVERIFY2(lines > 1 && std::abs(sum - 100.0) < 0.05 * lines + 0.01, qPrintable(words));
    const survey::Id reading = b.survey().readings.front().id;
    pick(b, rowOf(b, reading));
    QVERIFY2(page->toPlainText().contains(QStringLiteral("twice the σ")), qPrintable(page->toPlainText()));
}

void LedgerTest::copiesAsTable() {
    Bench b;
    QVERIFY(b.adjust());
    b.showTab("ledger");
    const auto& r = b.survey().readings.front();
    pick(b, rowOf(b, r.id));
    QTest::keyClick(ledger(b), Qt::Key_C, Qt::ControlModifier);
    const QStringList lines = QGuiApplication::clipboard()->text().trimmed().split(QLatin1Char('\n'));
    QCOMPARE(lines.size(), 2);
    const QStringList cells = lines[1].split(QLatin1Char('\t'));
    QCOMPARE(cells.size(), lines[0].split(QLatin1Char('\t')).size());
    QCOMPARE(cells[3].toDouble(), r.measured.value);
    QTest::mouseClick(b.part<QPushButton>("ledgerCopy"), Qt::LeftButton);
    const auto all = QGuiApplication::clipboard()->text().trimmed().split(QLatin1Char('\n'));
    QCOMPARE(all.size(), qsizetype(1 + b.survey().dimensions.size() + b.survey().readings.size()));
}

void LedgerTest::aSuspectIsShown() {
    Bench b;
    survey::Reading wrong;
    for (const auto& r : b.survey().readings)
        if (!r.check && !r.reference && r.quantity == survey::Quantity::Distance) wrong = r;
    QVERIFY(!wrong.id.empty());
    wrong.measured.value += 4.0;
    change(b, survey::Put<survey::Reading>{wrong});
    QVERIFY(b.adjust());
    QVERIFY(!b.window.document().solution()->suspects.empty());
    // adjusted is not agreed: the step stays open
    const QString steps = b.part<QLabel>("firstStepsRow")->text();
    QVERIFY2(steps.contains(QStringLiteral("✓&nbsp;3&nbsp;")) && !steps.contains(QStringLiteral("✓&nbsp;4")),
             qPrintable(steps));
    b.showTab("ledger");
    b.part<QComboBox>("ledgerKinds")->setCurrentText(QStringLiteral("what disagrees"));
    const int row = rowOf(b, wrong.id);
    QVERIFY(row >= 0);
    QVERIFY(cell(b, row, kResidual).toString().startsWith(QLatin1Char('!')));
    QVERIFY(std::abs(cell(b, row, kResidual, RowsModel::kBarRole).toDouble()) > ResidualBar::kCritical);
    pick(b, row);
    b.key(Qt::Key_G);
    QVERIFY(!b.window.canvas().isVisible());
    QTest::mouseClick(b.part<QPushButton>("ledgerShow"), Qt::LeftButton);
    QVERIFY(b.window.canvas().isVisible());
    QCOMPARE(b.window.choice().entry(), wrong.id);
}

QTEST_MAIN(LedgerTest)
#include "ledger_test.moc"
