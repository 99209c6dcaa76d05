// SPDX-License-Identifier: GPL-3.0-or-later
// The trail tool by mouse and keys on the sample: follows the board's edge, makes features in one act.
#include "Bench.h"
#include "ui/tools/TrailTool.h"

using namespace trammel;
using namespace trammel::ui;

namespace {

bool idle(Bench& b) {
    return QTest::qWaitFor([&] { return !b.window.jobs().running(); }, 240000);
}

/// Clicks a place of the photograph with a pixel of the screen no coarser than one of the photograph.
void clickPhoto(Bench& b, const QPointF& photo) {
    b.window.canvas().lookAt(photo);
    b.click(b.window.canvas().view().toScreen(photo).toPoint());
}

/// Middles of edges of the board's outline as marked in the photograph at hand, in order.
std::vector<QPointF> middles(Bench& b, std::size_t most) {
    std::vector<QPointF> out;
    for (const auto& id : b.survey().outlines.front().chain) {
        const auto* f = survey::find(b.survey().features, id);
        for (const auto& m : b.survey().marks)
            if (m.feature == id && m.station == b.window.choice().station() &&
                f->kind == survey::FeatureKind::Edge && out.size() < most) {
                const Vec2 p = 0.5 * (m.points.front().px + m.points.back().px);
                out.emplace_back(p.x(), p.y());
            }
    }
    return out;
}

int count(const survey::Survey& s, survey::FeatureKind kind) {
    return static_cast<int>(
        std::count_if(s.features.begin(), s.features.end(), [&](const auto& f) { return f.kind == kind; }));
}

/// With the tool in hand and its photograph read.
void takeTrail(Bench& b) {
    b.key(Qt::Key_T);
    QCOMPARE(b.window.bench().kind(), ToolKind::Trail);
    QVERIFY(idle(b));
    QVERIFY(b.window.bench().trail()->ready());
}

}  // namespace

class TrailTest : public QObject {
    Q_OBJECT
  private Q_SLOTS:
    void initTestCase() {
        if (!QFile::exists(kSample)) QSKIP("the sample has not been built");
    }
    void followsTheEdgeAndMakesFeatures();
    void takesClicksBackAndRefusesWhatNoEdgeLeadsTo();
};

void TrailTest::followsTheEdgeAndMakesFeatures() {
    Bench b;
    const auto before = b.survey();
    const auto way = middles(b, 3);
    QCOMPARE(way.size(), std::size_t(3));
    takeTrail(b);
    clickPhoto(b, way[0]);
    QVERIFY(b.window.bench().words().contains(QStringLiteral("next point")));
    clickPhoto(b, way[1]);
    auto* trail = b.window.bench().trail();
    QVERIFY(trail->path().size() > 20);
    const std::size_t first = trail->path().size();
    clickPhoto(b, way[2]);
    QVERIFY(trail->path().size() > first);
    b.window.canvas().grab();
    b.key(Qt::Key_Return);
    QVERIFY(idle(b));
    const QString said = b.window.notices().sentences().join(QLatin1Char('\n'));
    QVERIFY2(said.contains(QStringLiteral("The trail became")), qPrintable(said));
    QVERIFY(count(b.survey(), survey::FeatureKind::Edge) >= count(before, survey::FeatureKind::Edge) + 2);
    const auto& made = b.survey().marks.back();
    QVERIFY(made.origin == survey::MarkOrigin::Fitted && made.station == b.window.choice().station());
    QCOMPARE(trail->clicks(), std::size_t(0));
    b.undo().undo();  // one act
    QVERIFY(b.survey() == before);
}

void TrailTest::takesClicksBackAndRefusesWhatNoEdgeLeadsTo() {
    Bench b;
    const auto before = b.survey();
    const auto way = middles(b, 2);
    takeTrail(b);
    auto* trail = b.window.bench().trail();
    clickPhoto(b, way[0]);
    b.key(Qt::Key_Return);
    QVERIFY(b.notices(QStringLiteral("two clicks or more")));
    clickPhoto(b, QPointF(60, 60));  // the bare ground in the photograph's corner
    QCOMPARE(trail->clicks(), std::size_t(1));
    QVERIFY2(b.notices(QStringLiteral("edge")), qPrintable(b.window.notices().sentences().join(u'\n')));
    clickPhoto(b, way[1]);
    QCOMPARE(trail->clicks(), std::size_t(2));
    b.key(Qt::Key_Backspace);
    QCOMPARE(trail->clicks(), std::size_t(1));
    QVERIFY(trail->path().empty());
    b.key(Qt::Key_Escape);
    QCOMPARE(trail->clicks(), std::size_t(0));
    QCOMPARE(b.window.bench().kind(), ToolKind::Trail);
    b.key(Qt::Key_PageDown);  // another photograph is read anew
    QVERIFY(idle(b));
    QVERIFY(trail->ready());
    QVERIFY(b.survey() == before);
}

QTEST_MAIN(TrailTest)
#include "trail_test.moc"
