// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QMainWindow>
#include <map>
#include <memory>

#include "ui/canvas/PhotoCanvas.h"
#include "ui/canvas/UnfoldedPage.h"
#include "ui/document/Choice.h"
#include "ui/document/Document.h"
#include "ui/panels/ChecksPanel.h"
#include "ui/panels/ConditionsPanel.h"
#include "ui/panels/FeaturesPanel.h"
#include "ui/panels/HandoverPanel.h"
#include "ui/panels/LedgerPanel.h"
#include "ui/panels/LensPage.h"
#include "ui/panels/LevelsPanel.h"
#include "ui/panels/NoticeBar.h"
#include "ui/panels/PhotographsPanel.h"
#include "ui/panels/PlanPage.h"
#include "ui/panels/ReadingsPanel.h"
#include "ui/panels/ReportPage.h"
#include "ui/panels/StepsBar.h"
#include "ui/tasks/DraftKeeper.h"
#include "ui/tasks/SurveyDesk.h"
#include "ui/tasks/SurveyTasks.h"
#include "ui/tools/ToolBench.h"

class QCheckBox;
class QComboBox;
class QListView;
class QMenu;
class QProgressBar;
class QStackedWidget;
class QTabWidget;

namespace trammel::ui {

/// Wires document, canvas, tools, panels and tasks together; holds no logic of its own.
class MainWindow : public QMainWindow {
    Q_OBJECT
  public:
    /// Unsaved work is kept aside in `draftFolder`; nowhere when it is empty.
    explicit MainWindow(Prompts& prompts, const QString& draftFolder = {}, QWidget* parent = nullptr);
    ~MainWindow() override;

    Document& document() { return document_; }
    Choice& choice() { return choice_; }
    PhotoStore& photographs() { return store_; }
    Jobs& jobs() { return jobs_; }
    SurveyDesk& desk() { return desk_; }
    ToolBench& bench() { return *bench_; }
    PhotoCanvas& canvas() { return *canvas_; }
    UnfoldedPage& unfolded() { return *unfolded_; }
    NoticeBar& notices() { return *notices_; }
    DraftKeeper* drafts() { return drafts_.get(); }
    /// Offers what programs that ended in disorder left behind.
    void offerLeftWork();

  protected:
    void closeEvent(QCloseEvent* event) override;
    void changeEvent(QEvent* event) override;
    void dragEnterEvent(QDragEnterEvent* event) override;
    void dropEvent(QDropEvent* event) override;

  private:
    enum Page { Start, Large, Grid, Help, Report, Plan, Lens, Unfolded };

    // MainWindow.cpp: parts and their connections
    void makePanels();
    void connectParts();
    void connectTasks();
    void refresh(const DocumentChange& change);
    void refreshChoice();
    void refreshPhotograph();
    void refreshCorrection();
    void refreshWords();
    void refreshPointer(const QPointF* photo);
    void refreshJobs();
    void showObject(const survey::Id& object);
    void leadTo(std::size_t step);
    void showPanel(QWidget* panel);
    void openPhotograph(const survey::Id& station, const survey::Id& mark, const QPointF& px);
    void showOffers(const std::string& station, const std::vector<fit::Offer>& offers);
    void showPage(Page page);
    void complain(const Error& error);
    void say(const QString& sentence);
    void stepStation(int by);
    PanelContext context();

    // MainActions.cpp: menus, the tool strip and what they do
    void makeActions();
    void makeSurveyMenu();
    void makeEditMenu();
    void makeMarkMenu();
    void makeViewMenu();
    void makeAdjustMenu();
    void refreshActions();
    void refreshOffers();
    QAction* act(QMenu* menu, const QString& text, const QString& iconName, const QKeySequence& keys,
                 const QString& tip, std::function<void()> does);
    void takeTool(ToolKind kind);
    void markFeature(const survey::Id& feature);
    void fitPicked();

    // MainHabits.cpp: surveys opened lately, files dropped, what a fit of all marks left
    void makeLatelyMenu(QMenu* menu);
    void listFitted(const AllFitted& outcome);
    void takeDropped(const QStringList& files);

    // MainLayout.cpp: where the parts stand
    QWidget* makeCentre();
    QWidget* makeMarkBar();
    void makeStatusBar();

    Prompts& prompts_;
    Document document_;
    Choice choice_;
    PhotoStore store_;
    Jobs jobs_;
    SurveyDesk desk_;
    SurveyTasks tasks_;
    std::unique_ptr<DraftKeeper> drafts_;

    NoticeBar* notices_ = nullptr;
    PhotoCanvas* canvas_ = nullptr;
    ToolBench* bench_ = nullptr;
    QStackedWidget* pages_ = nullptr;
    QListView* grid_ = nullptr;
    QTabWidget* tabs_ = nullptr;
    QWidget *left_ = nullptr, *markBar_ = nullptr;
    PhotographsPanel* photographsPanel_ = nullptr;
    LevelsPanel* levels_ = nullptr;
    FeaturesPanel* features_ = nullptr;
    ReadingsPanel* readings_ = nullptr;
    ConditionsPanel* conditions_ = nullptr;
    LedgerPanel* ledger_ = nullptr;
    ChecksPanel* checks_ = nullptr;
    HandoverPanel* handover_ = nullptr;
    ReportPage* report_ = nullptr;
    PlanPage* plan_ = nullptr;
    StepsBar* steps_ = nullptr;
    LensPage* lens_ = nullptr;
    UnfoldedPage* unfolded_ = nullptr;
    QComboBox* levelBox_ = nullptr;
    QLabel *target_ = nullptr, *words_ = nullptr, *pointer_ = nullptr, *jobName_ = nullptr;
    QCheckBox* fitAfter_ = nullptr;
    QProgressBar* progress_ = nullptr;
    QPushButton *stop_ = nullptr, *adjustButton_ = nullptr;
    std::map<ToolKind, QAction*> toolActions_;
    std::map<QString, QAction*> actions_;
    QMetaObject::Connection rivalAnswer_;  ///< what a chosen rival is fitted with
    Page pageBefore_ = Start;              ///< where pages aside go back to
};

}  // namespace trammel::ui
