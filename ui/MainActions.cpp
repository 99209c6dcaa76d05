// SPDX-License-Identifier: GPL-3.0-or-later
// Menus, the tool strip, and what they do.
#include <QAction>
#include <QActionGroup>
#include <QMenu>
#include <QMenuBar>
#include <QPushButton>
#include <QStackedWidget>
#include <QToolBar>

#include "ui/MainWindow.h"
#include "ui/canvas/CorrectedView.h"
#include "ui/panels/Icons.h"
#include "ui/settings/Appearance.h"
#include "ui/tools/MarkEdits.h"

namespace trammel::ui {

QAction* MainWindow::act(QMenu* menu, const QString& text, const QString& iconName, const QKeySequence& keys,
                         const QString& tip, std::function<void()> does) {
    auto* action = menu->addAction(iconName.isEmpty() ? QIcon() : icon(iconName), text);
    action->setShortcut(keys);
    action->setProperty("tip", tip);
    action->setToolTip(keys.isEmpty() ? tip
                                      : tr("%1 (%2)").arg(tip, keys.toString(QKeySequence::NativeText)));
    connect(action, &QAction::triggered, this, [does = std::move(does)] { does(); });
    return action;
}

void MainWindow::makeActions() {
    makeSurveyMenu();
    makeEditMenu();
    makeMarkMenu();
    makeAdjustMenu();
    makeViewMenu();
    auto* help = menuBar()->addMenu(tr("&Help"));
    act(help, tr("Help, keys and cautions"), QStringLiteral("help"), QKeySequence(Qt::Key_F1),
        tr("How the job goes, the keys, the words, the cautions"), [this] {
            const bool shown = pages_->currentIndex() == Help;
            showPage(shown ? pageBefore_ : Help);
        });
    auto* steps = act(help, tr("First steps"), {}, {}, tr("Leads through a first survey in five steps"),
                      [this] { steps_->setWanted(!steps_->isWanted()); });
    steps->setCheckable(true);
    steps->setChecked(steps_->isWanted());
    connect(steps_, &StepsBar::wantedChanged, steps, &QAction::setChecked);
    for (auto* menu : menuBar()->findChildren<QMenu*>()) menu->setToolTipsVisible(true);
}

void MainWindow::makeSurveyMenu() {
    auto* menu = menuBar()->addMenu(tr("&Survey"));
    act(menu, tr("New from photographs…"), QStringLiteral("photographs"), QKeySequence::New,
        tr("Start a survey from photographs of one unit"), [this] { desk_.startFromPhotographs(); });
    act(menu, tr("Open…"), QStringLiteral("open"), QKeySequence::Open, tr("Open a survey"),
        [this] { desk_.open(); });
    makeLatelyMenu(menu->addMenu(tr("Opened lately")));
    act(menu, tr("Open the sample"), QStringLiteral("sample"), {}, tr("Open the invented stepped board"),
        [this] { desk_.openSample(); });
    menu->addSeparator();
    act(menu, tr("Plan the photographs"), QStringLiteral("plan"), QKeySequence(Qt::Key_F7),
        tr("Where to stand, which lens and views, and the ± that will come of it"),
        [this] { showPage(pages_->currentIndex() == Plan ? pageBefore_ : Plan); });
    act(menu, tr("Calibrate a lens"), QStringLiteral("lens"), QKeySequence(Qt::Key_F8),
        tr("From photographs of a board of squares; kept lenses"),
        [this] { showPage(pages_->currentIndex() == Lens ? pageBefore_ : Lens); });
    menu->addSeparator();
    actions_[QStringLiteral("add")] =
        act(menu, tr("Add photographs…"), {}, {}, tr("Add photographs to this survey"),
            [this] { tasks_.addPhotographs(prompts_.photographs()); });
    menu->addSeparator();
    actions_[QStringLiteral("save")] = act(menu, tr("Save"), QStringLiteral("save"), QKeySequence::Save,
                                           tr("Save the survey"), [this] { desk_.save(); });
    actions_[QStringLiteral("saveAs")] =
        act(menu, tr("Save as…"), {}, QKeySequence(Qt::CTRL | Qt::SHIFT | Qt::Key_S),
            tr("Save under another name"), [this] { desk_.saveAs(); });
    menu->addSeparator();
    act(menu, tr("Quit"), {}, QKeySequence::Quit, tr("Close the window"), [this] { close(); });
}

void MainWindow::makeEditMenu() {
    auto* menu = menuBar()->addMenu(tr("&Edit"));
    auto* undo = document_.undoStack().createUndoAction(this, tr("Undo"));
    undo->setIcon(icon(QStringLiteral("undo")));
    undo->setShortcut(QKeySequence::Undo);
    auto* redo = document_.undoStack().createRedoAction(this, tr("Redo"));
    redo->setIcon(icon(QStringLiteral("redo")));
    redo->setShortcut(QKeySequence::Redo);
    menu->addAction(undo);
    menu->addAction(redo);
    menu->addSeparator();
    actions_[QStringLiteral("remove")] = act(
        menu, tr("Remove the picked mark"), {}, {}, tr("Remove the picked mark (Delete on the photograph)"),
        [this] { context().perform(removeEdit(document_.survey(), choice_.mark())); });
    actions_[QStringLiteral("exclude")] =
        act(menu, tr("Leave out or take in the picked mark"), {}, QKeySequence(Qt::Key_X),
            tr("Keep the mark, but let the adjustment do without it, or use it again"), [this] {
                const bool out = isExcluded(document_.survey(), choice_.mark());
                context().perform(excludeEdit(document_.survey(), choice_.mark(), !out));
            });
}

void MainWindow::makeMarkMenu() {
    auto* menu = menuBar()->addMenu(tr("&Mark"));
    auto* strip = new QToolBar(tr("Tools"), this);
    strip->setObjectName(QStringLiteral("tools"));
    strip->setMovable(false);
    strip->setToolButtonStyle(Qt::ToolButtonTextUnderIcon);
    strip->setIconSize({24, 24});
    addToolBar(Qt::LeftToolBarArea, strip);
    auto* group = new QActionGroup(this);
    const auto tool = [&](ToolKind kind, const QString& text, const QString& iconName, Qt::Key key,
                          const QString& tip) {
        auto* action = act(menu, text, iconName, QKeySequence(key), tip, [this, kind] { takeTool(kind); });
        action->setCheckable(true);
        group->addAction(action);
        strip->addAction(action);
        toolActions_[kind] = action;
    };
    tool(ToolKind::Select, tr("Pick"), QStringLiteral("pick"), Qt::Key_P, tr("Pick, move and remove marks"));
    tool(ToolKind::Corner, tr("Corner"), QStringLiteral("corner"), Qt::Key_C, tr("Mark a corner: one click"));
    tool(ToolKind::Edge, tr("Edge"), QStringLiteral("edge"), Qt::Key_E,
         tr("Mark a straight edge: two clicks or more along it"));
    tool(ToolKind::Hole, tr("Hole"), QStringLiteral("hole"), Qt::Key_H,
         tr("Mark a hole: three clicks or more on its rim"));
    tool(ToolKind::Arc, tr("Arc"), QStringLiteral("arc"), Qt::Key_A,
         tr("Mark an arc or fillet: three clicks or more along it, in order"));
    tool(ToolKind::Slot, tr("Slot"), QStringLiteral("slot"), Qt::Key_S,
         tr("Mark a slot: five clicks or more on its rim, on both sides and both ends"));
    tool(ToolKind::Curve, tr("Curve"), QStringLiteral("curve"), Qt::Key_U,
         tr("Mark a free curve: four clicks or more along it, in order; a closed one ends where it began"));
    tool(ToolKind::Trail, tr("Trail"), QStringLiteral("trail"), Qt::Key_T,
         tr("Follow an irregular edge: a few clicks along it become its edges and arcs"));
    tool(ToolKind::Reference, tr("Reference"), QStringLiteral("reference"), Qt::Key_R,
         tr("Mark a known length: two clicks, then its value"));
    tool(ToolKind::Outline, tr("Outline"), QStringLiteral("outline"), Qt::Key_O,
         tr("Choose features in order to make an outline"));
    connect(bench_, &ToolBench::taken, this, [this](ToolKind kind) {
        const auto it = toolActions_.find(kind);
        if (it != toolActions_.end()) it->second->setChecked(true);
        refreshPhotograph();  // drawn more quietly while something is asked
        refreshWords();
    });
    toolActions_[ToolKind::Select]->setChecked(true);
    strip->addSeparator();
    menu->addSeparator();
    actions_[QStringLiteral("fit")] =
        act(menu, tr("Fit"), QStringLiteral("fit"), QKeySequence(Qt::Key_F),
            tr("Fit the picked mark to the edge in the picture"), [this] { fitPicked(); });
    strip->addAction(actions_[QStringLiteral("fit")]);
    actions_[QStringLiteral("fitAll")] =
        act(menu, tr("Fit all hand marks"), {}, QKeySequence(Qt::SHIFT | Qt::Key_F),
            tr("Fit every mark that was placed by hand to its photograph"), [this] { tasks_.fitAll(); });
    actions_[QStringLiteral("offer")] =
        act(menu, tr("Offer marks"), {}, QKeySequence(Qt::Key_M),
            tr("Look in this photograph for the known features that are not marked in it yet"),
            [this] { tasks_.offerMarks(choice_.station()); });
    actions_[QStringLiteral("takeSure")] =
        act(menu, tr("Take all sure offers"), {}, QKeySequence(Qt::SHIFT | Qt::Key_Return),
            tr("Take every offered mark that is sure into the survey, as one act"), [this] {
                if (auto* offers = bench_->offers()) offers->takeSure();
            });
    actions_[QStringLiteral("new")] = act(menu, tr("New feature next"), {}, QKeySequence(Qt::Key_N),
                                          tr("Let go of the chosen feature: the next mark makes a new one"),
                                          [this] { choice_.setFeature({}); });
}

void MainWindow::makeAdjustMenu() {
    auto* menu = menuBar()->addMenu(tr("&Adjust"));
    actions_[QStringLiteral("adjust")] =
        act(menu, tr("Adjust"), QStringLiteral("adjust"), QKeySequence(Qt::Key_F5),
            tr("Bring all marks, readings and reference lengths to agree"), [this] { tasks_.adjust(); });
    actions_[QStringLiteral("report")] =
        act(menu, tr("Report"), QStringLiteral("report"), QKeySequence(Qt::Key_F6),
            tr("What the last adjustment found, or the photograph again"),
            [this] { showPage(pages_->currentIndex() == Report ? pageBefore_ : Report); });
}

void MainWindow::makeViewMenu() {
    auto* menu = menuBar()->addMenu(tr("&View"));
    actions_[QStringLiteral("unfolded")] =
        act(menu, tr("Unfolded part"), QStringLiteral("unfolded"), QKeySequence(Qt::Key_F4),
            tr("All views on one sheet, in one scale, or the photograph again"),
            [this] { showPage(pages_->currentIndex() == Unfolded ? Large : Unfolded); });
    actions_[QStringLiteral("grid")] =
        act(menu, tr("All photographs"), QStringLiteral("grid"), QKeySequence(Qt::Key_G),
            tr("All photographs at once, or the large one again"),
            [this] { showPage(pages_->currentIndex() == Grid ? Large : Grid); });
    actions_[QStringLiteral("next")] = act(menu, tr("Next photograph"), {}, QKeySequence(Qt::Key_PageDown),
                                           tr("Next photograph"), [this] { stepStation(1); });
    actions_[QStringLiteral("previous")] =
        act(menu, tr("Previous photograph"), {}, QKeySequence(Qt::Key_PageUp), tr("Previous photograph"),
            [this] { stepStation(-1); });
    menu->addSeparator();
    act(menu, tr("Zoom in"), {}, QKeySequence(Qt::CTRL | Qt::Key_Plus), tr("Zoom in (+ on the photograph)"),
        [this] {
            pages_->currentIndex() == Unfolded ? unfolded_->canvas().zoom(1.25) : canvas_->zoom(1.25);
        });
    act(menu, tr("Zoom out"), {}, QKeySequence(Qt::CTRL | Qt::Key_Minus),
        tr("Zoom out (− on the photograph)"),
        [this] { pages_->currentIndex() == Unfolded ? unfolded_->canvas().zoom(0.8) : canvas_->zoom(0.8); });
    act(menu, tr("Whole photograph or sheet"), {}, QKeySequence(Qt::CTRL | Qt::Key_0),
        tr("Whole photograph or sheet (0 on it)"),
        [this] { pages_->currentIndex() == Unfolded ? unfolded_->canvas().fitView() : canvas_->fitView(); });
    auto* corrected = act(menu, tr("Corrected view"), {}, QKeySequence(Qt::Key_V),
                          tr("The photograph as its lens without distortion would have shown it"),
                          [this] { refreshCorrection(); });
    corrected->setCheckable(true);
    actions_[QStringLiteral("corrected")] = corrected;
    menu->addSeparator();
    const auto toggle = [&](const QString& text, const QString& tip, bool MarkStyle::*field) {
        auto* action = menu->addAction(text);
        action->setCheckable(true);
        action->setChecked(canvas_->style().*field);
        action->setToolTip(tip);
        connect(action, &QAction::toggled, this, [this, field](bool on) {
            MarkStyle style = canvas_->style();
            style.*field = on;
            canvas_->setStyle(style);
        });
    };
    toggle(tr("Names"), tr("Show the names of features in the photograph"), &MarkStyle::showNames);
    toggle(tr("Adjusted features"), tr("Draw where the adjustment puts each feature"),
           &MarkStyle::showAdjusted);
    toggle(tr("Residuals"), tr("Draw residuals, enlarged"), &MarkStyle::showResiduals);
    auto* strip = findChild<QToolBar*>(QStringLiteral("tools"));
    strip->addSeparator();
    actions_[QStringLiteral("unfolded")]->setIconText(tr("Unfolded"));
    strip->addAction(actions_[QStringLiteral("unfolded")]);
    actions_[QStringLiteral("grid")]->setIconText(tr("All"));
    strip->addAction(actions_[QStringLiteral("grid")]);
    strip->addAction(actions_[QStringLiteral("report")]);
    menu->addSeparator();
    auto* dark = menu->addAction(tr("Dark colours"));
    dark->setCheckable(true);
    dark->setObjectName(QStringLiteral("dark"));
    dark->setChecked(isDark());
    dark->setToolTip(tr("Light letters on a dark ground, whatever the desktop uses"));
    connect(dark, &QAction::toggled, this, [](bool on) { setDark(on); });
}

void MainWindow::refreshActions() {
    if (actions_.empty()) return;
    const auto& survey = document_.survey();
    const bool open = document_.isOpen(), mark = !choice_.mark().empty();
    const auto usable = [&](const char* name, bool can, const QString& whyNot) {
        auto* action = actions_[QString::fromLatin1(name)];
        action->setEnabled(can);
        const QString tip = action->property("tip").toString();
        const QString keys = action->shortcut().toString(QKeySequence::NativeText);
        action->setToolTip(!can ? whyNot : keys.isEmpty() ? tip : tr("%1 (%2)").arg(tip, keys));
    };
    const QString openFirst = tr("Open or start a survey first.");
    const QString pickFirst = tr("Pick a mark in the photograph first.");
    const bool photographs = !survey.stations.empty();
    const QString addFirst = open ? tr("Add photographs first.") : openFirst;
    for (const char* name : {"add", "save", "saveAs", "report", "unfolded"}) usable(name, open, openFirst);
    for (const char* name : {"grid", "next", "previous"}) usable(name, photographs, addFirst);
    for (const char* name : {"remove", "exclude"}) usable(name, mark, pickFirst);
    usable("fit", mark, pickFirst);
    const bool fitting = jobs_.running(tr("Fitting all hand marks"));
    usable("fitAll", !survey.marks.empty() && !fitting,
           fitting ? tr("It is running; Stop is at the bottom right.")
                   : tr("Mark features in photographs first."));
    const bool looking = jobs_.running(tr("Looking for marks to offer"));
    usable("offer", photographs && !looking,
           looking ? tr("It is running; Stop is at the bottom right.") : addFirst);
    refreshOffers();
    QString whyNot;
    const bool correctable = photographs && correctedView(survey, document_.solution().get(),
                                                          choice_.station(), &whyNot) != nullptr;
    usable("corrected", correctable, photographs ? whyNot : addFirst);
    usable("new", !choice_.feature().empty(), tr("The next mark makes a new feature already."));
    const bool running = jobs_.running(tr("Adjusting"));
    const bool ready = !survey.marks.empty() && !running;
    usable("adjust", ready,
           running ? tr("It is running; Stop is at the bottom right.")
                   : tr("Mark features in photographs first."));
    setUsable(adjustButton_, ready, actions_[QStringLiteral("adjust")]->toolTip(),
              actions_[QStringLiteral("adjust")]->toolTip());
    const bool large = open && photographs && pages_->currentIndex() == Large;
    for (auto& [kind, action] : toolActions_) {
        action->setEnabled(large);
        const QString tip = action->property("tip").toString();
        action->setToolTip(large ? tr("%1 (%2)").arg(tip, action->shortcut().toString()) : addFirst);
        if (!large && photographs) action->setToolTip(tr("Open a photograph first (G)."));
    }
}

void MainWindow::refreshOffers() {
    if (actions_.empty()) return;
    auto* all = actions_[QStringLiteral("takeSure")];
    const bool can = bench_->offers() && bench_->offers()->sureLeft() > 0;
    all->setEnabled(can);
    all->setToolTip(can ? all->property("tip").toString()
                        : tr("No sure mark is on offer; Offer marks (M) looks for some."));
}

void MainWindow::takeTool(ToolKind kind) {
    showPage(Large);
    bench_->take(kind);
    const auto it = toolActions_.find(kind);
    if (it != toolActions_.end()) it->second->setChecked(true);
}

void MainWindow::markFeature(const survey::Id& id) {
    const auto* feature = survey::find(document_.survey().features, id);
    if (!feature) return;
    takeTool(ToolBench::toolFor(feature->kind));
    choice_.setFeature(id);
}

void MainWindow::fitPicked() {
    if (!choice_.mark().empty()) tasks_.fitMark(choice_.mark());
}

}  // namespace trammel::ui
