// SPDX-License-Identifier: GPL-3.0-or-later
// Where the parts of the window stand.
#include <QCheckBox>
#include <QComboBox>
#include <QHBoxLayout>
#include <QLabel>
#include <QListView>
#include <QProgressBar>
#include <QPushButton>
#include <QScrollArea>
#include <QSplitter>
#include <QStackedWidget>
#include <QStatusBar>
#include <QTabBar>
#include <QTabWidget>
#include <algorithm>

#include "ui/MainWindow.h"
#include "ui/panels/HelpPage.h"
#include "ui/panels/Icons.h"
#include "ui/panels/OfferBar.h"
#include "ui/panels/ReferenceBar.h"
#include "ui/panels/StartPage.h"

namespace trammel::ui {

QWidget* MainWindow::makeMarkBar() {
    auto* bar = new QWidget(this);
    auto* line = new QHBoxLayout(bar);
    line->setContentsMargins(6, 4, 6, 4);
    levelBox_ = new QComboBox(bar);
    levelBox_->setObjectName(QStringLiteral("level"));
    levelBox_->setMinimumContentsLength(12);
    levelBox_->setToolTip(tr("New features lie in this level"));
    auto* label = new QLabel(tr("Level"), bar);
    label->setBuddy(levelBox_);
    target_ = new QLabel(bar);
    target_->setObjectName(QStringLiteral("target"));
    target_->setSizePolicy(QSizePolicy::Ignored, QSizePolicy::Preferred);  // a long name widens no window,
    target_->setMinimumWidth(100);  // and a small one shows its beginning
    target_->setToolTip(
        tr("What the next mark belongs to: choose a feature in the list, or N for a new one"));
    fitAfter_ = new QCheckBox(tr("fit each mark"), bar);
    fitAfter_->setObjectName(QStringLiteral("fitAfter"));
    fitAfter_->setToolTip(tr("Move each new mark to the edge in the picture as soon as it is made"));
    adjustButton_ = new QPushButton(icon(QStringLiteral("adjust")), tr("Adjust"), bar);
    adjustButton_->setObjectName(QStringLiteral("adjust"));
    line->addWidget(label);
    line->addWidget(levelBox_);
    line->addSpacing(8);
    line->addWidget(target_, 1);
    line->addWidget(fitAfter_);
    line->addWidget(adjustButton_);
    return bar;
}

QWidget* MainWindow::makeCentre() {
    auto* centre = new QWidget(this);
    auto* column = new QVBoxLayout(centre);
    column->setContentsMargins(0, 0, 0, 0);
    column->setSpacing(0);
    pages_ = new QStackedWidget(centre);
    pages_->setMinimumWidth(320);  // the widest page, which stands alone, must not push the panels out
    auto* start = new StartPage(pages_);
    grid_ = new QListView(pages_);
    grid_->setObjectName(QStringLiteral("grid"));
    grid_->setModel(&photographsPanel_->model());
    grid_->setViewMode(QListView::IconMode);
    grid_->setIconSize({232, 155});
    grid_->setResizeMode(QListView::Adjust);
    grid_->setMovement(QListView::Static);
    grid_->setSpacing(8);
    grid_->setUniformItemSizes(true);
    grid_->setWordWrap(true);
    grid_->setEditTriggers(QAbstractItemView::NoEditTriggers);
    for (QWidget* page :
         {static_cast<QWidget*>(start), static_cast<QWidget*>(canvas_), static_cast<QWidget*>(grid_),
          static_cast<QWidget*>(new HelpPage(pages_)), static_cast<QWidget*>(report_),
          static_cast<QWidget*>(plan_), static_cast<QWidget*>(lens_), static_cast<QWidget*>(unfolded_)})
        pages_->addWidget(page);
    markBar_ = makeMarkBar();
    column->addWidget(notices_);
    column->addWidget(steps_);
    column->addWidget(markBar_);
    column->addWidget(new ReferenceBar(context(), *bench_, centre));
    column->addWidget(new OfferBar(*bench_, centre));
    column->addWidget(pages_, 1);
    connect(start, &StartPage::sampleAsked, &desk_, &SurveyDesk::openSample);
    connect(start, &StartPage::photographsAsked, &desk_, &SurveyDesk::startFromPhotographs);
    connect(start, &StartPage::surveyAsked, &desk_, &SurveyDesk::open);
    connect(start, &StartPage::fileAsked, &desk_, &SurveyDesk::openFile);
    connect(start, &StartPage::planAsked, this, [this] { showPage(Plan); });
    connect(grid_, &QListView::activated, this, [this](const QModelIndex& index) {
        choice_.setStation(photographsPanel_->model().idAt(index.row()));
        showPage(Large);
    });
    connect(grid_, &QListView::clicked, this, [this](const QModelIndex& index) {
        choice_.setStation(photographsPanel_->model().idAt(index.row()));
    });
    return centre;
}

void MainWindow::makePanels() {
    notices_ = new NoticeBar(this);
    canvas_ = new PhotoCanvas(store_, this);
    bench_ = new ToolBench(document_, choice_, *canvas_, this);
    photographsPanel_ = new PhotographsPanel(context(), store_, this);
    levels_ = new LevelsPanel(context(), this);
    features_ = new FeaturesPanel(context(), this);
    readings_ = new ReadingsPanel(context(), this);
    conditions_ = new ConditionsPanel(context(), this);
    ledger_ = new LedgerPanel(context(), this);
    checks_ = new ChecksPanel(context(), this);
    handover_ = new HandoverPanel(context(), this);
    report_ = new ReportPage(document_, this);
    plan_ = new PlanPage(jobs_, prompts_, this);
    steps_ = new StepsBar(document_, this);
    lens_ = new LensPage(jobs_, prompts_, this);
    unfolded_ = new UnfoldedPage(document_, choice_, this);

    left_ = new QWidget(this);
    auto* leftColumn = new QVBoxLayout(left_);
    leftColumn->setContentsMargins(6, 6, 4, 6);
    leftColumn->addWidget(photographsPanel_, 3);
    leftColumn->addWidget(levels_, 2);
    left_->setMinimumWidth(190);

    tabs_ = new QTabWidget(this);
    tabs_->setObjectName(QStringLiteral("panels"));
    tabs_->setDocumentMode(true);
    // A small screen cuts a panel off at its edge rather than pushing it over the window's: it scrolls.
    const auto panel = [this](QWidget* content, const QString& name) {
        auto* area = new QScrollArea(tabs_);
        area->setWidgetResizable(true);
        area->setFrameShape(QFrame::NoFrame);
        area->setWidget(content);
        tabs_->addTab(area, name);
    };
    panel(features_, tr("Features"));
    panel(readings_, tr("Readings"));
    panel(conditions_, tr("Conditions"));
    panel(ledger_, tr("Ledger"));
    panel(checks_, tr("Checks"));
    panel(handover_, tr("Hand-over"));
    tabs_->setMinimumWidth(300);

    auto* splitter = new QSplitter(Qt::Horizontal, this);
    splitter->addWidget(left_);
    splitter->addWidget(makeCentre());
    splitter->addWidget(tabs_);
    splitter->setStretchFactor(0, 0);
    splitter->setStretchFactor(1, 1);
    splitter->setStretchFactor(2, 0);
    splitter->setChildrenCollapsible(false);
    splitter->setSizes({190, 515, 495});
    setCentralWidget(splitter);
}

void MainWindow::makeStatusBar() {
    words_ = new QLabel(this);
    words_->setObjectName(QStringLiteral("words"));
    words_->setTextFormat(Qt::PlainText);
    words_->setMinimumWidth(100);
    words_->setSizePolicy(QSizePolicy::Ignored, QSizePolicy::Preferred);
    pointer_ = new QLabel(this);
    pointer_->setObjectName(QStringLiteral("pointer"));
    jobName_ = new QLabel(this);
    progress_ = new QProgressBar(this);
    progress_->setObjectName(QStringLiteral("progress"));
    progress_->setMaximumWidth(120);
    progress_->setRange(0, 1000);
    stop_ = new QPushButton(tr("Stop"), this);
    stop_->setObjectName(QStringLiteral("stop"));
    stop_->setToolTip(tr("Stop the work that is running; nothing is lost"));
    statusBar()->addWidget(words_, 1);
    statusBar()->addPermanentWidget(pointer_);
    statusBar()->addPermanentWidget(jobName_);
    statusBar()->addPermanentWidget(progress_);
    statusBar()->addPermanentWidget(stop_);
    connect(stop_, &QPushButton::clicked, this, [this] { jobs_.stop(); });
}

}  // namespace trammel::ui
