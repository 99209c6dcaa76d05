// SPDX-License-Identifier: GPL-3.0-or-later
// Slots and curves by the mouse, forms of levels, conditions, jaws and angles at a point, on the real
// widgets with the sample.
#include <QAction>
#include <QCheckBox>
#include <QTableView>
#include <algorithm>
#include <cmath>

#include "Bench.h"
#include "ui/canvas/MarkScene.h"

using namespace trammel;
using namespace trammel::ui;

namespace {

void chooseData(QComboBox* box, const QVariant& data) {
    const int at = box->findData(data);
    QVERIFY2(at >= 0, "the box offers it");
    box->setCurrentIndex(at);
    Q_EMIT box->activated(at);
}

QString named(const survey::Id& id) { return QString::fromStdString(id); }

std::vector<survey::Id> featuresOf(const survey::Survey& s, survey::FeatureKind kind) {
    std::vector<survey::Id> ids;
    for (const auto& f : s.features)
        if (f.kind == kind) ids.push_back(f.id);
    return ids;
}

/// The combo box that chooses quantities in the panel that holds this widget.
QComboBox* quantityBox(Bench& b, const char* inPanelOf) {
    QWidget* panel = b.part<QWidget>(inPanelOf)->parentWidget();
    for (; panel; panel = panel->parentWidget())
        for (auto* box : panel->findChildren<QComboBox*>())
            if (box->accessibleName() == QStringLiteral("Quantity")) return box;
    qFatal("no box of quantities");
}

QComboBox* sibling(QComboBox* quantity, const QString& accessibleName) {
    for (auto* box : quantity->parentWidget()->findChildren<QComboBox*>())
        if (box->accessibleName() == accessibleName) return box;
    qFatal("no such box");
}

}  // namespace

class FormsTest : public QObject {
    Q_OBJECT
  private Q_SLOTS:
    void initTestCase() {
        if (!QFile::exists(kSample)) QSKIP("the sample has not been built");
    }
    void marksASlotByItsRim();
    void marksAFreeCurve();
    void anAdjustmentDrawsTheirCourse();
    void slotPreviewFollowsTheRim();
    void aLevelTakesAForm();
    void aConditionIsStatedAdjustedAndLeftOut();
    void aPitchNeedsItsObjectsAndTakesAStep();
    void jawsHaveAWidth();
    void anAngleLiesAtAPoint();
    void theFrameIsAskedForOnlyWhereItIsNotKnown();
    void anUnknownCropIsAnAnswer();
};

void FormsTest::marksASlotByItsRim() {
    Bench b;
    const auto before = b.survey();
    b.key(Qt::Key_S);
    QCOMPARE(b.window.bench().kind(), ToolKind::Slot);
    for (const QPoint at : {QPoint(160, 150), QPoint(240, 150), QPoint(160, 190), QPoint(240, 190)})
        b.click(at);
    b.key(Qt::Key_Return);
    QVERIFY(b.notices(QStringLiteral("too few points")));
    QVERIFY(b.survey() == before);
    b.click({260, 170});
    b.key(Qt::Key_Return);
    QCOMPARE(b.survey().marks.back().points.size(), std::size_t(5));
    const auto feature = b.survey().features.back();
    QVERIFY(feature.kind == survey::FeatureKind::Slot && feature.name == "S1");
    const auto* item = b.window.canvas().scene().item(b.survey().marks.back().id);
    QVERIFY(item && item->points.size() == 5);
    b.window.canvas().grab();  // draws it
    // With a marking tool in hand, the list brings the tool of the feature that is chosen there.
    b.key(Qt::Key_C);
    Q_EMIT b.window.findChild<FeaturesPanel*>()->featureClicked(feature.id);
    QCOMPARE(b.window.bench().kind(), ToolKind::Slot);
    Q_EMIT b.window.findChild<FeaturesPanel*>()->featureClicked(
        featuresOf(b.survey(), survey::FeatureKind::Edge).front());
    QCOMPARE(b.window.bench().kind(), ToolKind::Edge);
    b.undo().undo();
    QVERIFY(b.survey() == before);
}

void FormsTest::marksAFreeCurve() {
    Bench b;
    b.part<QCheckBox>("fitAfter")->setChecked(true);  // curves stay as marked, without a complaint
    b.key(Qt::Key_U);
    QCOMPARE(b.window.bench().kind(), ToolKind::Curve);
    for (const QPoint at : {QPoint(150, 150), QPoint(200, 170), QPoint(250, 160), QPoint(300, 180)})
        b.click(at);
    b.key(Qt::Key_Return);
    QVERIFY(b.survey().features.back().kind == survey::FeatureKind::Curve);
    QVERIFY(!b.window.jobs().running(QStringLiteral("Fitting")));
    QCOMPARE(QString::fromStdString(b.survey().features.back().name), QStringLiteral("FC1"));
    QCOMPARE(b.survey().marks.back().points.size(), std::size_t(4));
    // picked on its line, half way between two clicks
    const QPointF half = (b.photoAt({150, 150}) + b.photoAt({200, 170})) / 2;
    const auto hit = b.window.canvas().scene().at(half, 3.0 / b.window.canvas().view().scale());
    QVERIFY(hit && hit->mark == b.survey().marks.back().id && hit->point < 0);
    b.window.canvas().grab();
}

void FormsTest::anAdjustmentDrawsTheirCourse() {
    Bench b;
    b.key(Qt::Key_S);
    const QPoint c = b.inPicture(0.45, 0.55);
    for (const QPoint by : {QPoint(-30, -20), QPoint(30, -20), QPoint(50, 0), QPoint(30, 20), QPoint(-30, 20),
                            QPoint(-50, 0), QPoint(0, -20), QPoint(0, 20)})
        b.click(c + by);
    b.key(Qt::Key_Return);
    const auto slot = b.survey().marks.back().id;
    b.key(Qt::Key_U);
    for (int i = 0; i < 8; ++i) b.click(b.inPicture(0.3 + 0.03 * i, 0.4 + 0.02 * std::sin(0.6 * i)));
    b.key(Qt::Key_Return);
    const auto curve = b.survey().marks.back().id;
    QVERIFY(b.adjust());
    for (const auto& id : {slot, curve}) {
        const auto* item = b.window.canvas().scene().item(id);
        QVERIFY(item && item->adjusted.size() > 20);
        // through the clicks, which are whole screen pixels
        const double near = 4.0 / b.window.canvas().view().scale();
        for (const QPointF& p : item->points)
            QVERIFY(distanceTo(item->adjusted, p, runsRound(item->kind)) < near);
    }
    b.window.canvas().grab();
}

void FormsTest::slotPreviewFollowsTheRim() {
    // clicked criss-cross, the ring still goes round: it encloses the slot's area and crosses itself nowhere
    const std::vector<QPointF> clicks = {{0, 0}, {100, 40}, {100, 0}, {0, 40}, {120, 20}, {-20, 20}};
    const auto ring = strokePreview(survey::FeatureKind::Slot, clicks);
    QCOMPARE(ring.size(), clicks.size());
    double twice = 0;
    for (std::size_t i = 0; i < ring.size(); ++i) {
        const auto &p = ring[i], &q = ring[(i + 1) % ring.size()];
        twice += p.x() * q.y() - q.x() * p.y();
    }
    QVERIFY(std::abs(std::abs(twice) / 2 - (100 * 40 + 2 * 20 * 40 / 2)) < 1e-9);
}

void FormsTest::aLevelTakesAForm() {
    Bench b;
    const auto before = b.survey();
    survey::Id other;
    for (const auto& l : before.levels)
        if (l.id != before.datum.level) other = l.id;
    QVERIFY(!other.empty());
    b.window.choice().setLevel(other);
    auto* box = b.part<QComboBox>("levelForm");
    QCOMPARE(box->currentText(), QStringLiteral("flat"));
    chooseData(box, static_cast<int>(survey::LevelForm::Tilted));
    QVERIFY(survey::find(b.survey().levels, other)->form == survey::LevelForm::Tilted);
    QVERIFY(b.undo().undoText().contains(QStringLiteral("tilted")));
    b.undo().undo();
    QVERIFY(b.survey() == before);
    QCOMPARE(box->currentText(), QStringLiteral("flat"));
}

void FormsTest::aConditionIsStatedAdjustedAndLeftOut() {
    Bench b;
    const auto before = b.survey();
    const auto edges = featuresOf(before, survey::FeatureKind::Edge);
    const auto level = survey::find(before.features, edges.front())->level;
    std::vector<survey::Id> two;
    for (const auto& id : edges)
        if (survey::find(before.features, id)->level == level && two.size() < 2) two.push_back(id);
    QCOMPARE(two.size(), std::size_t(2));
    b.showTab("conditions");
    chooseData(b.part<QComboBox>("conditionKind"), static_cast<int>(survey::ConditionKind::Parallel));
    auto* add = b.part<QPushButton>("addCondition");
    QVERIFY(!add->isEnabled() && !add->toolTip().isEmpty());
    for (const auto& id : two) {
        chooseData(b.part<QComboBox>("conditionObject"), named(id));
        QTest::mouseClick(b.part<QPushButton>("conditionPutIn"), Qt::LeftButton);
    }
    b.type("conditionSigma", QStringLiteral("0"));
    QVERIFY2(!add->isEnabled(), "no σ, no condition");
    b.type("conditionSigma", QStringLiteral("0,05"));
    QVERIFY2(add->isEnabled(), qPrintable(add->toolTip()));
    QTest::mouseClick(add, Qt::LeftButton);
    QCOMPARE(b.survey().conditions.size(), before.conditions.size() + 1);
    const auto stated = b.survey().conditions.back();
    QVERIFY(stated.kind == survey::ConditionKind::Parallel && stated.objects == two);
    QCOMPARE(stated.measured.sigma, 0.05);
    auto* list = b.part<QTableView>("conditions");
    const int row = list->model()->rowCount() - 1;
    QCOMPARE(list->model()->index(row, 4).data().toString(), QStringLiteral("–"));
    QVERIFY(b.adjust());
    b.showTab("conditions");
    bool number = false;
    list->model()->index(row, 4).data().toString().toDouble(&number);
    QVERIFY2(number, "the residual is known after the adjustment");
    QVERIFY(list->model()->setData(list->model()->index(row, 3), Qt::Unchecked, Qt::CheckStateRole));
    QVERIFY(b.survey().conditions.back().excluded);
    b.undo().undo();
    QVERIFY(!b.survey().conditions.back().excluded);
    list->selectRow(row);
    QTest::mouseClick(b.part<QPushButton>("removeCondition"), Qt::LeftButton);
    QVERIFY(b.survey() == before);
}

void FormsTest::aPitchNeedsItsObjectsAndTakesAStep() {
    Bench b;
    const auto corners = featuresOf(b.survey(), survey::FeatureKind::Corner);
    const auto holes = featuresOf(b.survey(), survey::FeatureKind::Hole);
    const auto& points = corners.size() >= 2 ? corners : holes;
    QVERIFY(points.size() >= 2);
    b.showTab("conditions");
    QVERIFY(!b.part<QLineEdit>("conditionStep")->isVisible());
    chooseData(b.part<QComboBox>("conditionKind"), static_cast<int>(survey::ConditionKind::Pitch));
    QVERIFY(b.part<QLineEdit>("conditionStep")->isVisible());
    for (std::size_t i = 0; i < 2; ++i) {
        chooseData(b.part<QComboBox>("conditionObject"), named(points[i]));
        QTest::mouseClick(b.part<QPushButton>("conditionPutIn"), Qt::LeftButton);
    }
    auto* add = b.part<QPushButton>("addCondition");
    QVERIFY2(!add->isEnabled(), "two points of an unknown step say nothing");
    b.type("conditionStep", QStringLiteral("25.4"));
    QVERIFY2(add->isEnabled(), qPrintable(add->toolTip()));
    QTest::mouseClick(add, Qt::LeftButton);
    QCOMPARE(b.survey().conditions.back().measured.value, 25.4);
}

void FormsTest::jawsHaveAWidth() {
    Bench b;
    b.showTab("readings");
    auto* quantity = quantityBox(b, "readingValue");
    chooseData(quantity, static_cast<int>(survey::Quantity::Depth));
    QVERIFY(!b.part<QLineEdit>("readingJaw")->isVisible());
    chooseData(quantity, static_cast<int>(survey::Quantity::Diameter));
    QVERIFY(b.part<QLineEdit>("readingJaw")->isVisible());
    b.type("readingValue", QStringLiteral("3.2"));
    b.type("readingJaw", QStringLiteral("-1"));
    const auto before = b.survey();
    QTest::mouseClick(b.part<QPushButton>("addReading"), Qt::LeftButton);
    QVERIFY2(b.survey() == before, "a width below zero is refused");
    b.type("readingJaw", QStringLiteral("0,4"));
    QTest::mouseClick(b.part<QPushButton>("addReading"), Qt::LeftButton);
    QCOMPARE(b.survey().readings.size(), before.readings.size() + 1);
    QCOMPARE(b.survey().readings.back().jawFlat_mm, 0.4);
    b.undo().undo();
    QVERIFY(b.survey() == before);
}

void FormsTest::anAngleLiesAtAPoint() {
    Bench b;
    std::vector<survey::Id> points;
    for (const auto kind : {survey::FeatureKind::Corner, survey::FeatureKind::Hole})
        for (const auto& id : featuresOf(b.survey(), kind)) points.push_back(id);
    QVERIFY(points.size() >= 3);
    b.showTab("readings");
    auto* quantity = quantityBox(b, "readingValue");
    const int at = quantity->findText(QStringLiteral("angle at a point"));
    QVERIFY(at >= 0);
    quantity->setCurrentIndex(at);
    auto* third = sibling(quantity, QStringLiteral("Third object"));
    QVERIFY(third->isVisible());
    chooseData(sibling(quantity, QStringLiteral("First object")), named(points[2]));
    chooseData(sibling(quantity, QStringLiteral("Second object")), named(points[0]));
    chooseData(third, named(points[1]));
    b.type("readingValue", QStringLiteral("88.5"));
    QTest::mouseClick(b.part<QPushButton>("addReading"), Qt::LeftButton);
    const auto& added = b.survey().readings.back();
    QVERIFY(added.quantity == survey::Quantity::Angle);
    QVERIFY((added.objects == std::vector<survey::Id>{points[2], points[0], points[1]}));
    QVERIFY(std::abs(added.measured.value - 88.5 * std::acos(-1.0) / 180.0) < 1e-12);
    chooseData(quantity, static_cast<int>(survey::Quantity::Distance));
    QVERIFY(!third->isVisible());
}

namespace {

/// As if the files of all photographs did not say what their frames were.
void forgetFrames(Bench& b) {
    survey::Edit edit{"forget", {}};
    for (survey::Station s : b.survey().stations) {
        s.photo.crop = {s.photo.width, s.photo.height, 0, 0, false};
        edit.changes.push_back(survey::Put<survey::Station>{s});
    }
    QVERIFY(static_cast<bool>(b.window.document().perform(edit)));
}

/// Whether all photographs of a camera are crops of unknown place from a frame of 6000 × 4000.
bool cropsOfUnknownPlace(Bench& b, const survey::Id& camera) {
    return std::ranges::all_of(b.survey().stations, [&](const survey::Station& s) {
        const auto& c = s.photo.crop;
        return s.group != camera || (!c.known && c.fullWidth == 6000 && c.fullHeight == 4000);
    });
}

}  // namespace

void FormsTest::theFrameIsAskedForOnlyWhereItIsNotKnown() {
    Bench b;
    auto* form = b.part<QWidget>("crop");
    auto* call = b.part<QPushButton>("frame");
    const auto before = b.survey();
    QVERIFY(!form->isVisible());
    QTest::mouseClick(call, Qt::LeftButton);  // but it can be called up
    QVERIFY(form->isVisible());
    QCOMPARE(b.part<QLineEdit>("cropLeft")->text(),
             QString::number(b.survey().stations.front().photo.crop.offsetX));
    QTest::mouseClick(call, Qt::LeftButton);
    QVERIFY(!form->isVisible());
    forgetFrames(b);
    QVERIFY(form->isVisible());
    QVERIFY(b.part<QCheckBox>("cropOthers")->isVisible());
    const auto& photo = b.survey().stations.front().photo;
    const int width = photo.width + 1000, height = photo.height + 600;
    b.type("frameWidth", QString::number(width));
    b.type("frameHeight", QString::number(height));
    b.type("cropLeft", QStringLiteral("1001"));  // too far
    b.type("cropTop", QStringLiteral("100"));
    QTest::mouseClick(b.part<QPushButton>("cropSet"), Qt::LeftButton);
    QVERIFY(b.notices(QStringLiteral("does not lie within this frame")));
    QCOMPARE(b.part<QLineEdit>("cropLeft")->text(), QStringLiteral("1001"));
    b.type("cropLeft", QStringLiteral("400,5"));
    QTest::mouseClick(b.part<QPushButton>("cropSet"), Qt::LeftButton);
    const survey::FrameCrop wanted{width, height, 400.5, 100.0, true};
    QVERIFY(b.survey().stations.front().photo.crop == wanted);
    QVERIFY(!form->isVisible());
    b.undo().undo();
    QVERIFY(form->isVisible());  // asked again
    b.undo().undo();
    QVERIFY(b.survey() == before);
}

void FormsTest::anUnknownCropIsAnAnswer() {
    Bench b;
    forgetFrames(b);
    auto* form = b.part<QWidget>("crop");
    b.type("frameWidth", QStringLiteral("6000"));
    b.type("frameHeight", QStringLiteral("4000"));
    QTest::mouseClick(b.part<QPushButton>("cropSet"), Qt::LeftButton);
    const auto camera = b.survey().stations.front().group;
    QVERIFY(cropsOfUnknownPlace(b, camera));
    for (const auto& s : b.survey().stations) {
        b.window.choice().setStation(s.id);
        QCOMPARE(form->isVisible(), s.group != camera);  // of this camera's nobody knows more
    }
    b.window.choice().setStation(b.survey().stations.front().id);
    QVERIFY(b.adjust());  // which finds the offsets as far as the marks tell
    QTest::mouseClick(b.part<QPushButton>("frame"), Qt::LeftButton);
    QTest::mouseClick(b.part<QPushButton>("whole"), Qt::LeftButton);
    const auto* shown = survey::find(b.survey().stations, b.window.choice().station());
    QVERIFY(shown->photo.crop.known && !survey::isCropped(shown->photo));
}

QTEST_MAIN(FormsTest)
#include "forms_test.moc"
