// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/LevelsPanel.h"

#include <QComboBox>
#include <QHBoxLayout>
#include <QLabel>
#include <QPushButton>

#include "core/survey/Names.h"
#include "ui/panels/SurveyRows.h"
#include "ui/tools/MarkEdits.h"

namespace trammel::ui {

LevelsPanel::LevelsPanel(PanelContext context, QWidget* parent)
    : QWidget(parent),
      context_(std::move(context)),
      model_(levelHeadings()),
      list_(new ListView(model_, 0,
                         tr("No levels yet. A level is a plane of the part at one height: its base, a "
                            "step, the top of a connector, a rule lying on it."),
                         this)),
      form_(new QComboBox(this)),
      add_(new QPushButton(tr("Add"), this)),
      datum_(new QPushButton(tr("Datum"), this)),
      remove_(new QPushButton(tr("Remove"), this)) {
    list_->setObjectName(QStringLiteral("levels"));
    list_->setSelectionMode(QAbstractItemView::SingleSelection);
    model_.setEditors([this](const auto& id, int, const QString& text) { return rename(id, text); }, {});
    auto* buttons = new QHBoxLayout;
    buttons->setSpacing(4);
    for (auto* button : {add_, datum_, remove_}) {
        button->setMinimumWidth(10);
        buttons->addWidget(button);
    }
    form_->setObjectName(QStringLiteral("levelForm"));
    for (const auto form : {survey::LevelForm::Flat, survey::LevelForm::Tilted, survey::LevelForm::Bowed})
        form_->addItem(QString::fromLatin1(survey::formName(form).data()), static_cast<int>(form));
    auto* formLabel = new QLabel(tr("Form"), this);
    formLabel->setBuddy(form_);
    auto* formLine = new QHBoxLayout;
    formLine->addWidget(formLabel);
    formLine->addWidget(form_, 1);
    auto* column = new QVBoxLayout(this);
    column->setContentsMargins(0, 0, 0, 0);
    column->addWidget(heading(tr("Levels"), this));
    column->addWidget(list_, 1);
    column->addLayout(formLine);
    column->addLayout(buttons);
    connect(list_, &ListView::chosen, this, [this](const std::string& id) {
        if (!id.empty()) context_.choice.setLevel(id);
    });
    connect(list_, &ListView::removeAsked, this, &LevelsPanel::remove);
    connect(form_, &QComboBox::activated, this,
            [this] { setForm(static_cast<survey::LevelForm>(form_->currentData().toInt())); });
    connect(add_, &QPushButton::clicked, this, &LevelsPanel::add);
    connect(datum_, &QPushButton::clicked, this, &LevelsPanel::makeDatum);
    connect(remove_, &QPushButton::clicked, this, [this] { remove(context_.choice.level()); });
    refresh();
}

void LevelsPanel::refresh() {
    model_.setRows(levelRows(context_.document));
    list_->choose(context_.choice.level());
    const bool open = context_.document.isOpen(), any = !context_.choice.level().empty();
    const auto* level = survey::find(context_.document.survey().levels, context_.choice.level());
    form_->setEnabled(level);
    form_->setCurrentIndex(level ? form_->findData(static_cast<int>(level->form)) : -1);
    form_->setToolTip(level ? tr("Whether the chosen level is flat, tilted (a plane askew to the datum), or "
                                 "bowed; each freedom costs some of the ±")
                            : tr("Choose a level first."));
    setUsable(add_, open, tr("Add a level; new edges, holes and arcs lie in the chosen one"),
              tr("Open or start a survey first."));
    setUsable(datum_, any && context_.document.survey().datum.level != context_.choice.level(),
              tr("Make the chosen level the datum: its height is 0"),
              any ? tr("The chosen level is the datum already.") : tr("Choose a level first."));
    setUsable(remove_, any, tr("Remove the chosen level and everything in it (can be undone)"),
              tr("Choose a level first."));
}

void LevelsPanel::add() {
    const auto& survey = context_.document.survey();
    survey::Level level;
    level.id = survey::freshId(survey, 'L');
    level.name = tr("level %1").arg(survey.levels.size() + 1).toStdString();
    survey::Edit edit{"Add " + level.name, {survey::Put<survey::Level>{level}}};
    if (survey.datum.level.empty()) {
        auto datum = survey.datum;
        datum.level = level.id;
        edit.changes.push_back(survey::SetDatum{datum});
    }
    if (!context_.perform(edit)) return;
    context_.choice.setLevel(level.id);
    list_->edit(model_.index(model_.rowOf(level.id), 0));  // its name is wanted next
}

void LevelsPanel::makeDatum() {
    auto datum = context_.document.survey().datum;
    datum.level = context_.choice.level();
    context_.perform({"Make " + survey::describe(context_.document.survey(), datum.level) + " the datum",
                      {survey::SetDatum{datum}}});
}

void LevelsPanel::setForm(survey::LevelForm form) {
    const auto* old = survey::find(context_.document.survey().levels, context_.choice.level());
    if (!old || old->form == form) return;
    survey::Level level = *old;
    level.form = form;
    const std::string name = "Take " + survey::describe(context_.document.survey(), level.id) + " as " +
                             std::string(survey::formName(form));
    if (!context_.perform({name, {survey::Put<survey::Level>{level}}})) refresh();  // back to what holds
}

void LevelsPanel::remove(const survey::Id& id) {
    context_.perform(removeEdit(context_.document.survey(), id));
}

bool LevelsPanel::rename(const survey::Id& id, const QString& name) {
    const auto* old = survey::find(context_.document.survey().levels, id);
    if (!old) return false;
    survey::Level level = *old;
    level.name = name.trimmed().toStdString();
    return context_.perform(
        {"Rename " + survey::describe(context_.document.survey(), id), {survey::Put<survey::Level>{level}}});
}

}  // namespace trammel::ui
