// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/ReadingsPanel.h"

#include <QAction>
#include <QCheckBox>
#include <QClipboard>
#include <QGridLayout>
#include <QGuiApplication>
#include <QLabel>
#include <QLineEdit>
#include <QPushButton>

#include "core/base/Angle.h"
#include "core/survey/Names.h"
#include "core/survey/QuantityCheck.h"
#include "ui/panels/LedgerRows.h"
#include "ui/panels/PasteBox.h"
#include "ui/panels/TypedNumber.h"
#include "ui/tools/MarkEdits.h"

namespace trammel::ui {
namespace {

/// People type degrees; the survey holds radians.
double inside(survey::Quantity quantity, double typed) {
    return quantity == survey::Quantity::Angle ? Angle::degrees(typed).rad() : typed;
}

}  // namespace

ReadingsPanel::ReadingsPanel(PanelContext context, QWidget* parent)
    : QWidget(parent),
      context_(std::move(context)),
      model_(readingHeadings()),
      list_(new ListView(model_, 1,
                         tr("No readings yet. Type what the caliper, depth rod or tape said below, or "
                            "take Reference and click a known length in a photograph. Without one "
                            "length there is no scale."),
                         this)),
      objects_(new ObjectsForm(true, this)) {
    list_->setObjectName(QStringLiteral("readings"));
    model_.setEditors(
        [this](const auto& id, int column, const QString& text) { return editCell(id, column, text); },
        [this](const auto& id, int, bool ticked) {
            return context_.perform(excludeEdit(context_.document.survey(), id, !ticked));
        });
    auto* column = new QVBoxLayout(this);
    column->addWidget(heading(tr("Readings and reference lengths"), this));
    column->addWidget(list_, 1);
    form_ = form();
    box_ = new PasteBox(context_, this);
    column->addWidget(form_);
    column->addWidget(box_, 1);
    makePasting();
    connect(list_, &ListView::removeAsked, this,
            [this](const std::string& id) { context_.perform(removeEdit(context_.document.survey(), id)); });
    connect(list_->selectionModel(), &QItemSelectionModel::selectionChanged, this,
            &ReadingsPanel::refreshForm);
    connect(objects_, &ObjectsForm::changed, this, &ReadingsPanel::refreshForm);
    refresh();
}

void ReadingsPanel::makePasting() {
    box_->setVisible(false);
    connect(box_, &PasteBox::done, this, [this] {
        showBox(false);
        list_->setFocus();
    });
    const auto onKey = [this](QKeySequence::StandardKey key, void (ReadingsPanel::*does)()) {
        auto* action = new QAction(list_);
        action->setShortcut(key);
        action->setShortcutContext(Qt::WidgetShortcut);
        list_->addAction(action);
        connect(action, &QAction::triggered, this, does);
    };
    onKey(QKeySequence::Paste, &ReadingsPanel::paste);
    onKey(QKeySequence::Copy, &ReadingsPanel::copy);
}

void ReadingsPanel::showBox(bool box) {
    form_->setVisible(!box);
    box_->setVisible(box);
}

void ReadingsPanel::paste() {
    showBox(true);
    const QString text = QGuiApplication::clipboard()->text();
    if (!text.trimmed().isEmpty()) box_->put(text);
    box_->setFocus();
}

void ReadingsPanel::copy() {
    QGuiApplication::clipboard()->setText(asTable(context_.document, list_->selectedIds()));
}

QWidget* ReadingsPanel::form() {
    auto* form = new QWidget(this);
    auto* grid = new QGridLayout(form);
    grid->setContentsMargins(0, 4, 0, 0);
    const auto field = [&](const QString& label, const QString& name, int row, int column) {
        auto* edit = new QLineEdit(form);
        edit->setObjectName(name);
        auto* text = new QLabel(label, form);
        text->setBuddy(edit);
        grid->addWidget(text, row, column);
        grid->addWidget(edit, row, column + 1);
        connect(edit, &QLineEdit::returnPressed, this, &ReadingsPanel::add);
        return edit;
    };
    grid->addWidget(objects_, 0, 0, 1, 6);
    meaning_ =
        new QLabel(tr("A tape reading goes from the middle of the camera's lens (its entrance pupil: where "
                      "the opening appears to lie, seen from the front) to the origin of the datum. Give "
                      "it a generous σ, some millimetres."),
                   form);
    meaning_->setObjectName(QStringLiteral("tapeMeaning"));
    meaning_->setWordWrap(true);
    grid->addWidget(meaning_, 5, 0, 1, 6);
    value_ = field(tr("Value"), QStringLiteral("readingValue"), 1, 0);
    sigma_ = field(tr("σ"), QStringLiteral("readingSigma"), 1, 3);
    valueUnit_ = new QLabel(form);
    sigmaUnit_ = new QLabel(form);
    grid->addWidget(valueUnit_, 1, 2);
    grid->addWidget(sigmaUnit_, 1, 5);
    jaw_ = field(tr("Jaw flat"), QStringLiteral("readingJaw"), 4, 0);
    jawLabel_ = qobject_cast<QLabel*>(grid->itemAtPosition(4, 0)->widget());
    jawUnit_ = new QLabel(tr("mm"), form);
    grid->addWidget(jawUnit_, 4, 2);
    jaw_->setPlaceholderText(QStringLiteral("0"));
    jaw_->setToolTip(
        tr("Width of the flats of the jaws inside a hole: they bridge the curve, and the "
           "caliper shows a chord. 0 for knife edges."));
    name_ = field(tr("Name"), QStringLiteral("readingName"), 2, 0);
    check_ = new QCheckBox(tr("check only"), form);
    check_->setToolTip(tr("Withhold it from the adjustment: it must come out right"));
    reference_ = new QCheckBox(tr("in the picture"), form);
    reference_->setToolTip(tr("A known length lying in the photograph: rule, gauge block, card"));
    grid->addWidget(check_, 2, 3, 1, 3);
    grid->addWidget(reference_, 3, 3, 1, 3);
    sigma_->setText(QStringLiteral("0.05"));
    sigma_->setToolTip(
        tr("Standard uncertainty: caliper on rigid faces 0.03, board edges 0.05 to 0.1, depth rod "
           "0.05 to 0.1 mm are usual"));
    add_ = new QPushButton(tr("Add the reading"), form);
    add_->setObjectName(QStringLiteral("addReading"));
    remove_ = new QPushButton(tr("Remove"), form);
    auto* buttons = new QHBoxLayout;
    buttons->addWidget(add_);
    buttons->addWidget(remove_);
    auto* lines = new QPushButton(tr("Paste…"), form);
    lines->setObjectName(QStringLiteral("pasteReadings"));
    lines->setToolTip(tr("Readings from a sheet of cells: one line each (Ctrl+V in the list)"));
    buttons->addWidget(lines);
    connect(lines, &QPushButton::clicked, this, &ReadingsPanel::paste);
    grid->addLayout(buttons, 3, 0, 1, 3);
    grid->setColumnStretch(1, 3);
    grid->setColumnStretch(4, 2);
    connect(add_, &QPushButton::clicked, this, &ReadingsPanel::add);
    connect(remove_, &QPushButton::clicked, this,
            [this] { context_.perform(removeEdit(context_.document.survey(), list_->currentId())); });
    return form;
}

void ReadingsPanel::refresh() {
    model_.setRows(readingRows(context_.document));
    if (shownRevision_ != context_.document.revision()) objects_->setSurvey(context_.document.survey());
    if (shownRevision_ != context_.document.revision()) box_->refresh();
    shownRevision_ = context_.document.revision();
    refreshForm();
}

void ReadingsPanel::refreshForm() {
    const auto quantity = objects_->quantity();
    valueUnit_->setText(unitOf(quantity));
    sigmaUnit_->setText(unitOf(quantity));
    meaning_->setVisible(quantity == survey::Quantity::Tape);
    const bool complete = objects_->complete();
    for (QWidget* part :
         {static_cast<QWidget*>(jawLabel_), static_cast<QWidget*>(jaw_), static_cast<QWidget*>(jawUnit_)})
        part->setVisible(survey::takesJawFlat(quantity));
    setUsable(add_, context_.document.isOpen() && complete, tr("Add this reading to the survey"),
              tr("Mark the features that the reading is about first."));
    setUsable(remove_, !list_->currentId().empty(), tr("Remove the chosen reading (can be undone)"),
              tr("Choose a reading in the list first."));
}

void ReadingsPanel::add() {
    if (!add_->isEnabled())
        return context_.complain({ErrorCode::Refused, add_->toolTip().chopped(1).toStdString(), {}, {}});
    const auto value = typedNumber(value_->text(), tr("value"));
    if (!value) return context_.complain(value.error());
    const auto sigma = typedNumber(sigma_->text(), tr("σ"));
    if (!sigma) return context_.complain(sigma.error());
    const bool jaws = survey::takesJawFlat(objects_->quantity()) && !jaw_->text().trimmed().isEmpty();
    const auto jaw = jaws ? typedNumber(jaw_->text(), tr("jaw flat")) : Result<double>(0.0);
    if (!jaw) return context_.complain(jaw.error());
    survey::Reading reading;
    reading.jawFlat_mm = *jaw;
    reading.id = survey::freshId(context_.document.survey(), 'R');
    reading.quantity = objects_->quantity();
    reading.objects = objects_->objects();
    reading.measured = {inside(reading.quantity, *value), inside(reading.quantity, *sigma)};
    reading.name = name_->text().trimmed().toStdString();
    if (reading.name.empty()) reading.name = reading.id;
    reading.check = check_->isChecked();
    reading.reference = reference_->isChecked();
    if (!context_.perform({"Add reading " + reading.name, {survey::Put<survey::Reading>{reading}}})) return;
    value_->clear();  // only after the survey has it
    name_->clear();
    list_->choose(reading.id);
}

bool ReadingsPanel::editCell(const survey::Id& id, int column, const QString& text) {
    const auto* old = survey::find(context_.document.survey().readings, id);
    if (!old) return false;
    survey::Reading reading = *old;
    if (column == 0) {
        reading.name = text.trimmed().toStdString();
    } else {
        const auto number = typedNumber(text, column == 2 ? tr("value") : tr("σ"));
        if (!number) {
            context_.complain(number.error());
            return false;
        }
        (column == 2 ? reading.measured.value : reading.measured.sigma) = inside(reading.quantity, *number);
    }
    return context_.perform({"Change " + survey::describe(context_.document.survey(), id),
                             {survey::Put<survey::Reading>{reading}}});
}

}  // namespace trammel::ui
