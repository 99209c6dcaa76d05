// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/MainWindow.h"

#include <QApplication>
#include <QCheckBox>
#include <QCloseEvent>
#include <QComboBox>
#include <QLabel>
#include <QListView>
#include <QProgressBar>
#include <QPushButton>
#include <QStackedWidget>
#include <QTabWidget>
#include <QToolBar>

#include "core/drawing/Format.h"
#include "ui/canvas/CorrectedView.h"
#include "ui/canvas/LevelPoint.h"
#include "ui/panels/LedgerRows.h"
#include "ui/settings/RecentSurveys.h"
#include "ui/tools/MarkEdits.h"

namespace trammel::ui {
namespace {

/// A mark of what an entry of the ledger is about: in the photograph that shows most of it, the one at hand
/// before others. Null where none of it is marked.
const survey::Mark* markToShow(const survey::Survey& survey, const survey::Id& entry,
                               const survey::Id& atHand) {
    std::map<survey::Id, std::size_t> seen;
    const auto objects = objectsOf(survey, entry);
    const auto about = [&](const survey::Mark& m) {
        return std::ranges::find(objects, m.feature) != objects.end() && !m.points.empty();
    };
    for (const auto& m : survey.marks)
        if (about(m)) seen[m.station] += 2;
    if (seen.contains(atHand)) ++seen[atHand];
    const survey::Mark* best = nullptr;
    for (const auto& m : survey.marks)
        if (about(m) && (!best || seen[m.station] > seen[best->station])) best = &m;
    return best;
}

}  // namespace

MainWindow::MainWindow(Prompts& prompts, const QString& draftFolder, QWidget* parent)
    : QMainWindow(parent), prompts_(prompts), desk_(document_, prompts), tasks_(document_, jobs_) {
    setAcceptDrops(true);
    makePanels();
    makeStatusBar();
    makeActions();
    connectParts();
    connectTasks();
    if (!draftFolder.isEmpty()) {
        drafts_ = std::make_unique<DraftKeeper>(document_, draftFolder);
        connect(drafts_.get(), &DraftKeeper::wrong, this, &MainWindow::complain);
    }
    showPage(Start);
    refresh({.opened = true, .survey = true, .solution = true, .file = true});
    refreshJobs();
}

MainWindow::~MainWindow() {
    // Panels and canvas refer to the document and the store, which are members and go first.
    for (QObject* source : {static_cast<QObject*>(&document_), static_cast<QObject*>(&choice_),
                            static_cast<QObject*>(&jobs_), static_cast<QObject*>(&store_)})
        source->disconnect();
    // The pointer leaves what is torn down under it, and whoever says so would be answered with parts gone.
    for (QObject* part : findChildren<QObject*>()) part->disconnect(this);
    delete bench_;
    delete takeCentralWidget();
}

void MainWindow::offerLeftWork() {
    if (!drafts_) return;
    for (const auto& left : drafts_->left()) {
        const auto take = [this, draft = left.draft] {
            if (!desk_.mayLeave()) return offerLeftWork();
            if (const auto taken = drafts_->takeUp(draft); !taken) return complain(taken.error());
            tasks_.checkPhotographs();
            showPage(Large);
        };
        notices_->show(NoticeBar::Weight::Wrong, left.words,
                       {{tr("Go on with it"), take},
                        {tr("Throw it away"), [this, draft = left.draft] { drafts_->throwAway(draft); }}});
    }
}

PanelContext MainWindow::context() {
    return {document_, choice_, [this](const Error& error) { complain(error); }};
}

void MainWindow::complain(const Error& error) {
    notices_->show(NoticeBar::Weight::Wrong, QString::fromStdString(error.sentence()));
}

void MainWindow::say(const QString& sentence) { notices_->show(NoticeBar::Weight::Said, sentence); }

void MainWindow::connectParts() {
    connect(&document_, &Document::changed, this, &MainWindow::refresh);
    connect(&choice_, &Choice::changed, this, &MainWindow::refreshChoice);
    connect(bench_, &ToolBench::wordsChanged, this, &MainWindow::refreshWords);
    connect(bench_, &ToolBench::complaint, this, &MainWindow::complain);
    connect(bench_, &ToolBench::marked, this, [this](const std::string& mark) {
        const auto& survey = document_.survey();
        const auto* made = survey::find(survey.marks, mark);
        const auto* feature = made ? survey::find(survey.features, made->feature) : nullptr;
        // slots and free curves stay as they were marked by hand
        const bool stays = feature && (feature->kind == survey::FeatureKind::Slot ||
                                       feature->kind == survey::FeatureKind::Curve);
        if (fitAfter_->isChecked() && !stays) tasks_.fitMark(mark);
    });
    connect(bench_, &ToolBench::edgesGiven, this,
            [this](const std::string& mark, const std::vector<Vec2>& along) { tasks_.fitMark(mark, along); });
    connect(bench_, &ToolBench::groundWanted, &tasks_, &SurveyTasks::readGround);
    connect(bench_, &ToolBench::trailGiven, this, [this](TrailWish wish) {
        wish.purpose = features_->purpose();
        if (auto* trail = bench_->trail()) tasks_.makeTrail(wish, trail->ground());
    });
    connect(bench_, &ToolBench::rivalOfOfferChosen, &tasks_, &SurveyTasks::fitOffer);
    connect(canvas_, &PhotoCanvas::hovered, this, [this](const QPointF& photo) { refreshPointer(&photo); });
    connect(canvas_, &PhotoCanvas::left, this, [this] { refreshPointer(nullptr); });
    connect(features_, &FeaturesPanel::markAsked, this, &MainWindow::markFeature);
    connect(features_, &FeaturesPanel::featureClicked, this, [this](const std::string& id) {
        if (auto* outline = bench_->outline()) outline->add(id);
        const auto* feature = survey::find(document_.survey().features, id);
        // With a marking tool in hand, a feature of another kind brings the tool that marks it.
        const auto kind = bench_->kind();
        const bool marking = kind == ToolKind::Corner || kind == ToolKind::Edge || kind == ToolKind::Hole ||
                             kind == ToolKind::Arc || kind == ToolKind::Slot || kind == ToolKind::Curve;
        if (feature && marking) takeTool(ToolBench::toolFor(feature->kind));
    });
    connect(features_, &FeaturesPanel::selected, this, [this](const std::vector<std::string>& ids) {
        if (ids.empty()) return;
        readings_->propose(ids);
        conditions_->propose(ids);
        ledger_->propose(ids);
    });
    connect(features_, &FeaturesPanel::outlineAsked, this, [this] {
        takeTool(ToolKind::Outline);
        if (auto* outline = bench_->outline()) outline->setPurpose(features_->purpose());
    });
    connect(checks_, &ChecksPanel::showAsked, this, &MainWindow::showObject);
    const auto aside = [this]<class Page>(const Page* page) {
        connect(page, &Page::backAsked, this, [this] { showPage(pageBefore_); });
        connect(page, &Page::wrong, this, &MainWindow::complain);
        connect(page, &Page::said, this, &MainWindow::say);
    };
    aside(plan_);
    aside(lens_);
    connect(steps_, &StepsBar::showAsked, this, &MainWindow::leadTo);
    connect(report_, &ReportPage::showAsked, this, &MainWindow::showObject);
    connect(report_, &ReportPage::adjustAsked, &tasks_, &SurveyTasks::adjust);
    connect(unfolded_, &UnfoldedPage::adjustAsked, &tasks_, &SurveyTasks::adjust);
    connect(unfolded_, &UnfoldedPage::photographsAsked, this,
            [this] { tasks_.addPhotographs(prompts_.photographs()); });
    connect(ledger_, &LedgerPanel::showAsked, this, &MainWindow::showObject);
    connect(unfolded_, &UnfoldedPage::markingAsked, this, [this] { showPage(Large); });
    connect(unfolded_, &UnfoldedPage::photographAsked, this, &MainWindow::openPhotograph);
    connect(unfolded_, &UnfoldedPage::wordsChanged, this, [this] {
        if (pages_->currentIndex() != Unfolded) return;
        refreshWords();
        pointer_->setText(unfolded_->pointerWords());
    });
    connect(levelBox_, &QComboBox::activated, this,
            [this] { choice_.setLevel(levelBox_->currentData().toString().toStdString()); });
    connect(adjustButton_, &QPushButton::clicked, &tasks_, &SurveyTasks::adjust);
    connect(photographsPanel_, &PhotographsPanel::addAsked, this,
            [this] { tasks_.addPhotographs(prompts_.photographs()); });
    connect(handover_, &HandoverPanel::writeAsked, this, [this](const handover::Terms& terms) {
        tasks_.handOver(terms, prompts_.placeToHandOver(QStringLiteral("part.dxf")));
    });
}

void MainWindow::showPanel(QWidget* panel) {
    for (int i = 0; i < tabs_->count(); ++i)
        if (tabs_->widget(i)->isAncestorOf(panel)) tabs_->setCurrentIndex(i);
}

void MainWindow::leadTo(std::size_t step) {
    showPage(Large);
    switch (step) {
        case 0:
            return tasks_.addPhotographs(prompts_.photographs());
        case 1:
            showPanel(features_);
            return takeTool(ToolKind::Corner);
        case 2:
            return showPanel(readings_);
        case 3:
            return tasks_.adjust();
        default:
            showPanel(document_.survey().outlines.empty() ? static_cast<QWidget*>(features_) : handover_);
            if (document_.survey().outlines.empty()) takeTool(ToolKind::Outline);
    }
}

void MainWindow::connectTasks() {
    connect(&desk_, &SurveyDesk::wrong, this, &MainWindow::complain);
    connect(&desk_, &SurveyDesk::said, this, &MainWindow::say);
    connect(&desk_, &SurveyDesk::opened, this, [this] {
        notices_->clear();
        offerLeftWork();
        tasks_.checkPhotographs();
        showPage(Large);
    });
    connect(&desk_, &SurveyDesk::photographsChosen, &tasks_, &SurveyTasks::addPhotographs);
    connect(&tasks_, &SurveyTasks::wrong, this, &MainWindow::complain);
    connect(&tasks_, &SurveyTasks::said, this, &MainWindow::say);
    connect(&tasks_, &SurveyTasks::allFitted, this, &MainWindow::listFitted);
    connect(&tasks_, &SurveyTasks::lensFound, this, [this](const LensFound& found) {
        const auto name = QString::fromStdString(survey::describe(document_.survey(), found.group));
        notices_->show(NoticeBar::Weight::Said,
                       tr("Lens of %1: %2.").arg(name, QString::fromStdString(found.match.sentence)),
                       tr("Use"), [this, found] { tasks_.useLens(found); });
    });
    connect(&tasks_, &SurveyTasks::adjusted, this, [this] {
        const auto& suspects = document_.solution()->suspects;
        if (suspects.empty()) return showPanel(ledger_);
        notices_->show(NoticeBar::Weight::Wrong, QString::fromStdString(suspects.front().sentence),
                       tr("Show"), [this, object = suspects.front().object] {
                           showPanel(checks_);
                           showObject(object);
                       });
        showPanel(checks_);
    });
    connect(&tasks_, &SurveyTasks::edgesNeeded, this, [this](const std::string& mark, const QString& why) {
        notices_->show(NoticeBar::Weight::Said,
                       tr("%1 Click a point on each of the corner's two edges instead.").arg(why));
        showObject(mark);
        bench_->askForEdges(mark);
    });
    connect(&tasks_, &SurveyTasks::rivalsFound, this,
            [this](const std::string& mark, const std::vector<fit::Rival>& rivals,
                   const std::vector<Vec2>& along, const SurveyTasks::Chosen& chosen) {
                showObject(mark);
                bench_->askForRival(mark, rivals, chosen);
                QObject::disconnect(rivalAnswer_);
                rivalAnswer_ = connect(bench_, &ToolBench::rivalChosen, this,
                                       [this, along](const std::string& id, const RivalChoice& choice) {
                                           tasks_.fitMark(id, along, choice);
                                       });
            });
    connect(&tasks_, &SurveyTasks::offered, this, &MainWindow::showOffers);
    connect(&tasks_, &SurveyTasks::offerFitted, this,
            [this](const std::string& feature, const survey::Mark& mark) {
                if (auto* offers = bench_->offers()) offers->takeFitted(feature, mark);
            });
    connect(&tasks_, &SurveyTasks::groundRead, this,
            [this](const std::string& station, const std::shared_ptr<const TrailGround>& ground) {
                if (auto* trail = bench_->trail()) trail->setGround(station, ground);
            });
    connect(&tasks_, &SurveyTasks::trailMade, this, [this](const QString& what) {
        if (auto* trail = bench_->trail()) trail->clear();
        say(tr("The trail became %1.").arg(what));
    });
    connect(&tasks_, &SurveyTasks::handedOver, this, [this](const QString& file, const HandedOver& outcome) {
        steps_->handedOver(outcome.revision);
        handover_->showOutcome(file, outcome);
        showPanel(handover_);
        if (outcome.agrees)
            notices_->show(NoticeBar::Weight::Said,
                           tr("Written: %1. Hand-over shows what the file contains.").arg(file));
        else
            notices_->show(
                NoticeBar::Weight::Wrong,
                tr("%1 was written, but the survey disagrees with itself, so it says DO NOT CUT. See Checks.")
                    .arg(file));
    });
    connect(&jobs_, &Jobs::changed, this, &MainWindow::refreshJobs);
    connect(&jobs_, &Jobs::failed, this, &MainWindow::complain);
}

void MainWindow::showOffers(const std::string& station, const std::vector<fit::Offer>& offers) {
    QStringList none;
    int sure = 0, unsure = 0;
    for (const auto& o : offers) {
        sure += o.standing == fit::Standing::Sure;
        unsure += o.standing == fit::Standing::Unsure;
        if (o.standing == fit::Standing::None)
            none << QString::fromStdString(survey::describe(document_.survey(), o.expected.feature));
    }
    const auto* where = survey::find(document_.survey().stations, station);
    QString words = tr("Photograph %1: %2 sure and %3 unsure marks are on offer.")
                        .arg(QString::fromStdString(where ? where->name : station))
                        .arg(sure)
                        .arg(unsure);
    if (offers.empty())
        words = tr("Photograph %1: every feature that ought to be seen in it is marked.")
                    .arg(QString::fromStdString(where ? where->name : station));
    if (none.size() > 4) none = none.mid(0, 3) << tr("%1 more").arg(none.size() - 3);
    if (!none.empty()) words += tr(" Not found: %1.").arg(none.join(QStringLiteral(", ")));
    say(words);
    if (sure + unsure == 0) return;
    choice_.setStation(station);
    showPage(Large);
    bench_->offer(station, offers);
}

void MainWindow::refresh(const DocumentChange& change) {
    choice_.settle(document_.survey());
    if (change.opened) choice_.setFeature({});
    if (change.survey || change.solution) {  // photographs, levels and features with what is chosen, below
        readings_->refresh();
        conditions_->refresh();
        ledger_->refresh();
        checks_->refresh();
        handover_->refresh();
        report_->refresh();
        unfolded_->refresh(change.opened);
        levelBox_->clear();
        for (const auto& level : document_.survey().levels)
            levelBox_->addItem(QString::fromStdString(level.name.empty() ? level.id : level.name),
                               QString::fromStdString(level.id));
        levelBox_->setPlaceholderText(tr("no level yet"));
        refreshChoice();
    }
    setWindowTitle(document_.isOpen() ? document_.displayName() + QStringLiteral("[*]") : tr("No survey[*]"));
    setWindowModified(document_.unsaved());
    if (change.file && !document_.file().empty())
        noteSurvey(QString::fromStdString(std::filesystem::absolute(document_.file()).string()));
    refreshActions();
}

void MainWindow::refreshChoice() {
    photographsPanel_->refresh();
    levels_->refresh();
    features_->refresh();
    checks_->refreshChoice();
    ledger_->refreshChoice();
    levelBox_->setCurrentIndex(levelBox_->findData(QString::fromStdString(choice_.level())));
    const int row = photographsPanel_->model().rowOf(choice_.station());
    if (row >= 0) grid_->setCurrentIndex(photographsPanel_->model().index(row, 0));
    target_->setText(choice_.feature().empty() ? tr("for a new feature")
                                               : tr("for %1").arg(QString::fromStdString(survey::describe(
                                                     document_.survey(), choice_.feature()))));
    unfolded_->refreshChoice();
    refreshPhotograph();
    refreshActions();
}

void MainWindow::refreshPhotograph() {
    const auto* station = survey::find(document_.survey().stations, choice_.station());
    if (!station) {
        canvas_->showWords(document_.isOpen()
                               ? tr("No photographs yet. Add some on the left: of one unit, from the "
                                    "top and the sides, best two oblique ones too.")
                               : tr("No survey is open."));
        return;
    }
    const QString path = QString::fromStdString(document_.photoPath(*station).string());
    if (path != canvas_->path()) store_.retry(path);
    canvas_->showPhotograph(path, {station->photo.width, station->photo.height});
    refreshCorrection();
    canvas_->setScene(MarkScene(document_.survey(), document_.solution().get(), station->id));
    MarkStyle style = canvas_->style();
    style.pickedMark = choice_.mark();
    style.pickedFeature = choice_.feature();
    style.shown = objectsOf(document_.survey(), choice_.entry());
    style.level = choice_.level();
    style.quiet = bench_->offers() || bench_->rivals();
    canvas_->setStyle(style);
}

void MainWindow::refreshCorrection() {
    const auto it = actions_.find(QStringLiteral("corrected"));
    const bool wanted = it != actions_.end() && it->second->isChecked();
    canvas_->setCorrection(
        wanted ? correctedView(document_.survey(), document_.solution().get(), choice_.station()) : nullptr);
}

void MainWindow::refreshWords() {
    const QString words = pages_->currentIndex() == Large ? bench_->words()
                          : pages_->currentIndex() == Grid
                              ? tr("Double-click or Enter: opens the photograph.")
                          : pages_->currentIndex() == Unfolded ? unfolded_->words()
                          : pages_->currentIndex() == Help     ? tr("F1 goes back.")
                          : pages_->currentIndex() == Report   ? tr("F6 goes back to the photograph.")
                          : pages_->currentIndex() == Plan     ? tr("F7 or Escape goes back.")
                          : pages_->currentIndex() == Lens     ? tr("F8 or Escape goes back.")
                                                               : QString();
    refreshOffers();
    words_->setText(words);
    words_->setToolTip(words);
}

void MainWindow::refreshPointer(const QPointF* photo) {
    if (!photo) return pointer_->clear();
    QString text = tr("px %1, %2").arg(photo->x(), 0, 'f', 1).arg(photo->y(), 0, 'f', 1);
    if (document_.solution()) {
        const auto at = pointOnLevel(document_.survey(), *document_.solution(), choice_.station(),
                                     choice_.level(), Vec2(photo->x(), photo->y()));
        if (at)
            text += tr("   at this level x %1, y %2 mm")
                        .arg(QString::fromStdString(drawing::fixed(at->x(), 2)),
                             QString::fromStdString(drawing::fixed(at->y(), 2)));
    }
    pointer_->setText(text);
}

void MainWindow::refreshJobs() {
    const bool running = jobs_.running();
    for (QWidget* widget :
         {static_cast<QWidget*>(jobName_), static_cast<QWidget*>(progress_), static_cast<QWidget*>(stop_)})
        widget->setVisible(running);
    jobName_->setText(jobs_.name());
    const double fraction = jobs_.fraction();
    progress_->setMaximum(fraction > 0 ? 1000 : 0);  // unknown until the first report
    progress_->setValue(static_cast<int>(fraction * 1000));
    unfolded_->setAdjusting(jobs_.running(tr("Adjusting")));
    refreshActions();
}

void MainWindow::showObject(const survey::Id& object) {
    const auto& survey = document_.survey();
    const auto* mark = survey::find(survey.marks, object);
    if (entryKind(survey, object)) {
        showPanel(ledger_);
        choice_.setEntry(object);
        mark = markToShow(survey, object, choice_.station());
    }
    if (!mark || mark->points.empty()) return;
    const survey::Mark found = *mark;
    choice_.setStation(found.station);
    if (found.id == object) choice_.setFeature(found.feature);
    choice_.setMark(found.id == object ? found.id : survey::Id());
    showPage(Large);
    canvas_->lookAt(QPointF(found.points.front().px.x(), found.points.front().px.y()));
}

void MainWindow::openPhotograph(const survey::Id& station, const survey::Id& mark, const QPointF& px) {
    choice_.setStation(station);
    choice_.setMark(mark);
    showPage(Large);
    if (px.x() >= 0.0 && px.y() >= 0.0) canvas_->lookAt(px);
}

void MainWindow::showPage(Page page) {
    if ((page == Large || page == Unfolded) && !document_.isOpen()) page = Start;
    const auto now = static_cast<Page>(pages_->currentIndex());
    const auto aside = [](Page p) { return p == Help || p == Report || p == Plan || p == Lens; };
    if (aside(page) && !aside(now)) pageBefore_ = now;
    pages_->setCurrentIndex(page);
    const bool working = document_.isOpen();
    const bool ownForms = page == Plan || page == Lens;
    // whose lines want the room
    left_->setVisible(working && page != Report && page != Unfolded && !ownForms);
    tabs_->setVisible(working && !ownForms);
    if (auto* strip = findChild<QToolBar*>(QStringLiteral("tools"))) strip->setVisible(working);
    markBar_->setVisible(page == Large);
    if (page == Large) canvas_->setFocus();
    if (page == Grid) grid_->setFocus();
    if (page == Report) report_->setFocus();
    if (page == Plan) plan_->setFocus();
    if (page == Lens) lens_->setFocus();
    if (page == Unfolded) unfolded_->canvas().setFocus();
    if (page != Large) pointer_->clear();
    refreshWords();
    refreshActions();
}

void MainWindow::stepStation(int by) {
    auto& model = photographsPanel_->model();
    const int count = model.rowCount();
    if (count == 0) return;
    const int row = model.rowOf(choice_.station());
    choice_.setStation(model.idAt((row + by + count) % count));
}

void MainWindow::closeEvent(QCloseEvent* event) {
    if (!desk_.mayLeave()) return event->ignore();
    jobs_.stop();
    event->accept();
}

void MainWindow::changeEvent(QEvent* event) {
    if (event->type() == QEvent::PaletteChange) update();  // icons follow the palette when painted
    // The user may have been away to put a missing photograph back.
    if (event->type() == QEvent::ActivationChange && isActiveWindow()) {
        store_.retryAll();
        unfolded_->canvas().retry();
    }
    QMainWindow::changeEvent(event);
}

}  // namespace trammel::ui
