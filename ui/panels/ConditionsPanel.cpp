// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/ConditionsPanel.h"

#include <QComboBox>
#include <QGridLayout>
#include <QLabel>
#include <QLineEdit>
#include <QPushButton>
#include <algorithm>

#include "core/survey/Names.h"
#include "core/survey/ObjectCheck.h"
#include "core/survey/QuantityCheck.h"
#include "ui/panels/SurveyRows.h"
#include "ui/panels/TypedNumber.h"
#include "ui/tools/MarkEdits.h"

namespace trammel::ui {

using survey::ConditionKind;

ConditionsPanel::ConditionsPanel(PanelContext context, QWidget* parent)
    : QWidget(parent),
      context_(std::move(context)),
      model_(conditionHeadings()),
      list_(new ListView(model_, 1,
                         tr("No conditions. State only what the part's maker must have meant, such as two "
                            "holes of one size; the adjustment says whether the photographs bear it out."),
                         this)) {
    list_->setObjectName(QStringLiteral("conditions"));
    model_.setEditors({}, [this](const auto& id, int, bool ticked) {
        return context_.perform(excludeEdit(context_.document.survey(), id, !ticked));
    });
    auto* column = new QVBoxLayout(this);
    column->addWidget(heading(tr("Conditions between features"), this));
    column->addWidget(list_, 1);
    column->addWidget(form());
    connect(list_, &ListView::removeAsked, this,
            [this](const std::string& id) { context_.perform(removeEdit(context_.document.survey(), id)); });
    connect(list_->selectionModel(), &QItemSelectionModel::selectionChanged, this,
            &ConditionsPanel::refreshForm);
    connect(kind_, &QComboBox::currentIndexChanged, this, [this] {
        chosen_.clear();
        refill();
    });
    connect(takeIn_, &QPushButton::clicked, this, &ConditionsPanel::takeIn);
    connect(startAgain_, &QPushButton::clicked, this, [this] {
        chosen_.clear();
        refreshForm();
    });
    connect(add_, &QPushButton::clicked, this, &ConditionsPanel::add);
    connect(remove_, &QPushButton::clicked, this,
            [this] { context_.perform(removeEdit(context_.document.survey(), list_->currentId())); });
    for (auto* edit : {sigma_, step_})
        connect(edit, &QLineEdit::textChanged, this, &ConditionsPanel::refreshForm);
    refresh();
}

QWidget* ConditionsPanel::form() {
    auto* form = new QWidget(this);
    auto* grid = new QGridLayout(form);
    grid->setContentsMargins(0, 4, 0, 0);
    kind_ = new QComboBox(form);
    kind_->setObjectName(QStringLiteral("conditionKind"));
    kind_->setAccessibleName(tr("Kind of condition"));
    for (const auto k : {ConditionKind::Parallel, ConditionKind::Perpendicular, ConditionKind::Concentric,
                         ConditionKind::Equal, ConditionKind::Coplanar, ConditionKind::Symmetrical,
                         ConditionKind::Pitch, ConditionKind::Tangent})
        kind_->addItem(QString::fromLatin1(survey::conditionName(k).data()), static_cast<int>(k));
    object_ = new QComboBox(form);
    object_->setObjectName(QStringLiteral("conditionObject"));
    object_->setAccessibleName(tr("Feature or level"));
    for (auto* box : {kind_, object_}) {
        box->setSizeAdjustPolicy(QComboBox::AdjustToMinimumContentsLengthWithIcon);
        box->setMinimumContentsLength(8);
    }
    takeIn_ = new QPushButton(tr("Put in"), form);
    takeIn_->setObjectName(QStringLiteral("conditionPutIn"));
    startAgain_ = new QPushButton(tr("Start again"), form);
    chosenNames_ = new QLabel(form);
    chosenNames_->setObjectName(QStringLiteral("conditionObjects"));
    chosenNames_->setWordWrap(true);
    const auto field = [&](const QString& name, const QString& text, const QString& tip) {
        auto* edit = new QLineEdit(text, form);
        edit->setObjectName(name);
        edit->setToolTip(tip);
        return edit;
    };
    sigma_ = field(QStringLiteral("conditionSigma"), QStringLiteral("0.02"),
                   tr("How far (mm, standard uncertainty) the features may miss the rule; of edges, over "
                      "the marked length of the shorter one"));
    step_ = field(QStringLiteral("conditionStep"), {}, tr("The step in mm; empty where it is not known"));
    stepLabel_ = new QLabel(tr("Step, mm"), form);
    stepLabel_->setBuddy(step_);
    auto* sigmaLabel = new QLabel(tr("σ, mm"), form);
    sigmaLabel->setBuddy(sigma_);
    add_ = new QPushButton(tr("Add the condition"), form);
    add_->setObjectName(QStringLiteral("addCondition"));
    remove_ = new QPushButton(tr("Remove"), form);
    remove_->setObjectName(QStringLiteral("removeCondition"));
    grid->addWidget(kind_, 0, 0, 1, 2);
    grid->addWidget(object_, 0, 2, 1, 2);
    grid->addWidget(chosenNames_, 1, 0, 1, 2);
    grid->addWidget(takeIn_, 1, 2);
    grid->addWidget(startAgain_, 1, 3);
    grid->addWidget(sigmaLabel, 2, 0);
    grid->addWidget(sigma_, 2, 1);
    grid->addWidget(stepLabel_, 2, 2);
    grid->addWidget(step_, 2, 3);
    grid->addWidget(add_, 3, 0, 1, 2);
    grid->addWidget(remove_, 3, 2, 1, 2);
    for (const int at : {1, 3}) grid->setColumnStretch(at, 1);
    return form;
}

ConditionKind ConditionsPanel::kind() const {
    return static_cast<ConditionKind>(kind_->currentData().toInt());
}

void ConditionsPanel::refresh() {
    model_.setRows(conditionRows(context_.document));
    if (shownRevision_ != context_.document.revision()) {
        std::erase_if(chosen_,
                      [&](const auto& id) { return !survey::holds(context_.document.survey(), id); });
        refill();
    }
    shownRevision_ = context_.document.revision();
    refreshForm();
}

void ConditionsPanel::refill() {
    const auto& survey = context_.document.survey();
    const QString kept = object_->currentData().toString();
    object_->clear();
    const auto offer = [&](const auto& list) {
        for (const auto& item : list)
            if (survey::takesObject(survey, kind(), item.id))
                object_->addItem(QString::fromStdString(survey::describe(survey, item.id)),
                                 QString::fromStdString(item.id));
    };
    offer(survey.levels);
    offer(survey.features);
    object_->setCurrentIndex(std::max(0, object_->findData(kept)));
    object_->setPlaceholderText(tr("none yet"));
    refreshForm();
}

void ConditionsPanel::propose(const std::vector<survey::Id>& objects) {
    std::vector<survey::Id> fitting;
    for (const auto& id : objects)
        if (survey::takesObject(context_.document.survey(), kind(), id)) fitting.push_back(id);
    if (fitting.size() < 2) return;  // one chosen feature is mostly for another purpose
    chosen_ = fitting;
    refreshForm();
}

void ConditionsPanel::takeIn() {
    const survey::Id id = object_->currentData().toString().toStdString();
    if (id.empty() || std::ranges::find(chosen_, id) != chosen_.end()) return;
    chosen_.push_back(id);
    if (object_->currentIndex() + 1 < object_->count()) object_->setCurrentIndex(object_->currentIndex() + 1);
    refreshForm();
}

Result<survey::Condition> ConditionsPanel::typed() const {
    survey::Condition condition;
    condition.id = survey::freshId(context_.document.survey(), 'C');
    condition.name = condition.id;
    condition.kind = kind();
    condition.objects = chosen_;
    const auto sigma = typedNumber(sigma_->text(), tr("σ"));
    if (!sigma) return sigma.error();
    condition.measured.sigma = *sigma;
    if (kind() == ConditionKind::Pitch && !step_->text().trimmed().isEmpty()) {
        const auto step = typedNumber(step_->text(), tr("step"));
        if (!step) return step.error();
        condition.measured.value = *step;
    }
    return condition;
}

void ConditionsPanel::refreshForm() {
    const auto& survey = context_.document.survey();
    const bool pitch = kind() == ConditionKind::Pitch;
    stepLabel_->setVisible(pitch);
    step_->setVisible(pitch);
    chosenNames_->setText(chosen_.empty() ? tr("Put in what it is about, in order")
                                          : objectNames(survey, chosen_));
    setUsable(takeIn_, object_->count() > 0, tr("Put the feature or level into the condition"),
              tr("Nothing in the survey that this could be about yet."));
    setUsable(startAgain_, !chosen_.empty(), tr("Let go of what was put in"), tr("Nothing is put in yet."));
    const auto condition = typed();
    QString why;
    if (!condition) {
        why = QString::fromStdString(condition.error().sentence());
    } else if (const auto findings = survey::checkObject(survey, *condition); !findings.empty()) {
        why = QString::fromStdString(findings.front().sentence());
    }
    setUsable(add_, context_.document.isOpen() && why.isEmpty(),
              tr("Let the adjustment count on it, as far as its σ goes"),
              context_.document.isOpen() ? why : tr("Open or start a survey first."));
    setUsable(remove_, !list_->currentId().empty(), tr("Remove the chosen condition (can be undone)"),
              tr("Choose a condition in the list first."));
}

void ConditionsPanel::add() {
    const auto condition = typed();
    if (!condition) return context_.complain(condition.error());
    const std::string name =
        "Add condition " + std::string(survey::conditionName(condition->kind)) + " " + condition->name;
    if (!context_.perform({name, {survey::Put<survey::Condition>{*condition}}})) return;
    chosen_.clear();
    refreshForm();
    list_->choose(condition->id);
}

}  // namespace trammel::ui
