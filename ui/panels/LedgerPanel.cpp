// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/LedgerPanel.h"

#include <QGridLayout>
#include <QLabel>
#include <QLineEdit>
#include <QPushButton>

#include "core/adjust/Report.h"
#include "core/base/Angle.h"
#include "core/drawing/Format.h"
#include "ui/panels/SurveyRows.h"
#include "ui/panels/TypedNumber.h"
#include "ui/tools/MarkEdits.h"

namespace trammel::ui {

QString adjustmentSummary(const Document& document) {
    const auto& solution = document.solution();
    const auto tr = [](const char* text) { return LedgerPanel::tr(text); };
    if (!document.isOpen()) return tr("No survey is open.");
    if (!solution) return tr("Not adjusted yet. Press Adjust when marks and at least one length are there.");
    const auto& global = solution->global;
    const auto number = [](double v) { return QString::fromStdString(drawing::fixed(v, 2)); };
    QString text =
        adjust::agrees(*solution) ? tr("Everything agrees.") : tr("Something disagrees: see Checks.");
    text += tr(" Variance factor %1 (honest σ give %2 to %3), %4 degrees of freedom.")
                .arg(number(global.varianceFactor), number(global.low), number(global.high))
                .arg(global.degreesOfFreedom);
    if (document.solutionIsOld()) text = tr("The survey has changed since; adjust again. Before: ") + text;
    return text;
}

LedgerPanel::LedgerPanel(PanelContext context, QWidget* parent)
    : QWidget(parent),
      context_(std::move(context)),
      model_(dimensionHeadings()),
      list_(new ListView(model_, 1,
                         tr("No dimensions wanted yet. Choose below what you want to know of the part; "
                            "each is drawn and handed over with its ±."),
                         this)),
      objects_(new ObjectsForm(false, this)),
      name_(new QLineEdit(this)),
      summary_(new QLabel(this)),
      add_(new QPushButton(tr("Want this dimension"), this)),
      remove_(new QPushButton(tr("Remove"), this)) {
    list_->setObjectName(QStringLiteral("ledger"));
    add_->setObjectName(QStringLiteral("addDimension"));
    summary_->setObjectName(QStringLiteral("summary"));
    summary_->setWordWrap(true);
    model_.setEditors(
        [this](const auto& id, int column, const QString& text) {
            return column == 0 ? rename(id, text) : setWanted(id, text);
        },
        {});
    auto* column = new QVBoxLayout(this);
    column->addWidget(heading(tr("Ledger of dimensions"), this));
    column->addWidget(list_, 1);
    column->addWidget(summary_);
    auto* grid = new QGridLayout;
    auto* label = new QLabel(tr("Name"), this);
    label->setBuddy(name_);
    grid->addWidget(objects_, 0, 0, 1, 4);
    grid->addWidget(label, 1, 0);
    grid->addWidget(name_, 1, 1);
    grid->addWidget(add_, 1, 2);
    grid->addWidget(remove_, 1, 3);
    grid->setColumnStretch(1, 1);
    column->addLayout(grid);
    connect(objects_, &ObjectsForm::changed, this, &LedgerPanel::refreshForm);
    connect(add_, &QPushButton::clicked, this, &LedgerPanel::add);
    connect(name_, &QLineEdit::returnPressed, this, &LedgerPanel::add);
    connect(remove_, &QPushButton::clicked, this,
            [this] { context_.perform(removeEdit(context_.document.survey(), list_->currentId())); });
    connect(list_, &ListView::chosen, this, &LedgerPanel::dimensionChosen);
    connect(list_, &ListView::removeAsked, this,
            [this](const std::string& id) { context_.perform(removeEdit(context_.document.survey(), id)); });
    connect(list_->selectionModel(), &QItemSelectionModel::selectionChanged, this, &LedgerPanel::refreshForm);
    refresh();
}

void LedgerPanel::refresh() {
    model_.setRows(dimensionRows(context_.document));
    summary_->setText(adjustmentSummary(context_.document));
    if (shownRevision_ != context_.document.revision()) objects_->setSurvey(context_.document.survey());
    shownRevision_ = context_.document.revision();
    refreshForm();
}

void LedgerPanel::choose(const survey::Id& dimension) {
    list_->choose(dimension);
    refreshForm();
}

void LedgerPanel::refreshForm() {
    const bool complete = objects_->complete();
    setUsable(add_, context_.document.isOpen() && complete, tr("Add this dimension to the ledger"),
              tr("Mark the features that the dimension is about first."));
    setUsable(remove_, !list_->currentId().empty(), tr("Remove the chosen dimension (can be undone)"),
              tr("Choose a dimension in the list first."));
}

void LedgerPanel::add() {
    if (!add_->isEnabled())
        return context_.complain({ErrorCode::Refused, add_->toolTip().chopped(1).toStdString(), {}, {}});
    survey::Dimension dimension;
    dimension.id = survey::freshId(context_.document.survey(), 'D');
    dimension.name = name_->text().trimmed().toStdString();
    if (dimension.name.empty()) dimension.name = dimension.id;
    dimension.quantity = objects_->quantity();
    dimension.objects = objects_->objects();
    if (!context_.perform({"Want dimension " + dimension.name, {survey::Put<survey::Dimension>{dimension}}}))
        return;
    name_->clear();
    list_->choose(dimension.id);
}

bool LedgerPanel::rename(const survey::Id& id, const QString& name) {
    const auto* old = survey::find(context_.document.survey().dimensions, id);
    if (!old) return false;
    survey::Dimension dimension = *old;
    dimension.name = name.trimmed().toStdString();
    return context_.perform({"Rename " + survey::describe(context_.document.survey(), id),
                             {survey::Put<survey::Dimension>{dimension}}});
}

bool LedgerPanel::setWanted(const survey::Id& id, const QString& text) {
    const auto* old = survey::find(context_.document.survey().dimensions, id);
    if (!old) return false;
    survey::Dimension dimension = *old;
    QString plain = text.trimmed();
    plain.remove(QChar(0x00b1));  // ±
    const auto wanted = plain.isEmpty() ? Result<double>(0.0) : typedNumber(plain, tr("± wanted"));
    if (!wanted) {
        context_.complain(wanted.error());
        return false;
    }
    const bool angle = dimension.quantity == survey::Quantity::Angle;
    dimension.target = angle ? Angle::degrees(*wanted).rad() : *wanted;
    return context_.perform({"Change the wanted ± of " + survey::describe(context_.document.survey(), id),
                             {survey::Put<survey::Dimension>{dimension}}});
}

}  // namespace trammel::ui
