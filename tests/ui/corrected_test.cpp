// SPDX-License-Identifier: GPL-3.0-or-later
// The corrected view: straight edges look straight, and all that is drawn or clicked stays in original
// pixels.
#include <QAction>
#include <cmath>
#include <random>

#include "Bench.h"
#include "core/camera/Camera.h"

using namespace trammel;
using namespace trammel::ui;

namespace {

/// Barrel of 2 % in the corners.
camera::Constants barrel(int width, int height) {
    camera::Constants k;
    k.c = 2.0 * width;
    k.pp = {(width - 1) / 2.0, (height - 1) / 2.0};
    k.k1 = -0.02 / (0.25 * (1 + static_cast<double>(height) * height / width / width)) * 4;
    return k;
}

ViewTransform correctedTransform(const camera::Constants& k, int width, int height) {
    const auto made = camera::Correction::of(k, Vec2::Zero(), width, height);
    ViewTransform view;
    if (!made) qFatal("%s", made.error().sentence().c_str());
    view.setCorrection(std::make_shared<const camera::Correction>(*made));
    view.fit(QSizeF(width, height), {900, 600});
    return view;
}

QAction* action(Bench& b, const QString& text) {
    for (auto* a : b.window.findChildren<QAction*>())
        if (a->text() == text) return a;
    qFatal("no such action");
}

/// The shown photograph's camera group with a lens that bends.
bool bendLens(Bench& b) {
    const auto* station = survey::find(b.survey().stations, b.window.choice().station());
    auto group = *survey::find(b.survey().groups, station->group);
    const auto k = barrel(station->photo.crop.fullWidth, station->photo.crop.fullHeight);
    group.principalDistance.value = k.c;
    group.principalX.value = k.pp.x(), group.principalY.value = k.pp.y();
    group.k1.value = k.k1;
    return static_cast<bool>(
        b.window.document().perform({"bend", {survey::Put<survey::CameraGroup>{group}}}));
}

/// Largest distance of points from the straight line through the outer two.
double bend(const std::vector<QPointF>& p) {
    const QPointF along = p.back() - p.front();
    double worst = 0;
    for (const QPointF& q : p) {
        const QPointF off = q - p.front();
        worst = std::max(
            worst, std::abs(along.x() * off.y() - along.y() * off.x()) / std::hypot(along.x(), along.y()));
    }
    return worst;
}

}  // namespace

class CorrectedTest : public QObject {
    Q_OBJECT
  private Q_SLOTS:
    void screenAndPhotographAgree();
    void straightEdgesLookStraight();
    void isOfferedOnlyWhereThereIsDistortion();
    void clicksStayInOriginalPixels();
};

void CorrectedTest::screenAndPhotographAgree() {
    ViewTransform view = correctedTransform(barrel(6000, 4000), 6000, 4000);
    std::mt19937 random(7);
    std::uniform_real_distribution<double> x(0, 5999), y(0, 3999), factor(0.7, 1.6);
    for (int i = 0; i < 200; ++i) {
        const QPointF photo(x(random), y(random));
        const QPointF back = view.toPhoto(view.toScreen(photo));
        QVERIFY(std::hypot(back.x() - photo.x(), back.y() - photo.y()) < 1e-6);
        const QPointF at = view.toScreen(photo);
        view.zoomAbout(at, factor(random));
        const QPointF still = view.toScreen(photo);
        QVERIFY(std::hypot(still.x() - at.x(), still.y() - at.y()) < 1e-6);
    }
    view.fit(QSizeF(6000, 4000), {900, 600});
    for (const QPointF corner : {QPointF(0, 0), QPointF(5999, 0), QPointF(0, 3999), QPointF(5999, 3999)})
        QVERIFY(QRectF(0, 0, 900, 600).contains(view.toScreen(corner)));
}

void CorrectedTest::straightEdgesLookStraight() {
    const auto k = barrel(6000, 4000);
    const ViewTransform corrected = correctedTransform(k, 6000, 4000);
    ViewTransform plain;
    plain.fit(QSizeF(6000, 4000), {900, 600});
    std::vector<QPointF> seen, straight;
    for (int i = 0; i <= 20; ++i) {  // an edge in space
        const auto px = camera::project(k, {}, Vec3(-200 + 20.0 * i, -130 + 1.0 * i, 1000));
        QVERIFY(px);
        seen.push_back(plain.toScreen({px->x(), px->y()}));
        straight.push_back(corrected.toScreen({px->x(), px->y()}));
    }
    // k1 y (r² of the ends − r² of the middle) c = 12.9 px of the photograph, shown at 0.15
    QVERIFY(bend(seen) > 1.7);
    QVERIFY(bend(straight) < 1e-6);
}

void CorrectedTest::isOfferedOnlyWhereThereIsDistortion() {
    Bench b;
    auto* corrected = action(b, QStringLiteral("Corrected view"));
    auto group = b.survey().groups.front();
    group.k1.value = group.k2.value = group.k3.value = group.p1.value = group.p2.value = 0.0;
    QVERIFY(b.window.document().perform({"flat", {survey::Put<survey::CameraGroup>{group}}}));
    QVERIFY(!corrected->isEnabled());
    QVERIFY(corrected->toolTip().contains(QStringLiteral("No distortion")));
    QVERIFY(bendLens(b));
    QVERIFY(corrected->isEnabled());
    b.key(Qt::Key_V);
    QVERIFY(corrected->isChecked());
    QVERIFY(b.window.canvas().view().correction());
    b.undo().undo();  // the lens bends no more: the photograph as it is
    QVERIFY(!b.window.canvas().view().correction());
    b.undo().redo();
    QVERIFY(b.window.canvas().view().correction());
    b.key(Qt::Key_V);
    QVERIFY(!b.window.canvas().view().correction());
}

void CorrectedTest::clicksStayInOriginalPixels() {
    Bench b;
    QVERIFY(bendLens(b));
    const QString path = b.window.canvas().path();
    QVERIFY(QTest::qWaitFor([&] { return !b.window.photographs().at(path, 0.2).image.isNull(); }, 60000));
    const QImage plain = b.window.canvas().grab().toImage();
    b.key(Qt::Key_V);
    const auto& view = b.window.canvas().view();
    QVERIFY(view.correction());
    QVERIFY(b.window.canvas().grab().toImage() != plain);
    const auto before = b.survey().marks.size();
    b.window.choice().setFeature({});
    b.key(Qt::Key_C);
    const QPoint place = b.inPicture(0.07, 0.09);  // a corner of the picture, where the lens bends most
    const QPointF expected = view.toPhoto(place);
    const auto straight = view.correction()->toCorrected(Vec2(expected.x(), expected.y()));
    QVERIFY(straight && std::hypot(straight->x() - expected.x(), straight->y() - expected.y()) > 5.0);
    b.click(place);
    QCOMPARE(b.survey().marks.size(), before + 1);
    const auto& made = b.survey().marks.back().points.front().px;
    QVERIFY(std::hypot(made.x() - expected.x(), made.y() - expected.y()) < 1e-6);
    // The same px, clicked without correction, is the same place of the photograph.
    b.key(Qt::Key_V);
    QVERIFY(!b.window.canvas().view().correction());
    const QPointF screen = b.window.canvas().view().toScreen({made.x(), made.y()});
    const auto hit = b.window.canvas().scene().at(b.window.canvas().view().toPhoto(screen), 2.0);
    QVERIFY(hit && hit->mark == b.survey().marks.back().id);
}

QTEST_MAIN(CorrectedTest)
#include "corrected_test.moc"
