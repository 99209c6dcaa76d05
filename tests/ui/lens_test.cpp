// SPDX-License-Identifier: GPL-3.0-or-later
// A lens that was calibrated and kept is offered when photographs taken with it are added.
#include <QPushButton>

#include "Bench.h"
#include "core/calibrate/LensStore.h"
#include "core/storage/ImportPhotograph.h"

using namespace trammel;
using namespace trammel::ui;

namespace {

/// A record for the lens of the sample's photographs.
calibrate::LensRecord recordOf(const fs::path& photograph) {
    survey::Survey s;
    const auto read = storage::importPhotograph(s, {}, photograph, survey::View::Top);
    if (!read || !survey::apply(s, read->edit)) qFatal("the sample's photograph cannot be read");
    const auto use = calibrate::lensOf(s, read->group);
    calibrate::LensRecord r;
    r.body = use.body, r.lens = use.lens, r.focal_mm = use.focal_mm;
    r.width = use.width, r.height = use.height;
    r.constants.c = 1.02 * s.groups.front().principalDistance.value;
    r.constants.pp = {use.width / 2.0, use.height / 2.0};
    r.constants.k1 = 0.7;
    r.covariance.diagonal() << 400, 9, 9, 1e-4, 0, 0, 0, 0;
    r.date = "2026-05-01";
    return r;
}

QPushButton* useButton(Bench& b) {
    for (auto* button : b.window.notices().findChildren<QPushButton*>())
        if (button->text() == QStringLiteral("Use")) return button;
    return nullptr;
}

void addTop(Bench& b, const fs::path& survey) {
    b.prompts.files << QString::fromStdString((survey.parent_path() / "photographs" / "top.jpg").string());
    QTest::mouseClick(b.part<QPushButton>("photographsWay"), Qt::LeftButton);
    QVERIFY(QTest::qWaitFor([&] { return b.survey().stations.size() == 1 && !b.window.jobs().running(); },
                            30000));
}

}  // namespace

class LensTest : public QObject {
    Q_OBJECT
  private Q_SLOTS:
    void aKeptLensIsOfferedAndUsedAsOneAct();
    void anotherLensIsNot();
};

void LensTest::aKeptLensIsOfferedAndUsedAsOneAct() {
    QTemporaryDir folder, data;
    qputenv("XDG_DATA_HOME", data.path().toUtf8());
    const auto file = copySample(folder);
    const auto record = recordOf(file.parent_path() / "photographs" / "top.jpg");
    QVERIFY(calibrate::LensStore(calibrate::lensFolder(qgetenv("XDG_DATA_HOME").constData(), nullptr))
                .keep(record));
    Bench b{QString()};
    addTop(b, file);
    QVERIFY(b.notices(QStringLiteral("calibrated on 2026-05-01")));
    auto* use = useButton(b);
    QVERIFY(use);
    const auto before = b.survey();
    QTest::mouseClick(use, Qt::LeftButton);
    QCOMPARE(b.survey().groups.front().k1.value, 0.7);
    QVERIFY(b.survey().groups.front().k1.mode == survey::ConstantMode::Prior);
    QTRY_VERIFY(!useButton(b));
    b.undo().undo();
    QVERIFY(b.survey() == before);
}

void LensTest::anotherLensIsNot() {
    QTemporaryDir folder, data;
    qputenv("XDG_DATA_HOME", data.path().toUtf8());
    const auto file = copySample(folder);
    auto record = recordOf(file.parent_path() / "photographs" / "top.jpg");
    record.lens = "Example Optics 35";
    QVERIFY(calibrate::LensStore(calibrate::lensFolder(qgetenv("XDG_DATA_HOME").constData(), nullptr))
                .keep(record));
    Bench b{QString()};
    addTop(b, file);
    QVERIFY(!useButton(b));
    QVERIFY(!b.notices(QStringLiteral("calibrated on")));
}

QTEST_MAIN(LensTest)
#include "lens_test.moc"
