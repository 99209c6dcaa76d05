// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/PlanPage.h"

#include <QComboBox>
#include <QKeyEvent>
#include <QLabel>
#include <QPointer>
#include <QPushButton>
#include <QTextBrowser>
#include <QTimer>
#include <QVBoxLayout>

#include "core/plan/PlanSheet.h"
#include "core/plan/PlanText.h"
#include "core/storage/PageFile.h"
#include "ui/panels/PlanForm.h"
#include "ui/panels/PlanHtml.h"
#include "ui/panels/SheetView.h"
#include "ui/tasks/Unwanted.h"

namespace trammel::ui {
namespace {

constexpr int kPause_ms =
    500;  // after the last key: long enough to type a number without a plan for each digit

}  // namespace

PlanPage::PlanPage(Jobs& jobs, Prompts& prompts, QWidget* parent)
    : QWidget(parent), jobs_(jobs), prompts_(prompts), pause_(new QTimer(this)) {
    setObjectName(QStringLiteral("plan"));
    pause_->setSingleShot(true);
    pause_->setInterval(kPause_ms);
    connect(pause_, &QTimer::timeout, this, &PlanPage::begin);
    form_ = new PlanForm(this);
    connect(form_, &PlanForm::edited, this, &PlanPage::typed);
    connect(form_, &PlanForm::enterPressed, this, &PlanPage::begin);
    auto* result = makeResult();
    auto* left = new QVBoxLayout;
    left->addWidget(form_);
    left->addWidget(words_, 1);
    auto* both = new QHBoxLayout(this);
    both->addLayout(left, 4);
    both->addWidget(result, 7);
    setFocusProxy(form_->first());
}

PlanPage::~PlanPage() {
    if (stale_) *stale_ = true;
}

QWidget* PlanPage::makeResult() {
    words_ = new QTextBrowser(this);
    words_->setObjectName(QStringLiteral("planWords"));
    words_->setAccessibleName(tr("The plan in words"));
    auto* holder = new QWidget(this);
    verdict_ = new QLabel(holder);
    verdict_->setObjectName(QStringLiteral("planVerdict"));
    verdict_->setAccessibleName(tr("What the plan comes to"));
    verdict_->setTextFormat(Qt::PlainText);
    verdict_->setWordWrap(true);
    verdict_->setTextInteractionFlags(Qt::TextSelectableByMouse);
    verdict_->setMinimumHeight(3 * verdict_->fontMetrics().lineSpacing());  // so that the page stays put
    paper_ = new QComboBox(holder);
    paper_->setObjectName(QStringLiteral("planPaper"));
    paper_->setAccessibleName(tr("Paper"));
    paper_->addItems({tr("A4"), tr("Letter")});
    connect(paper_, &QComboBox::currentIndexChanged, this, &PlanPage::showPaper);
    save_ = new QPushButton(tr("Save page…"), holder);
    save_->setObjectName(QStringLiteral("planSave"));
    save_->setToolTip(tr("Write the page as PDF or SVG, to be printed"));
    save_->setEnabled(false);
    connect(save_, &QPushButton::clicked, this, &PlanPage::savePage);
    auto* back = new QPushButton(tr("Back"), holder);
    back->setObjectName(QStringLiteral("planBack"));
    back->setToolTip(tr("Back to where you were; what is typed stays (Escape)"));
    connect(back, &QPushButton::clicked, this, &PlanPage::backAsked);
    sheet_ = new SheetView(holder);
    auto* top = new QHBoxLayout;
    top->addWidget(verdict_, 1);
    for (QWidget* w :
         {static_cast<QWidget*>(paper_), static_cast<QWidget*>(save_), static_cast<QWidget*>(back)})
        top->addWidget(w, 0, Qt::AlignTop);
    auto* column = new QVBoxLayout(holder);
    column->setContentsMargins(0, 0, 0, 0);
    column->addLayout(top);
    column->addWidget(sheet_, 1);
    return holder;
}

void PlanPage::typed() {
    plan_.reset();
    save_->setEnabled(false);
    if (stale_) *stale_ = true;
    ++round_;
    setCurrent(false);
    pause_->start();
}

void PlanPage::setCurrent(bool current) {
    words_->setEnabled(current);
    sheet_->setEnabled(current);
}

void PlanPage::begin() {
    pause_->stop();
    begun_ = true;
    if (stale_) *stale_ = true;
    const int round = ++round_;
    const auto asked = form_->task();
    if (!asked) return refuse(asked.error());
    verdict_->setText(tr("Planning…"));
    stale_ = std::make_shared<std::atomic<bool>>(false);
    jobs_.run(tr("Planning"),
              [page = QPointer<PlanPage>(this), stale = stale_, task = *asked,
               round](const Progress& progress) -> Jobs::Outcome {
                  auto made = std::make_shared<Result<plan::Plan>>(whileWanted(
                      progress, *stale, [&](const Progress& own) { return plan::makePlan(task, &own); }));
                  return [page, made, round] {
                      if (page) page->take(round, *made);
                  };
              });
}

void PlanPage::take(int round, const Result<plan::Plan>& made) {
    if (round != round_) return;
    if (!made) return refuse(made.error());
    plan_ = *made;
    verdict_->setText(QString::fromStdString(plan::verdict(*plan_)));
    words_->setHtml(planHtml(*plan_, form_->assumed()));
    save_->setEnabled(true);
    setCurrent(true);
    showPaper();
}

void PlanPage::refuse(const Error& error) {
    plan_.reset();
    verdict_->setText(error.code == ErrorCode::Cancelled
                          ? tr("Planning was stopped; change something or press Enter in a field to plan.")
                          : QString::fromStdString(error.sentence()));
    words_->clear();
    setCurrent(true);
    save_->setEnabled(false);
    sheet_->showPage({});  // a page of something else than what is typed would mislead
}

void PlanPage::showPaper() {
    if (plan_)
        sheet_->showPage(plan::planSheet(*plan_, paper_->currentIndex() == 0 ? sheet::kA4 : sheet::kLetter));
}

void PlanPage::savePage() {
    if (!plan_ || !sheet_->page()) return;
    const sheet::Sheet page = *sheet_->page();  // what is seen, though the question lets time pass
    const QString place = prompts_.placeForPage(QStringLiteral("plan.pdf"));
    if (place.isEmpty()) return;
    if (const auto written = storage::writePage(page, "Plan", place.toStdString()); !written)
        return Q_EMIT wrong(written.error());
    Q_EMIT said(tr("Written: %1.").arg(place));
}

void PlanPage::keyPressEvent(QKeyEvent* event) {
    if (event->key() == Qt::Key_Escape) return Q_EMIT backAsked();
    QWidget::keyPressEvent(event);
}

void PlanPage::showEvent(QShowEvent* event) {
    QWidget::showEvent(event);
    if (!begun_) begin();
}

}  // namespace trammel::ui
