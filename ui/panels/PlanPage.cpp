// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/PlanPage.h"

#include <QComboBox>
#include <QFileInfo>
#include <QFormLayout>
#include <QKeyEvent>
#include <QLabel>
#include <QLineEdit>
#include <QPointer>
#include <QPushButton>
#include <QTextBrowser>
#include <QTimer>
#include <QVBoxLayout>
#include <array>

#include "core/plan/PlanSheet.h"
#include "core/plan/PlanText.h"
#include "core/plan/TaskWords.h"
#include "core/sheet/WriteSheet.h"
#include "core/storage/Disk.h"
#include "ui/panels/SheetView.h"

namespace trammel::ui {
namespace {

constexpr int kPause_ms =
    500;  // after the last key: long enough to type a number without a plan for each digit

QString escaped(const std::string& words) { return QString::fromStdString(words).toHtmlEscaped(); }

QString listOf(const char* tag, const std::vector<std::string>& sentences) {
    QString html = QStringLiteral("<%1>").arg(QLatin1String(tag));
    for (const auto& s : sentences) html += QStringLiteral("<li>%1</li>").arg(escaped(s));
    return html + QStringLiteral("</%1>").arg(QLatin1String(tag));
}

QString trialHtml(const plan::Trial& trial) {
    QString line = escaped(trial.name);
    if (trial.expected) {
        line += QStringLiteral(": ") + escaped(plan::toleranceText(trial.expected->planWorst));
        if (trial.expected->heightWorst)
            line +=
                PlanPage::tr(", heights %1").arg(escaped(plan::toleranceText(*trial.expected->heightWorst)));
    } else {
        line += QStringLiteral(": ") + escaped(trial.reason);
    }
    return QStringLiteral("<li>%1</li>").arg(trial.chosen ? QStringLiteral("<b>%1</b>").arg(line) : line);
}

QString trialsHtml(const QString& title, const std::vector<plan::Trial>& trials) {
    if (trials.empty()) return {};
    QString html = QStringLiteral("<h4>%1</h4><ul>").arg(title);
    for (const auto& t : trials) html += trialHtml(t);
    return html + QStringLiteral("</ul>");
}

QString planHtml(const plan::Plan& made) {
    std::vector<plan::Trial> lenses;
    for (const auto& l : made.lenses) lenses.push_back(l.trial);
    return QStringLiteral("<h4>%1</h4>").arg(PlanPage::tr("At the bench")) + listOf("ol", plan::steps(made)) +
           QStringLiteral("<h4>%1</h4>").arg(PlanPage::tr("Cautions")) + listOf("ul", plan::cautions(made)) +
           trialsHtml(PlanPage::tr("What would help"), made.help) +
           trialsHtml(PlanPage::tr("Lenses that were tried"), lenses) +
           trialsHtml(PlanPage::tr("Sets of photographs"), made.sets) +
           trialsHtml(PlanPage::tr("Where reference lengths lie"), made.referenceLengths) +
           trialsHtml(PlanPage::tr("How the camera is squared"), made.squaring);
}

std::string textOf(const QLineEdit* edit) { return edit->text().trimmed().toStdString(); }

/// makePlan on a worker: stops when the job is stopped or when something else has been typed.
Result<plan::Plan> planned(const plan::Task& task, const Progress& progress, const std::atomic<bool>& stale) {
    Progress* self = nullptr;
    Progress own([&](double fraction) {
        progress.report(fraction);
        if (stale || progress.cancelled()) self->cancel();
    });
    self = &own;
    if (stale) own.cancel();
    return plan::makePlan(task, &own);
}

}  // namespace

PlanPage::PlanPage(Jobs& jobs, Prompts& prompts, QWidget* parent)
    : QWidget(parent), jobs_(jobs), prompts_(prompts), pause_(new QTimer(this)) {
    setObjectName(QStringLiteral("plan"));
    pause_->setSingleShot(true);
    pause_->setInterval(kPause_ms);
    connect(pause_, &QTimer::timeout, this, &PlanPage::begin);
    auto* form = makeForm();
    auto* result = makeResult();
    auto* left = new QVBoxLayout;
    left->addWidget(form);
    left->addWidget(words_, 1);
    auto* both = new QHBoxLayout(this);
    both->addLayout(left, 4);
    both->addWidget(result, 7);
    setFocusProxy(size_);
}

PlanPage::~PlanPage() {
    if (stale_) *stale_ = true;
}

QLineEdit* PlanPage::line(QFormLayout* form, const char* name, const QString& label, const QString& text,
                          const QString& tip) {
    auto* edit = new QLineEdit(text, form->parentWidget());
    edit->setObjectName(QLatin1String(name));
    edit->setAccessibleName(label);
    edit->setToolTip(tip);
    form->addRow(label, edit);
    connect(edit, &QLineEdit::textChanged, this, &PlanPage::typed);
    connect(edit, &QLineEdit::returnPressed, this, &PlanPage::begin);
    return edit;
}

QComboBox* PlanPage::choice(QFormLayout* form, const char* name, const QString& label, const QString& tip) {
    auto* box = new QComboBox(form->parentWidget());
    box->setObjectName(QLatin1String(name));
    box->setAccessibleName(label);
    box->setToolTip(tip);
    form->addRow(label, box);
    return box;
}

QWidget* PlanPage::makeForm() {
    auto* holder = new QWidget(this);
    auto* form = new QFormLayout(holder);
    form->setContentsMargins(0, 0, 0, 0);
    size_ = line(form, "planSize", tr("Part size, mm"), QStringLiteral("160x100"),
                 tr("Width and height of the part, like 160x100"));
    heights_ = line(form, "planHeights", tr("Heights, mm"), QStringLiteral("0, 1.6, 12"),
                    tr("Of the levels over the datum level, which is 0; parted by commas"));
    need_ = line(form, "planNeed", tr("Wanted ±, mm"), QStringLiteral("0.1"),
                 tr("Expanded uncertainty (k = 2) of distances, positions and diameters"));
    sensor_ = choice(form, "planSensor", tr("Sensor, mm"),
                     tr("Width and height, like 36x24, or one of the usual names"));
    sensor_->setEditable(true);
    for (const auto& name : plan::sensorNames()) sensor_->addItem(QString::fromStdString(name));
    sensor_->setCurrentText(QStringLiteral("full"));
    connect(sensor_, &QComboBox::currentTextChanged, this, &PlanPage::typed);
    pixels_ = line(form, "planPixels", tr("Pixels"), QStringLiteral("6000x4000"),
                   tr("Of the whole frame, like 6000x4000"));
    lenses_ = line(form, "planLenses", tr("Lenses, mm"), QStringLiteral("200; 85-135"),
                   tr("Focal lengths, parted by semicolons: 200; 85-135,widest=4,closest=1500"));
    room_ = line(form, "planRoom", tr("Room, m"), QStringLiteral("5"),
                 tr("From the part to the wall behind the camera"));
    reference_ = line(form, "planReference", tr("Reference length"), QStringLiteral("rule 300"),
                      tr("rule 300 (any number of mm), card, A3, A4 or A5"));
    marks_ = choice(form, "planMarks", tr("Marks"), tr("Clicked by hand, or fitted to the picture"));
    marks_->addItem(tr("fitted to the picture"), QStringLiteral("fitted"));
    marks_->addItem(tr("clicked by hand"), QStringLiteral("clicked"));
    square_ = choice(form, "planSquare", tr("Squared"), tr("How the camera is made square to the part"));
    square_->addItem(tr("by eye"), QStringLiteral("eye"));
    square_->addItem(tr("with a spirit level"), QStringLiteral("level"));
    square_->addItem(tr("with a mirror"), QStringLiteral("mirror"));
    square_->setCurrentIndex(1);
    for (auto* box : {marks_, square_}) connect(box, &QComboBox::currentIndexChanged, this, &PlanPage::typed);
    return holder;
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

Result<plan::Task> PlanPage::task() const {
    plan::Task t;
    const auto size = plan::sizeFrom("part size", textOf(size_));
    if (!size) return size.error();
    t.sizeX_mm = size->x();
    t.sizeY_mm = size->y();
    const auto heights = plan::numbersFrom("heights", textOf(heights_));
    if (!heights) return heights.error();
    t.heights_mm = *heights;
    const auto need = plan::numberFrom("wanted ±", textOf(need_));
    if (!need) return need.error();
    t.need_mm = *need;
    auto sensor = plan::sensorFrom(sensor_->currentText().trimmed().toStdString(), t.sensor);
    if (sensor) sensor = plan::pixelsFrom(textOf(pixels_), *sensor);
    if (!sensor) return sensor.error();
    t.sensor = *sensor;
    for (const QString& one : lenses_->text().split(QLatin1Char(';'), Qt::SkipEmptyParts)) {
        const auto lens = plan::lensFrom(one.trimmed().toStdString());
        if (!lens) return lens.error();
        t.lenses.push_back(*lens);
    }
    const auto room = plan::numberFrom("room", textOf(room_));
    if (!room) return room.error();
    t.room_mm = *room * 1000.0;
    const auto reference = plan::referenceFrom(textOf(reference_));
    if (!reference) return reference.error();
    t.reference = *reference;
    const auto marking = plan::markingFrom(marks_->currentData().toString().toStdString());
    const auto square = plan::squaringFrom(square_->currentData().toString().toStdString());
    if (!marking) return marking.error();
    if (!square) return square.error();
    t.marking = *marking;
    t.squaring = *square;
    if (auto sound = plan::check(t); !sound) return sound.error();
    return t;
}

void PlanPage::typed() {
    plan_.reset();
    save_->setEnabled(false);
    if (stale_) *stale_ = true;
    ++round_;
    pause_->start();
}

void PlanPage::begin() {
    pause_->stop();
    begun_ = true;
    if (stale_) *stale_ = true;
    const int round = ++round_;
    const auto asked = task();
    if (!asked) return refuse(asked.error());
    verdict_->setText(tr("Planning…"));
    stale_ = std::make_shared<std::atomic<bool>>(false);
    jobs_.run(tr("Planning"),
              [page = QPointer<PlanPage>(this), stale = stale_, task = *asked,
               round](const Progress& progress) -> Jobs::Outcome {
                  auto made = std::make_shared<Result<plan::Plan>>(planned(task, progress, *stale));
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
    words_->setHtml(planHtml(*plan_));
    save_->setEnabled(true);
    showPaper();
}

void PlanPage::refuse(const Error& error) {
    plan_.reset();
    verdict_->setText(QString::fromStdString(error.sentence()));
    words_->clear();
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
    const bool svg = QFileInfo(place).suffix().compare(QLatin1String("svg"), Qt::CaseInsensitive) == 0;
    const auto bytes = svg ? sheet::svg(page) : sheet::pdf({page}, "Plan");
    if (!bytes) return Q_EMIT wrong(bytes.error());
    if (const auto written = storage::writeWhole(place.toStdString(), *bytes); !written)
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
