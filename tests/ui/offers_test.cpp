// SPDX-License-Identifier: GPL-3.0-or-later
// Choosing between edges, and taking offered marks, by mouse, keys and buttons on the real widgets.
#include <QAction>
#include <algorithm>
#include <cmath>
#include <set>

#include "Bench.h"
#include "ui/tasks/FitWork.h"

using namespace trammel;
using namespace trammel::ui;

namespace {

bool idle(Bench& b) {
    return QTest::qWaitFor([&] { return !b.window.jobs().running(); }, 240000);
}

QString said(Bench& b) { return b.window.notices().sentences().join(QLatin1Char('\n')); }

/// An edge of the sample whose hand mark lies between two edges of its photograph.
struct Asked {
    survey::Id mark;
    std::vector<fit::Rival> rivals;
};

Asked edgeBetweenTwo(Bench& b) {
    std::map<survey::Id, QString> paths;
    for (const auto& s : b.survey().stations)
        paths[s.id] = QString::fromStdString(b.window.document().photoPath(s).string());
    for (const auto& m : b.survey().marks) {
        const auto* f = survey::find(b.survey().features, m.feature);
        const auto* st = survey::find(b.survey().stations, m.station);
        if (f->kind != survey::FeatureKind::Edge || st->view != survey::View::Front) continue;
        Asked asked{m.id, {}};
        const auto fitted = ui::fitMark({b.survey(), m.id, {}, paths}, Progress(), &asked.rivals);
        if (!fitted && asked.rivals.size() == 2) return asked;
    }
    return {};
}

double awayFrom(const survey::Mark& mark, const fit::Rival& rival) {
    const Vec2 a = rival.line.front(), along = (rival.line.back() - a).normalized();
    double worst = 0;
    for (const auto& p : mark.points)
        worst = std::max(worst, std::abs(along.x() * (p.px - a).y() - along.y() * (p.px - a).x()));
    return worst;
}

/// The sample adjusted, with most edges, arcs and holes of one oblique photograph not marked.
survey::Id unmarkOblique(Bench& b) {
    survey::Id station;
    for (const auto& s : b.survey().stations)
        if (s.name == "oblique B") station = s.id;
    survey::Edit edit{"Unmark", {}};
    for (const auto& m : b.survey().marks) {
        const auto kind = survey::find(b.survey().features, m.feature)->kind;
        if (m.station == station && kind != survey::FeatureKind::Corner)
            edit.changes.push_back(survey::Remove<survey::Mark>{m.id});
    }
    if (!b.window.document().perform(edit)) qFatal("cannot unmark");
    return station;
}

std::set<survey::Id> marksIn(const survey::Survey& s, const survey::Id& station) {
    std::set<survey::Id> features;
    for (const auto& m : s.marks)
        if (m.station == station) features.insert(m.feature);
    return features;
}

bool offerIn(Bench& b, const survey::Id& station) {
    b.window.choice().setStation(station);
    b.window.canvas().setFocus();
    b.key(Qt::Key_M);
    return idle(b) && b.window.bench().kind() == ToolKind::Offers;
}

}  // namespace

class OffersTest : public QObject {
    Q_OBJECT
  private Q_SLOTS:
    void initTestCase() {
        if (!QFile::exists(kSample)) QSKIP("the sample has not been built");
    }
    void aLetterChoosesTheEdge();
    void aClickOrAButtonChoosesTheEdge();
    void offersNeedAnAdjustment();
    void offersAreTakenAndRejectedOneByOne();
    void allSureOnesAreOneAct();
    void rivalsOfAnOfferAreChosen();
    void lookingCanBeStopped();
    void aTransitionIsNamedAndDecides();
};

void OffersTest::aLetterChoosesTheEdge() {
    Bench b;
    const Asked asked = edgeBetweenTwo(b);
    QVERIFY2(!asked.mark.empty(), "the sample holds such an edge");
    const auto before = b.survey();
    for (const int index : {0, 1}) {
        b.window.choice().setStation(survey::find(before.marks, asked.mark)->station);
        b.window.choice().setMark(asked.mark);
        b.window.canvas().setFocus();
        b.key(Qt::Key_F);
        QVERIFY(idle(b));
        QCOMPARE(b.window.bench().kind(), ToolKind::Rivals);
        QVERIFY(b.window.bench().words().contains(QStringLiteral("A or B")));
        QVERIFY(b.part<QPushButton>("rivalA")->isVisible() && b.part<QPushButton>("rivalB")->isVisible());
        QVERIFY(b.window.canvas().view().scale() >= 4.99);
        b.window.canvas().grab();
        b.key(index == 0 ? Qt::Key_A : Qt::Key_B);  // not the tool for arcs
        QVERIFY(b.window.bench().kind() != ToolKind::Arc);
        QVERIFY(idle(b));
        const auto* mark = survey::find(b.survey().marks, asked.mark);
        QVERIFY2(mark->origin == survey::MarkOrigin::Fitted, qPrintable(said(b)));
        QVERIFY(awayFrom(*mark, asked.rivals[static_cast<std::size_t>(index)]) < 1.0);
        QVERIFY(!b.part<QPushButton>("rivalA")->isVisible());
        b.undo().undo();
        QVERIFY(b.survey() == before);
    }
    b.key(Qt::Key_A);  // and now it is
    QCOMPARE(b.window.bench().kind(), ToolKind::Arc);
}

void OffersTest::aClickOrAButtonChoosesTheEdge() {
    Bench b;
    const Asked asked = edgeBetweenTwo(b);
    QVERIFY(!asked.mark.empty());
    const auto before = b.survey();
    const auto ask = [&] {
        b.window.choice().setStation(survey::find(before.marks, asked.mark)->station);
        b.window.choice().setMark(asked.mark);
        b.window.canvas().setFocus();
        b.key(Qt::Key_F);
        return idle(b) && b.window.bench().kind() == ToolKind::Rivals;
    };
    QVERIFY(ask());
    const Vec2& on = asked.rivals[1].line[asked.rivals[1].line.size() / 2];
    b.click(b.window.canvas().view().toScreen({on.x(), on.y()}).toPoint());
    QVERIFY(idle(b));
    QVERIFY(awayFrom(*survey::find(b.survey().marks, asked.mark), asked.rivals[1]) < 1.0);
    QVERIFY(survey::find(b.survey().marks, asked.mark)->origin == survey::MarkOrigin::Fitted);
    b.undo().undo();
    QVERIFY(ask());
    QTest::mouseClick(b.part<QPushButton>("rivalA"), Qt::LeftButton);
    QVERIFY(idle(b));
    QVERIFY(awayFrom(*survey::find(b.survey().marks, asked.mark), asked.rivals[0]) < 1.0);
    b.undo().undo();
    QVERIFY(ask());
    b.key(Qt::Key_Escape);
    QCOMPARE(b.window.bench().kind(), ToolKind::Select);
    QVERIFY(b.survey() == before);
}

void OffersTest::offersNeedAnAdjustment() {
    Bench b;
    bool found = false;
    for (auto* action : b.window.findChildren<QAction*>())
        if (action->text() == QStringLiteral("Offer marks")) {
            found = true;
            QVERIFY(action->isEnabled());
        }
    QVERIFY(found);
    b.key(Qt::Key_M);
    QVERIFY(b.notices(QStringLiteral("Adjust first")));
    QVERIFY(!b.window.jobs().running(QStringLiteral("Looking for marks to offer")));
    QVERIFY(!b.part<QPushButton>("takeOffer")->isVisible());
}

void OffersTest::offersAreTakenAndRejectedOneByOne() {
    Bench b;
    const auto station = unmarkOblique(b);
    QVERIFY(b.adjust());
    QVERIFY2(offerIn(b, station), qPrintable(said(b)));
    QVERIFY(b.notices(QStringLiteral("on offer")));
    auto* offers = b.window.bench().offers();
    QVERIFY(offers->sureLeft() >= 5);
    QVERIFY(b.window.bench().words().contains(QStringLiteral("sure")));
    b.window.canvas().grab();
    const auto before = b.survey();
    const int left = offers->left();
    const auto first = offers->current()->expected.feature;
    b.key(Qt::Key_Return);
    QVERIFY(marksIn(b.survey(), station).contains(first));
    QVERIFY(b.survey().marks.back().origin == survey::MarkOrigin::Fitted);
    QVERIFY(b.undo().undoText().contains(QStringLiteral("Take the offered mark")));
    QCOMPARE(b.window.bench().offers()->left(), left - 1);
    const auto second = offers->current()->expected.feature;
    QVERIFY(second != first);
    b.key(Qt::Key_Delete);
    QCOMPARE(offers->left(), left - 2);
    QVERIFY(!marksIn(b.survey(), station).contains(second));
    b.undo().undo();  // what was taken is on offer again; what was rejected is not
    QVERIFY(b.survey() == before);
    QCOMPARE(offers->left(), left - 1);
    b.key(Qt::Key_N);
    const auto third = offers->current()->expected.feature;
    b.key(Qt::Key_Backspace);
    QVERIFY(offers->current()->expected.feature != third);
    QTest::mouseClick(b.part<QPushButton>("offerNext"), Qt::LeftButton);
    QVERIFY(offers->current()->expected.feature == third);
    QTest::mouseClick(b.part<QPushButton>("takeOffer"), Qt::LeftButton);
    QVERIFY(marksIn(b.survey(), station).contains(third));
    // Another photograph: the words say where the offers are, and nothing can be taken by accident.
    const auto now = b.survey();
    b.window.choice().setStation(b.survey().stations.front().id);
    QVERIFY(b.window.bench().words().contains(QStringLiteral("oblique B")));
    b.key(Qt::Key_Return);
    QVERIFY(b.survey() == now);
    b.key(Qt::Key_Escape);
    QCOMPARE(b.window.bench().kind(), ToolKind::Select);
}

void OffersTest::allSureOnesAreOneAct() {
    Bench b;
    const auto station = unmarkOblique(b);
    QVERIFY(b.adjust());
    QVERIFY(offerIn(b, station));
    const auto before = b.survey();
    const int sure = b.window.bench().offers()->sureLeft();
    QVERIFY(sure >= 5);
    const auto known = marksIn(before, station).size();
    QTest::keyClick(&b.window.canvas(), Qt::Key_Return, Qt::ShiftModifier);
    QCOMPARE(marksIn(b.survey(), station).size(), known + static_cast<std::size_t>(sure));
    QCOMPARE(b.window.bench().offers()->sureLeft(), 0);
    // With none left, the same keys take nothing by themselves.
    const auto now = b.survey();
    QTest::keyClick(&b.window.canvas(), Qt::Key_Return, Qt::ShiftModifier);
    QVERIFY(b.survey() == now);
    b.undo().undo();
    QVERIFY(b.survey() == before);
    QTest::mouseClick(b.part<QPushButton>("takeSureOffers"), Qt::LeftButton);
    QVERIFY(b.survey() == now);
    // What was taken agrees with the rest.
    QVERIFY(b.adjust());
    int suspects = 0;
    for (const auto& s : b.window.document().solution()->suspects)
        if (const auto* m = survey::find(b.survey().marks, s.object)) suspects += m->station == station;
    QVERIFY(suspects <= sure / 20);
}

void OffersTest::rivalsOfAnOfferAreChosen() {
    Bench b;
    const auto station = unmarkOblique(b);
    QVERIFY(b.adjust());
    const int narrow = b.window.centralWidget()->minimumSizeHint().width();
    QVERIFY(offerIn(b, station));
    auto* offers = b.window.bench().offers();
    for (int i = 0; i < offers->left(); ++i) {
        if (offers->current() && offers->current()->rivals.size() >= 2) break;
        b.key(Qt::Key_N);
    }
    QVERIFY2(offers->current() && offers->current()->rivals.size() >= 2, "one of them lies between edges");
    const fit::Offer offer = *offers->current();
    QVERIFY(b.window.bench().words().contains(QStringLiteral("press the letter")));
    QVERIFY(b.part<QPushButton>("rivalB")->isVisible());
    QVERIFY(!b.part<QPushButton>("takeOffer")->isEnabled());
    const int needed = b.window.centralWidget()->minimumSizeHint().width();
    QVERIFY2(needed <= narrow, qPrintable(QStringLiteral("the window grew by %1 px").arg(needed - narrow)));
    const auto before = b.survey();
    b.key(Qt::Key_Return);
    QVERIFY(b.survey() == before && b.notices(QStringLiteral("waits for a choice")));
    b.window.canvas().grab();
    b.key(Qt::Key_B);
    QVERIFY(idle(b));
    QVERIFY2(marksIn(b.survey(), station).contains(offer.expected.feature), qPrintable(said(b)));
}

void OffersTest::lookingCanBeStopped() {
    Bench b;
    const auto station = unmarkOblique(b);
    QVERIFY(b.adjust());
    const auto before = b.survey();
    b.window.choice().setStation(station);
    b.window.canvas().setFocus();
    b.key(Qt::Key_M);
    QVERIFY(b.window.jobs().running(QStringLiteral("Looking for marks to offer")));
    QTest::mouseClick(b.part<QPushButton>("stop"), Qt::LeftButton);
    QVERIFY(idle(b));
    QVERIFY2(b.notices(QStringLiteral("stopped")), qPrintable(said(b)));
    QVERIFY(b.survey() == before);
    QVERIFY(b.window.bench().kind() != ToolKind::Offers);
}

void OffersTest::aTransitionIsNamedAndDecides() {
    Bench b;
    const Asked asked = edgeBetweenTwo(b);
    QVERIFY(!asked.mark.empty());
    const auto mark = *survey::find(b.survey().marks, asked.mark);
    auto* box = b.part<QComboBox>("transition");
    QVERIFY(!box->isEnabled() && box->toolTip().contains(QStringLiteral("Choose a feature")));
    b.showTab("features");
    b.window.choice().setFeature(mark.feature);
    QVERIFY(box->isEnabled());
    QCOMPARE(box->currentText(), QStringLiteral("sharp"));
    const auto choose = [&](const char* words) {
        const int at = box->findText(QString::fromLatin1(words));
        QVERIFY(at >= 0);
        box->setCurrentIndex(at);
        Q_EMIT box->activated(at);
    };
    const auto feature = [&] { return *survey::find(b.survey().features, mark.feature); };
    const auto before = b.survey();
    std::vector<survey::Mark> fitted;
    for (const char* side : {"inner line", "outer line (silhouette)"}) {
        choose(side);
        QVERIFY(feature().transition != survey::Transition::Sharp);
        QVERIFY(b.undo().undoText().contains(QString::fromLatin1(side)));
        b.window.choice().setStation(mark.station);
        b.window.choice().setMark(mark.id);
        b.window.canvas().setFocus();
        b.key(Qt::Key_F);
        QVERIFY(idle(b));
        QVERIFY2(b.window.bench().kind() != ToolKind::Rivals, "nothing is asked");
        fitted.push_back(*survey::find(b.survey().marks, mark.id));
        QVERIFY2(fitted.back().origin == survey::MarkOrigin::Fitted, qPrintable(said(b)));
        b.undo().undo();
        b.undo().undo();
        QVERIFY(b.survey() == before);
        b.window.choice().setFeature(mark.feature);
    }
    QVERIFY(std::abs(fitted[0].points[0].px.y() - fitted[1].points[0].px.y()) > 3.0);
    // A rounding waits for its width, and both are one act.
    choose("round");
    QVERIFY(b.survey() == before);
    b.type("transitionWidth", QStringLiteral("1,5"));
    QTest::keyClick(b.part<QLineEdit>("transitionWidth"), Qt::Key_Return);
    QVERIFY(feature().transition == survey::Transition::Round);
    QCOMPARE(feature().transition_mm, 1.5);
    b.type("transitionWidth", QStringLiteral("-2"));
    QTest::keyClick(b.part<QLineEdit>("transitionWidth"), Qt::Key_Return);
    QCOMPARE(feature().transition_mm, 1.5);
    QVERIFY(b.notices(QStringLiteral("below zero")) || b.notices(QStringLiteral("not above zero")));
    b.undo().undo();
    QVERIFY(b.survey() == before);
}

QTEST_MAIN(OffersTest)
#include "offers_test.moc"
