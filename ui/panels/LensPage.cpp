// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/LensPage.h"

#include <QFileInfo>
#include <QFontDatabase>
#include <QHBoxLayout>
#include <QKeyEvent>
#include <QLabel>
#include <QListWidget>
#include <QPainter>
#include <QPlainTextEdit>
#include <QPointer>
#include <QPushButton>
#include <QTabWidget>
#include <QVBoxLayout>

#include "core/calibrate/CalibrationPage.h"
#include "core/calibrate/CalibrationText.h"
#include "core/storage/PageFile.h"
#include "ui/panels/BoardForm.h"
#include "ui/panels/KeptLenses.h"
#include "ui/panels/LensNames.h"
#include "ui/panels/Panel.h"
#include "ui/panels/SheetView.h"
#include "ui/tasks/Unwanted.h"

namespace trammel::ui {
namespace {

/// Says what belongs here while nothing does.
class BoardList : public QListWidget {
  public:
    using QListWidget::QListWidget;

  protected:
    void paintEvent(QPaintEvent* event) override {
        QListWidget::paintEvent(event);
        if (count() > 0) return;
        QPainter painter(viewport());
        painter.setPen(palette().color(QPalette::Disabled, QPalette::Text));
        painter.drawText(
            viewport()->rect().adjusted(12, 8, -12, -8), Qt::AlignCenter | Qt::TextWordWrap,
            LensPage::tr("No photographs yet. Take eight or more of the board: tilted both ways, "
                         "turned, and into every corner of the frame."));
    }
};

constexpr int kPath = Qt::UserRole;

QString outcomeText(const calibrate::PhotographResult& p) {
    if (!p.used) return LensPage::tr("not used: %1").arg(QString::fromStdString(p.why));
    const auto count = static_cast<int>(p.corners.size());
    return p.dropped > 0 ? LensPage::tr("%1 px RMS, %2 corners, %3 left out")
                               .arg(p.rms_px, 0, 'f', 3)
                               .arg(count - p.dropped)
                               .arg(p.dropped)
                         : LensPage::tr("%1 px RMS, %2 corners").arg(p.rms_px, 0, 'f', 3).arg(count);
}

}  // namespace

LensPage::LensPage(Jobs& jobs, Prompts& prompts, QWidget* parent)
    : QWidget(parent), jobs_(jobs), prompts_(prompts) {
    setObjectName(QStringLiteral("lens"));
    auto* both = new QHBoxLayout(this);
    both->addWidget(makeLeft(), 4);
    both->addWidget(makeRight(), 7);
    connect(board_, &BoardForm::edited, this, &LensPage::changed);
    connect(board_, &BoardForm::printEdited, this, &LensPage::showBoard);
    connect(names_, &LensNames::keepAsked, this, &LensPage::keep);
    connect(kept_, &KeptLenses::said, this, &LensPage::said);
    connect(kept_, &KeptLenses::wrong, this, &LensPage::wrong);
    setFocusProxy(add_);
    showBoard();
    refreshButtons();
}

LensPage::~LensPage() {
    if (stale_) *stale_ = true;
}

QWidget* LensPage::makeLeft() {
    auto* left = new QWidget(this);
    board_ = new BoardForm(left);
    run_ = new QPushButton(tr("Calibrate"), left);
    run_->setObjectName(QStringLiteral("lensRun"));
    connect(run_, &QPushButton::clicked, this, &LensPage::begin);
    auto* column = new QVBoxLayout(left);
    column->setContentsMargins(0, 0, 0, 0);
    column->addWidget(board_);
    column->addWidget(heading(tr("Photographs of the board"), left));
    column->addWidget(makePhotographs(), 1);
    column->addWidget(run_);
    return left;
}

QWidget* LensPage::makePhotographs() {
    auto* holder = new QWidget(this);
    photographs_ = new BoardList(holder);
    photographs_->setObjectName(QStringLiteral("boardPhotographs"));
    photographs_->setAccessibleName(tr("Photographs of the board"));
    photographs_->setToolTip(tr("Untick one to leave it out, tick it to take it back; then calibrate again"));
    photographs_->setSelectionMode(QAbstractItemView::ExtendedSelection);
    photographs_->setWordWrap(true);
    add_ = new QPushButton(tr("Add photographs…"), holder);
    add_->setObjectName(QStringLiteral("boardAdd"));
    add_->setToolTip(
        tr("Eight or more, all with one focus and zoom: square on, tilted by 20 to 40° each way, "
           "turned by 90°, in all corners of the frame"));
    remove_ = new QPushButton(tr("Remove"), holder);
    remove_->setObjectName(QStringLiteral("boardRemove"));
    auto* buttons = new QHBoxLayout;
    buttons->addWidget(add_);
    buttons->addWidget(remove_);
    auto* column = new QVBoxLayout(holder);
    column->setContentsMargins(0, 0, 0, 0);
    column->addWidget(photographs_, 1);
    column->addLayout(buttons);
    connect(add_, &QPushButton::clicked, this, [this] { addPhotographs(prompts_.photographsOfBoard()); });
    connect(remove_, &QPushButton::clicked, this, [this] {
        qDeleteAll(photographs_->selectedItems());
        changed();
    });
    connect(photographs_, &QListWidget::itemChanged, this, [this] {
        if (!quiet_) changed();
    });
    connect(photographs_, &QListWidget::itemSelectionChanged, this, &LensPage::refreshButtons);
    return holder;
}

QWidget* LensPage::makeRight() {
    auto* right = new QWidget(this);
    verdict_ = new QLabel(tr("Print a board, measure it, photograph it, and add the photographs."), right);
    verdict_->setObjectName(QStringLiteral("lensVerdict"));
    next_ = new QLabel(right);
    next_->setObjectName(QStringLiteral("lensNext"));
    for (auto* label : {verdict_, next_}) {
        label->setTextFormat(Qt::PlainText);
        label->setWordWrap(true);
        label->setTextInteractionFlags(Qt::TextSelectableByMouse);
    }
    auto* back = new QPushButton(tr("Back"), right);
    back->setObjectName(QStringLiteral("lensBack"));
    back->setToolTip(tr("Back to where you were; everything here stays (Escape)"));
    connect(back, &QPushButton::clicked, this, &LensPage::backAsked);
    boardView_ = new SheetView(right);
    boardView_->setObjectName(QStringLiteral("boardSheet"));
    boardWords_ = new QLabel(right);
    boardWords_->setObjectName(QStringLiteral("boardWords"));
    boardWords_->setTextFormat(Qt::PlainText);
    boardWords_->setWordWrap(true);
    resultView_ = new SheetView(right);
    resultView_->setObjectName(QStringLiteral("lensSheet"));
    names_ = new LensNames(right);
    words_ = new QPlainTextEdit(right);
    words_->setObjectName(QStringLiteral("lensWords"));
    words_->setReadOnly(true);
    words_->setFont(QFontDatabase::systemFont(QFontDatabase::FixedFont));
    kept_ = new KeptLenses(right);
    tabs_ = new QTabWidget(right);
    tabs_->setObjectName(QStringLiteral("lensTabs"));
    tabs_->setDocumentMode(true);
    tabs_->addTab(withSave(boardView_, boardWords_, "boardSave",
                           tr("Write the board as PDF or SVG; print it at 100 %, not fitted to the page")),
                  tr("Board to print"));
    tabs_->addTab(withSave(resultView_, names_, "lensSave", tr("Write this page as PDF or SVG")),
                  tr("Calibration"));
    tabs_->addTab(words_, tr("In words"));
    tabs_->addTab(kept_, tr("Kept lenses"));
    auto* top = new QHBoxLayout;
    top->addWidget(verdict_, 1);
    top->addWidget(back, 0, Qt::AlignTop);
    auto* column = new QVBoxLayout(right);
    column->setContentsMargins(0, 0, 0, 0);
    column->addLayout(top);
    column->addWidget(next_);
    column->addWidget(tabs_, 1);
    return right;
}

QWidget* LensPage::withSave(SheetView* view, QWidget* above, const char* name, const QString& tip) {
    auto* holder = new QWidget(this);
    auto* button = new QPushButton(tr("Save page…"), holder);
    button->setObjectName(QLatin1String(name));
    button->setToolTip(tip);
    (view == boardView_ ? saveBoard_ : saveResult_) = button;
    connect(button, &QPushButton::clicked, this, [this, view] {
        if (view == boardView_)
            save(view, QStringLiteral("board.pdf"), QStringLiteral("Board of squares"));
        else
            save(view, QStringLiteral("calibration.pdf"), QStringLiteral("Calibration of a lens"));
    });
    auto* line = new QHBoxLayout;
    line->addWidget(above, 1);
    line->addWidget(button, 0, Qt::AlignBottom);
    auto* column = new QVBoxLayout(holder);
    column->setContentsMargins(0, 4, 0, 0);
    column->addLayout(line);
    column->addWidget(view, 1);
    return holder;
}

void LensPage::addPhotographs(const QStringList& files) {
    QStringList there;
    for (int row = 0; row < photographs_->count(); ++row)
        there << photographs_->item(row)->data(kPath).toString();
    quiet_ = true;
    for (const QString& file : files) {
        if (there.contains(file)) continue;
        there << file;
        auto* item = new QListWidgetItem(QFileInfo(file).fileName(), photographs_);
        item->setData(kPath, file);
        item->setToolTip(file);
        item->setFlags(item->flags() | Qt::ItemIsUserCheckable);
        item->setCheckState(Qt::Checked);
    }
    quiet_ = false;
    if (!files.isEmpty()) changed();
}

QStringList LensPage::ticked() const {
    QStringList files;
    for (int row = 0; row < photographs_->count(); ++row)
        if (const auto* item = photographs_->item(row); item->checkState() == Qt::Checked)
            files << item->data(kPath).toString();
    return files;
}

void LensPage::refreshButtons() {
    setUsable(remove_, !photographs_->selectedItems().isEmpty(),
              tr("Take the chosen photographs off this list; the files stay"),
              tr("Choose photographs in the list first."));
    setUsable(run_, !running_ && !ticked().isEmpty(),
              tr("Find the board in the ticked photographs and adjust the constants of the lens"),
              running_ ? tr("It is running; Stop is at the lower edge of the window.")
                       : tr("Add photographs of the board first."));
    names_->setUsable(calibration_.has_value(), tr("Calibrate first."));
    setUsable(saveBoard_, boardView_->page().has_value(), saveBoard_->toolTip(), saveBoard_->toolTip());
    saveResult_->setEnabled(calibration_.has_value());
}

void LensPage::changed() {
    if (stale_) *stale_ = true;
    ++round_;
    running_ = false;
    if (calibration_) {
        calibration_.reset();
        forgetOutcomes();
    }
    resultView_->showPage({});  // a page of something else than what is ticked and typed would mislead
    words_->clear();
    next_->clear();
    const auto count = ticked().size();
    verdict_->setText(count == 0 ? tr("Print a board, measure it, photograph it, and add the photographs.")
                                 : tr("%1 photographs are ticked, not calibrated yet.").arg(count));
    refreshButtons();
}

void LensPage::forgetOutcomes() {
    quiet_ = true;
    for (int row = 0; row < photographs_->count(); ++row) {
        auto* item = photographs_->item(row);
        item->setText(QFileInfo(item->data(kPath).toString()).fileName());
        item->setToolTip(item->data(kPath).toString());
    }
    quiet_ = false;
}

void LensPage::begin() {
    changed();
    const auto board = board_->measured();
    if (!board) return refuse(board.error());
    const QStringList files = ticked();
    std::vector<std::filesystem::path> paths;
    for (const QString& file : files) paths.emplace_back(file.toStdString());
    calibrate::PhotographOptions options;
    options.uneven = board_->uneven();
    stale_ = std::make_shared<std::atomic<bool>>(false);
    running_ = true;
    refreshButtons();
    verdict_->setText(tr("Calibrating…"));
    jobs_.run(tr("Calibrating"),
              [page = QPointer<LensPage>(this), stale = stale_, round = round_, files, paths, options,
               board = *board](const Progress& progress) -> Jobs::Outcome {
                  auto made = std::make_shared<Result<calibrate::LensCalibration>>(
                      whileWanted(progress, *stale, [&](const Progress& own) {
                          return calibrate::calibratePhotographs(paths, board, options, &own);
                      }));
                  return [page, made, round, files] {
                      if (page) page->take(round, files, *made);
                  };
              });
}

void LensPage::take(int round, const QStringList& files, const Result<calibrate::LensCalibration>& made) {
    if (round != round_) return;
    running_ = false;
    if (!made) return refuse(made.error());
    calibration_ = *made;
    verdict_->setText(QString::fromStdString(calibrate::verdict(*made)));
    next_->setText(QString::fromStdString(made->calibration.advice));
    resultView_->showPage(calibrate::calibrationPage(*made));
    words_->setPlainText(QString::fromStdString(calibrate::calibrationText(*made)));
    names_->ask(made->record);
    describe(files, made->calibration);
    tabs_->setCurrentIndex(ResultTab);
    refreshButtons();
}

void LensPage::describe(const QStringList& files, const calibrate::Calibration& made) {
    quiet_ = true;
    for (int row = 0; row < photographs_->count(); ++row) {
        auto* item = photographs_->item(row);
        const QString path = item->data(kPath).toString(), name = QFileInfo(path).fileName();
        const auto index = files.indexOf(path);
        const QString outcome = index < 0 || static_cast<std::size_t>(index) >= made.frames.size()
                                    ? tr("left out by you")
                                    : outcomeText(made.frames[static_cast<std::size_t>(index)]);
        item->setText(name + QStringLiteral("\n    ") + outcome);
        item->setToolTip(path + QLatin1Char('\n') + outcome);
    }
    quiet_ = false;
}

void LensPage::refuse(const Error& error) {
    running_ = false;
    verdict_->setText(error.code == ErrorCode::Cancelled ? tr("Calibrating was stopped; nothing is lost.")
                                                         : QString::fromStdString(error.sentence()));
    refreshButtons();
}

void LensPage::showBoard() {
    const auto page = board_->sheetToPrint();
    boardView_->showPage(page ? std::optional<sheet::Sheet>(*page) : std::nullopt);
    boardWords_->setText(page ? QString() : QString::fromStdString(page.error().sentence()));
    refreshButtons();
}

void LensPage::save(SheetView* view, const QString& suggestion, const QString& title) {
    if (!view->page()) return;
    const sheet::Sheet page = *view->page();  // what is seen, though the question lets time pass
    const QString place = prompts_.placeForPage(suggestion);
    if (place.isEmpty()) return;
    if (const auto written = storage::writePage(page, title.toStdString(), place.toStdString()); !written)
        return Q_EMIT wrong(written.error());
    Q_EMIT said(tr("Written: %1.").arg(place));
}

void LensPage::keep() {
    if (!calibration_) return;
    const auto record = names_->named(calibration_->record);
    if (!record) return Q_EMIT wrong(record.error());
    const auto kept = KeptLenses::store().keep(*record);
    if (!kept) return Q_EMIT wrong(kept.error());
    kept_->refresh();
    tabs_->setCurrentIndex(KeptTab);
    Q_EMIT said(tr("Kept; it is offered when photographs taken with it are added to a survey."));
}

void LensPage::keyPressEvent(QKeyEvent* event) {
    if (event->key() == Qt::Key_Escape) return Q_EMIT backAsked();
    QWidget::keyPressEvent(event);
}

void LensPage::showEvent(QShowEvent* event) {
    QWidget::showEvent(event);
    kept_->refresh();
}

}  // namespace trammel::ui
