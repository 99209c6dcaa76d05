// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/FeaturesPanel.h"

#include <QComboBox>
#include <QGridLayout>
#include <QLabel>
#include <QLineEdit>
#include <QPushButton>

#include "core/survey/Names.h"
#include "ui/panels/SurveyRows.h"
#include "ui/panels/TypedNumber.h"
#include "ui/tools/MarkEdits.h"

namespace trammel::ui {

FeaturesPanel::FeaturesPanel(PanelContext context, QWidget* parent)
    : QWidget(parent),
      context_(std::move(context)),
      features_(featureHeadings()),
      outlines_(outlineHeadings()),
      list_(new ListView(features_, 0,
                         tr("No features yet. Take Corner, Edge, Hole or Arc and click it in a "
                            "photograph; choose it here to mark it in the next one."),
                         this)),
      outlineList_(new ListView(outlines_, 2,
                                tr("No outlines yet. Choose what it is for, press Make, and click "
                                   "its features in order."),
                                this)),
      mark_(new QPushButton(tr("Mark it here"), this)),
      fresh_(new QPushButton(tr("New instead"), this)),
      point_(new QPushButton(tr("Datum point"), this)),
      edge_(new QPushButton(tr("Datum edge"), this)),
      remove_(new QPushButton(tr("Remove"), this)),
      makeOutline_(new QPushButton(tr("Make"), this)),
      removeOutline_(new QPushButton(tr("Remove"), this)),
      purpose_(new QComboBox(this)),
      transition_(new QComboBox(this)),
      width_(new QLineEdit(this)) {
    list_->setObjectName(QStringLiteral("features"));
    outlineList_->setObjectName(QStringLiteral("outlines"));
    outlineList_->setSelectionMode(QAbstractItemView::SingleSelection);
    features_.setEditors([this](const auto& id, int, const QString& text) { return rename(id, text); }, {});
    outlines_.setEditors([this](const auto& id, int, const QString& text) { return renameOutline(id, text); },
                         {});
    auto* column = new QVBoxLayout(this);
    column->addWidget(heading(tr("Features"), this));
    column->addWidget(list_, 3);
    column->addLayout(featureButtons());
    column->addLayout(transitionLine());
    column->addWidget(heading(tr("Outlines"), this));
    column->addWidget(outlineList_, 1);
    column->addLayout(outlineButtons());
    connect(list_, &ListView::chosen, this, [this](const std::string& id) {
        context_.choice.setFeature(id);
        const auto* mark = markOf(context_.document.survey(), context_.choice.station(), id);
        context_.choice.setMark(mark ? mark->id : survey::Id());
    });
    connect(list_, &QAbstractItemView::clicked, this,
            [this](const QModelIndex& index) { Q_EMIT featureClicked(features_.idAt(index.row())); });
    connect(list_, &ListView::selectionMoved, this, [this] { Q_EMIT selected(list_->selectedIds()); });
    connect(list_, &ListView::removeAsked, this, &FeaturesPanel::remove);
    connect(outlineList_, &ListView::removeAsked, this, &FeaturesPanel::remove);
    connect(outlineList_->selectionModel(), &QItemSelectionModel::selectionChanged, this,
            &FeaturesPanel::refresh);
    refresh();
}

QLayout* FeaturesPanel::featureButtons() {
    auto* grid = new QGridLayout;
    grid->setSpacing(4);
    grid->addWidget(mark_, 0, 0);
    grid->addWidget(fresh_, 0, 1);
    grid->addWidget(remove_, 0, 2);
    grid->addWidget(point_, 1, 0);
    grid->addWidget(edge_, 1, 1);
    connect(mark_, &QPushButton::clicked, this, [this] { Q_EMIT markAsked(context_.choice.feature()); });
    connect(fresh_, &QPushButton::clicked, this, [this] { context_.choice.setFeature({}); });
    connect(point_, &QPushButton::clicked, this, [this] { makeDatum(true); });
    connect(edge_, &QPushButton::clicked, this, [this] { makeDatum(false); });
    connect(remove_, &QPushButton::clicked, this, [this] { remove(context_.choice.feature()); });
    return grid;
}

QLayout* FeaturesPanel::transitionLine() {
    using survey::Transition;
    transition_->setObjectName(QStringLiteral("transition"));
    const std::pair<Transition, QString> kinds[] = {{Transition::Sharp, tr("sharp")},
                                                    {Transition::Inner, tr("inner line")},
                                                    {Transition::Outer, tr("outer line (silhouette)")},
                                                    {Transition::Round, tr("round")}};
    for (const auto& [kind, words] : kinds) transition_->addItem(words, static_cast<int>(kind));
    width_->setObjectName(QStringLiteral("transitionWidth"));
    width_->setMaximumWidth(64);
    auto* label = new QLabel(tr("Faces meet"), this);
    label->setBuddy(transition_);
    auto* widthLabel = new QLabel(tr("over (mm)"), this);
    widthLabel->setBuddy(width_);
    auto* line = new QHBoxLayout;
    line->setSpacing(4);
    line->addWidget(label);
    line->addWidget(transition_, 1);
    line->addWidget(widthLabel);
    line->addWidget(width_);
    connect(transition_, &QComboBox::activated, this, [this] {
        const bool round = transition_->currentData().toInt() == static_cast<int>(Transition::Round);
        if (round && width_->text().trimmed().isEmpty())
            return width_->setFocus(Qt::OtherFocusReason);  // wanted
        setTransition();
    });
    connect(width_, &QLineEdit::editingFinished, this, &FeaturesPanel::setTransition);
    return line;
}

/// One act for both: a rounding makes no sense without its width.
void FeaturesPanel::setTransition() {
    const auto& survey = context_.document.survey();
    const auto* old = survey::find(survey.features, context_.choice.feature());
    if (!old) return;
    survey::Feature feature = *old;
    feature.transition = static_cast<survey::Transition>(transition_->currentData().toInt());
    feature.transition_mm = 0.0;
    if (!width_->text().trimmed().isEmpty()) {
        const auto width = typedNumber(width_->text(), tr("width of the transition"));
        if (!width) return context_.complain(width.error());
        feature.transition_mm = *width;
    }
    if (feature == *old) return;
    const std::string name =
        "Take " + survey::describe(survey, feature.id) + " as " + transition_->currentText().toStdString();
    if (!context_.perform({name, {survey::Put<survey::Feature>{feature}}})) refresh();  // back to what holds
}

QLayout* FeaturesPanel::outlineButtons() {
    using survey::OutlinePurpose;
    for (const auto p : {OutlinePurpose::Outline, OutlinePurpose::Cutout, OutlinePurpose::KeepOut})
        purpose_->addItem(QString::fromLatin1(survey::purposeName(p).data()), static_cast<int>(p));
    purpose_->setAccessibleName(tr("What the outline is for"));
    auto* line = new QHBoxLayout;
    line->setSpacing(4);
    line->addWidget(purpose_, 1);
    line->addWidget(makeOutline_);
    line->addWidget(removeOutline_);
    connect(makeOutline_, &QPushButton::clicked, this, &FeaturesPanel::outlineAsked);
    connect(removeOutline_, &QPushButton::clicked, this, [this] { remove(outlineList_->currentId()); });
    return line;
}

survey::OutlinePurpose FeaturesPanel::purpose() const {
    return static_cast<survey::OutlinePurpose>(purpose_->currentData().toInt());
}

void FeaturesPanel::refresh() {
    const auto& survey = context_.document.survey();
    features_.setRows(featureRows(context_.document));
    outlines_.setRows(outlineRows(context_.document));
    list_->choose(context_.choice.feature());
    const auto* feature = survey::find(survey.features, context_.choice.feature());
    const bool edge = feature && feature->kind == survey::FeatureKind::Edge;
    const QString choose = tr("Choose a feature in the list first.");
    transition_->setEnabled(feature);
    width_->setEnabled(feature);
    transition_->setCurrentIndex(feature ? transition_->findData(static_cast<int>(feature->transition)) : -1);
    if (!width_->hasFocus() || !feature || width_->property("of").toString().toStdString() != feature->id)
        width_->setText(feature && feature->transition_mm > 0.0 ? QString::number(feature->transition_mm)
                                                                : QString());
    width_->setProperty("of", feature ? QString::fromStdString(feature->id) : QString());
    transition_->setToolTip(
        feature ? tr("How its two faces meet. Of a chamfer's two lines the inner one lies nearer to the "
                     "middle of what the feature bounds; a fit then takes the one named without asking. "
                     "A rounding adds a share of its width to the σ of fitted marks.")
                : choose);
    width_->setToolTip(feature ? tr("Width of the chamfer or rounding in mm, seen square to the level")
                               : choose);
    setUsable(mark_, feature && !context_.choice.station().empty(),
              tr("Take the tool that marks the chosen feature in the large photograph"), choose);
    setUsable(fresh_, feature, tr("Let go of the chosen feature: the next mark makes a new one"),
              tr("No feature is chosen: the next mark makes a new one already."));
    setUsable(remove_, feature, tr("Remove the chosen feature with its marks and readings (can be undone)"),
              choose);
    setUsable(point_, feature && !edge, tr("Make the chosen feature the origin: x = y = 0"),
              feature ? tr("An edge has no point; choose a corner, hole or arc.") : choose);
    setUsable(edge_, feature,
              tr("Let +x run along the chosen edge, or from the datum point to the chosen point"), choose);
    setUsable(makeOutline_, !survey.features.empty(),
              tr("Choose features in order, in a photograph or in the list"), tr("Mark features first."));
    setUsable(removeOutline_, !outlineList_->currentId().empty(),
              tr("Remove the chosen outline (can be undone)"), tr("Choose an outline in the list first."));
}

void FeaturesPanel::makeDatum(bool origin) {
    const auto& survey = context_.document.survey();
    auto datum = survey.datum;
    (origin ? datum.origin : datum.direction) = context_.choice.feature();
    const std::string name = survey::describe(survey, context_.choice.feature());
    context_.perform(
        {"Make " + name + (origin ? " the datum point" : " the datum direction"), {survey::SetDatum{datum}}});
}

void FeaturesPanel::remove(const survey::Id& id) {
    if (!id.empty()) context_.perform(removeEdit(context_.document.survey(), id));
}

bool FeaturesPanel::rename(const survey::Id& id, const QString& name) {
    const auto* old = survey::find(context_.document.survey().features, id);
    if (!old) return false;
    survey::Feature feature = *old;
    feature.name = name.trimmed().toStdString();
    return context_.perform({"Rename " + survey::describe(context_.document.survey(), id),
                             {survey::Put<survey::Feature>{feature}}});
}

bool FeaturesPanel::renameOutline(const survey::Id& id, const QString& name) {
    const auto* old = survey::find(context_.document.survey().outlines, id);
    if (!old) return false;
    survey::Outline outline = *old;
    outline.name = name.trimmed().toStdString();
    return context_.perform({"Rename " + survey::describe(context_.document.survey(), id),
                             {survey::Put<survey::Outline>{outline}}});
}

}  // namespace trammel::ui
