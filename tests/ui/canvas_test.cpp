// SPDX-License-Identifier: GPL-3.0-or-later
#include <QTemporaryDir>
#include <QTest>
#include <cmath>
#include <random>

#include "MakePhotographs.h"
#include "TemporaryFolder.h"
#include "core/photo/Encode.h"
#include "ui/canvas/LevelPoint.h"
#include "ui/canvas/MarkScene.h"
#include "ui/canvas/PhotoStore.h"
#include "ui/canvas/Pyramid.h"
#include "ui/canvas/ViewTransform.h"

using namespace trammel;
using namespace trammel::ui;

class CanvasTest : public QObject {
    Q_OBJECT
  private Q_SLOTS:
    void zoomHoldsItsPoint();
    void picturesStayInSight();
    void halvingAverages();
    void storeKeepsItsBound();
    void theCamerasSmallPictureComesFirst();
    void storeSaysWhatIsWrong();
    void rimPreviewIsTheCircle();
    void clicksFindWhatIsNear();
    void levelPointInvertsProjection();
};

void CanvasTest::zoomHoldsItsPoint() {
    std::mt19937 random(3);
    std::uniform_real_distribution<double> place(-500, 1500), factor(0.5, 2.0);
    ViewTransform view;
    view.fit({6000, 4000}, {640, 480});
    for (int i = 0; i < 200; ++i) {
        const QPointF at(place(random), place(random)), before = view.toPhoto(at);
        view.zoomAbout(at, factor(random));
        const QPointF off = (view.toPhoto(at) - before) * view.scale();
        QVERIFY(std::hypot(off.x(), off.y()) < 1e-6);  // screen px
    }
}

void CanvasTest::picturesStayInSight() {
    ViewTransform view;
    const QSizeF photo(6000, 4000), window(640, 480);
    view.fit(photo, window);
    view.pan({1e6, -1e6});
    view.keepInSight(photo, window);
    const QRectF shown(view.toScreen({0, 0}), view.toScreen({6000, 4000}));
    QVERIFY(shown.intersects(QRectF(QPointF(), window)));
}

namespace {

void isMean(const QImage& image, const QImage& half) {
    QCOMPARE(half.size(), QSize((image.width() + 1) / 2, (image.height() + 1) / 2));
    for (int y = 0; y < half.height(); ++y)
        for (int x = 0; x < half.width(); ++x) {
            int sum[3] = {2, 2, 2};
            for (int dy = 0; dy < 2; ++dy)
                for (int dx = 0; dx < 2; ++dx) {
                    const QRgb p = image.pixel(std::min(2 * x + dx, image.width() - 1),
                                               std::min(2 * y + dy, image.height() - 1));
                    sum[0] += qRed(p);
                    sum[1] += qGreen(p);
                    sum[2] += qBlue(p);
                }
            QCOMPARE(half.pixel(x, y), qRgb(sum[0] / 4, sum[1] / 4, sum[2] / 4));
        }
}

}  // namespace

void CanvasTest::halvingAverages() {
    std::mt19937 random(5);
    for (const QSize size : {QSize(8, 6), QSize(7, 5), QSize(1, 1), QSize(2, 9), QSize(61, 83), QSize(5, 32)})
        for (const int channels : {1, 3})
            for (const int shrink : {1, 4}) {
                photo::Image image{size.width(), size.height(), channels, {}};
                image.data.resize(std::size_t(size.width() * size.height() * channels));
                for (auto& code : image.data) code = std::uint8_t(random());
                const auto levels = pyramidOf(image, shrink);
                QCOMPARE(levels.size(), shrink == 1 ? 4u : 2u);
                const QImage& first = levels.at(shrink);
                QCOMPARE(first.size(), size);
                for (int y = 0; y < size.height(); ++y)
                    for (int x = 0; x < size.width(); ++x) {
                        const std::uint8_t* p = image.at(x, y);
                        QCOMPARE(first.pixel(x, y),
                                 channels == 1 ? qRgb(p[0], p[0], p[0]) : qRgb(p[0], p[1], p[2]));
                    }
                for (int s = shrink; s < 8; s *= 2) isMean(levels.at(s), levels.at(2 * s));
            }
}

void CanvasTest::storeKeepsItsBound() {
    QTemporaryDir folder;
    constexpr int kSide = 800;
    constexpr qint64 kBudget = 8 * 1000 * 1000;  // three pyramids of 2.56 MB and their halves
    PhotoStore store(kBudget);
    for (int i = 0; i < 6; ++i) {
        photo::Image image{kSide, kSide, 3,
                           std::vector<std::uint8_t>(kSide * kSide * 3, std::uint8_t(40 * i))};
        const QString path = folder.filePath(QStringLiteral("%1.jpg").arg(i));
        QVERIFY(static_cast<bool>(photo::encodeJpeg(image, path.toStdString(), 90)));
        QVERIFY(QTest::qWaitFor(
            [&] { return store.at(path, 1.0).shrink == 1 && !store.at(path, 1.0).image.isNull(); }));
        QVERIFY(store.bytesHeld() <= kBudget);
        QCOMPARE(store.whole(path).width(), kSide);
        QVERIFY(std::abs(qRed(store.whole(path).pixel(400, 400)) - 40 * i) <= 2);
        QCOMPARE(store.at(path, 0.2).shrink, 4);
    }
    QVERIFY(!store.thumbnail(folder.filePath(QStringLiteral("0.jpg"))).isNull());  // small ones are kept
    QVERIFY(store.whole(folder.filePath(QStringLiteral("0.jpg"))).isNull());
}

void CanvasTest::theCamerasSmallPictureComesFirst() {
    const test::TemporaryFolder folder;
    test::makeJpeg(folder / "small.jpg", 160, 106, 3, [](int, int, int) { return 40; });
    const std::string exif =
        test::ExifBytes().whole(0x0112, 6).thumbnail(test::bytesOf(folder / "small.jpg")).bytes();
    test::makeJpeg(
        folder / "a.jpg", 600, 400, 3, [](int, int, int) { return 200; }, exif);
    PhotoStore store;
    const QString path = QString::fromStdString((folder / "a.jpg").string());
    QVERIFY(store.at(path, 0.1).image.isNull());
    std::vector<std::pair<int, QSize>> seen;  // grey and size at each arrival
    connect(&store, &PhotoStore::arrived, this, [&] {
        const Picture p = store.at(path, 0.1);
        if (p.shrink == 8) seen.emplace_back(qRed(p.image.pixel(5, 5)), p.image.size());
    });
    QVERIFY(QTest::qWaitFor([&] { return seen.size() >= 2; }));
    QVERIFY(std::abs(seen.front().first - 40) < 4);
    QVERIFY(std::abs(seen.back().first - 200) < 4);
    QCOMPARE(seen.front().second, QSize(50, 75));
    QCOMPARE(seen.back().second, QSize(50, 75));
    QVERIFY(store.whole(path).isNull());  // nobody asked for it
}

void CanvasTest::storeSaysWhatIsWrong() {
    PhotoStore store;
    const QString path = QStringLiteral("/nowhere/absent.jpg");
    QVERIFY(store.at(path, 1.0).image.isNull());
    QVERIFY(QTest::qWaitFor([&] { return !store.problem(path).isEmpty(); }));
    QVERIFY(store.problem(path).contains(QStringLiteral("absent.jpg")));
}

void CanvasTest::rimPreviewIsTheCircle() {
    std::vector<QPointF> points;
    for (double t : {0.1, 1.3, 2.9, 4.0}) points.emplace_back(100 + 20 * std::cos(t), 50 + 20 * std::sin(t));
    const auto rim = rimPreview(points, true);
    QVERIFY(rim.size() > 10);
    for (const auto& p : rim) QVERIFY(std::abs(std::hypot(p.x() - 100, p.y() - 50) - 20) < 1e-9);
    const auto arc = rimPreview({points[0], points[1], points[2]}, false);
    QVERIFY(std::hypot((arc.front() - points[0]).x(), (arc.front() - points[0]).y()) < 1e-9);
    QVERIFY(std::hypot((arc.back() - points[2]).x(), (arc.back() - points[2]).y()) < 1e-9);
    QVERIFY(distanceTo(arc, points[1], false) < 0.1);
    QVERIFY(rimPreview({{0, 0}, {1, 1}, {2, 2}}, true).empty());
    QVERIFY(rimPreview({{0, 0}, {1, 1}}, true).empty());
}

void CanvasTest::clicksFindWhatIsNear() {
    survey::Survey survey;
    survey.features = {{"F1", "C1", survey::FeatureKind::Corner, "L1"},
                       {"F2", "E1", survey::FeatureKind::Edge, "L1"}};
    survey.marks.push_back({.id = "M1", .station = "S1", .feature = "F1", .points = {{Vec2(10, 10)}}});
    survey.marks.push_back(
        {.id = "M2", .station = "S1", .feature = "F2", .points = {{Vec2(0, 50)}, {Vec2(100, 50)}}});
    survey.marks.push_back({.id = "M3", .station = "S2", .feature = "F1", .points = {{Vec2(60, 60)}}});
    const MarkScene scene(survey, nullptr, "S1");
    QCOMPARE(scene.items().size(), std::size_t(2));
    QCOMPARE(scene.at({12, 11}, 5)->mark, survey::Id("M1"));
    QCOMPARE(scene.at({50, 53}, 5)->mark, survey::Id("M2"));
    QCOMPARE(scene.at({50, 53}, 5)->point, -1);
    QCOMPARE(scene.at({99, 52}, 5)->point, 1);
    QVERIFY(!scene.at({60, 60}, 5));  // that mark is in another photograph
}

void CanvasTest::levelPointInvertsProjection() {
    survey::Survey survey;
    survey::Station shown;
    shown.id = "S1";
    shown.photo.crop = {6000, 4000, 300.0, 200.0, true};
    survey.stations.push_back(shown);
    survey.datum.level = "L1";
    adjust::Solution solution;
    solution.levels["L2"] = 12.5;
    adjust::StationResult station;
    station.constants.c = 9000;
    station.constants.pp = Vec2(2999.5, 1999.5);
    station.constants.k1 = -0.1;
    station.pose.R = survey::squareRotation(survey::View::Top);
    station.pose.t = Vec3(5, -3, 1500);
    solution.stations["S1"] = station;
    for (const Vec2& xy : {Vec2(0, 0), Vec2(120, -80), Vec2(-60, 33)}) {
        const auto px = camera::project(station.constants, station.pose, Vec3(xy.x(), xy.y(), 12.5));
        QVERIFY(px.has_value());
        const auto back = pointOnLevel(survey, solution, "S1", "L2", *px - Vec2(300, 200));
        QVERIFY(back && (*back - xy).norm() < 1e-8);
    }
    QVERIFY(!pointOnLevel(survey, solution, "S1", "L3", Vec2(0, 0)));
}

QTEST_MAIN(CanvasTest)
#include "canvas_test.moc"
