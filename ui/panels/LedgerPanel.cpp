// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/LedgerPanel.h"

#include <QAction>
#include <QClipboard>
#include <QComboBox>
#include <QGridLayout>
#include <QGuiApplication>
#include <QHeaderView>
#include <QLabel>
#include <QLineEdit>
#include <QPushButton>
#include <QTextBrowser>
#include <algorithm>

#include "core/adjust/Report.h"
#include "core/base/Angle.h"
#include "ui/panels/LedgerRows.h"
#include "ui/panels/ResidualBar.h"
#include "ui/panels/TypedNumber.h"
#include "ui/tools/MarkEdits.h"

namespace trammel::ui {

QString adjustmentSummary(const Document& document) {
    const auto& solution = document.solution();
    const auto tr = [](const char* text) { return LedgerPanel::tr(text); };
    if (!document.isOpen()) return tr("No survey is open.");
    if (!solution) return tr("Not adjusted yet. Press Adjust when marks and at least one length are there.");
    QString text =
        adjust::agrees(*solution) ? tr("Everything agrees.") : tr("Something disagrees: see Checks.");
    text += QStringLiteral(" ") + QString::fromStdString(adjust::globalText(solution->global));
    if (document.solutionIsOld()) text = tr("The survey has changed since; adjust again. Before: ") + text;
    return text;
}

LedgerPanel::LedgerPanel(PanelContext context, QWidget* parent)
    : QWidget(parent),
      context_(std::move(context)),
      model_(ledgerHeadings()),
      list_(new ListView(model_, -1,
                         tr("Nothing is wanted or typed yet. Choose below what you want to know of the part; "
                            "readings, reference lengths and conditions come here too."),
                         this)),
      objects_(new ObjectsForm(false, this)),
      kinds_(new QComboBox(this)),
      words_(new QLineEdit(this)),
      name_(new QLineEdit(this)),
      summary_(new QLabel(this)),
      show_(new QPushButton(tr("Show me"), this)),
      out_(new QPushButton(tr("Leave out"), this)),
      origin_(new QPushButton(tr("Where from?"), this)),
      copy_(new QPushButton(tr("Copy"), this)),
      add_(new QPushButton(tr("Want this dimension"), this)),
      remove_(new QPushButton(tr("Remove"), this)),
      page_(new QTextBrowser(this)) {
    list_->setObjectName(QStringLiteral("ledger"));
    list_->setOrderable();
    list_->setItemDelegateForColumn(kResidual, new ResidualBar(list_));
    list_->horizontalHeader()->setSectionResizeMode(kResidual, QHeaderView::Interactive);
    list_->setColumnWidth(kResidual, list_->fontMetrics().horizontalAdvance(QStringLiteral("! −9.9")) +
                                         ResidualBar::kWidth + 12);
    list_->setColumnWidth(kName,
                          list_->fontMetrics().horizontalAdvance(QStringLiteral("height heat sink n")) + 16);
    summary_->setObjectName(QStringLiteral("summary"));
    summary_->setWordWrap(true);
    page_->setObjectName(QStringLiteral("origin"));
    page_->setOpenLinks(false);
    page_->setVisible(false);
    page_->setMaximumHeight(page_->fontMetrics().height() * 11);
    model_.setEditors(
        [this](const auto& id, int column, const QString& text) { return edit(id, column, text); },
        [this](const auto& id, int column, bool on) { return tick(id, column, on); });
    auto* column = new QVBoxLayout(this);
    column->addWidget(heading(tr("Ledger: what is wanted and what was typed"), this));
    column->addLayout(makeFinder());
    column->addWidget(list_, 1);
    column->addLayout(makeActs());
    column->addWidget(page_);
    column->addWidget(summary_);
    column->addLayout(makeForm());
    connect(list_, &ListView::chosen, this, [this](const std::string& id) { context_.choice.setEntry(id); });
    connect(list_, &ListView::removeAsked, this,
            [this](const std::string& id) { context_.perform(removeEdit(context_.document.survey(), id)); });
    connect(list_->selectionModel(), &QItemSelectionModel::selectionChanged, this, &LedgerPanel::refreshForm);
    refresh();
}

QLayout* LedgerPanel::makeFinder() {
    kinds_->setObjectName(QStringLiteral("ledgerKinds"));
    kinds_->setAccessibleName(tr("Which rows"));
    const std::pair<Kinds, QString> choices[] = {
        {Kinds::All, tr("everything")},        {Kinds::Dimensions, tr("dimensions")},
        {Kinds::Matter, tr("what matters")},   {Kinds::Readings, tr("readings")},
        {Kinds::References, tr("references")}, {Kinds::Conditions, tr("conditions")},
        {Kinds::Checks, tr("checks")},         {Kinds::Suspects, tr("what disagrees")}};
    for (const auto& [kind, text] : choices) kinds_->addItem(text, static_cast<int>(kind));
    words_->setObjectName(QStringLiteral("ledgerWords"));
    words_->setPlaceholderText(tr("words to find: a name, a feature, a kind"));
    words_->setClearButtonEnabled(true);
    words_->setAccessibleName(tr("Words that the rows must have"));
    auto* line = new QHBoxLayout;
    line->addWidget(kinds_);
    line->addWidget(words_, 1);
    connect(words_, &QLineEdit::textChanged, this, [this](const QString& text) {
        list_->order().setWords(text);
        refreshForm();
    });
    connect(kinds_, &QComboBox::currentIndexChanged, this, [this] {
        const auto kinds = static_cast<Kinds>(kinds_->currentData().toInt());
        if (kinds == Kinds::All)
            list_->order().setKeep({});
        else
            list_->order().setKeep([this, kinds](const survey::Id& id) { return isKept(kinds, id); });
        refreshForm();
    });
    return line;
}

QLayout* LedgerPanel::makeActs() {
    show_->setObjectName(QStringLiteral("ledgerShow"));
    out_->setObjectName(QStringLiteral("ledgerOut"));
    origin_->setObjectName(QStringLiteral("ledgerOrigin"));
    copy_->setObjectName(QStringLiteral("ledgerCopy"));
    origin_->setCheckable(true);
    auto* line = new QHBoxLayout;
    for (auto* button : {show_, out_, origin_, copy_}) line->addWidget(button);
    connect(show_, &QPushButton::clicked, this, [this] { Q_EMIT showAsked(list_->currentId()); });
    connect(out_, &QPushButton::clicked, this, &LedgerPanel::leaveOut);
    connect(origin_, &QPushButton::toggled, this, [this] { refreshOrigin(); });
    connect(copy_, &QPushButton::clicked, this, &LedgerPanel::copy);
    connect(page_, &QTextBrowser::anchorClicked, this, [this](const QUrl& place) {
        const std::string id = place.path().toStdString();
        if (!entryKind(context_.document.survey(), id)) return Q_EMIT showAsked(id);
        list_->choose(id);
        context_.choice.setEntry(id);
        refreshForm();
    });
    auto* keys = new QAction(list_);
    keys->setShortcut(QKeySequence::Copy);
    keys->setShortcutContext(Qt::WidgetShortcut);
    list_->addAction(keys);
    connect(keys, &QAction::triggered, this, &LedgerPanel::copy);
    return line;
}

QLayout* LedgerPanel::makeForm() {
    add_->setObjectName(QStringLiteral("addDimension"));
    auto* grid = new QGridLayout;
    auto* label = new QLabel(tr("Name"), this);
    label->setBuddy(name_);
    grid->addWidget(objects_, 0, 0, 1, 4);
    grid->addWidget(label, 1, 0);
    grid->addWidget(name_, 1, 1);
    grid->addWidget(add_, 1, 2);
    grid->addWidget(remove_, 1, 3);
    grid->setColumnStretch(1, 1);
    connect(objects_, &ObjectsForm::changed, this, &LedgerPanel::refreshForm);
    connect(add_, &QPushButton::clicked, this, &LedgerPanel::add);
    connect(name_, &QLineEdit::returnPressed, this, &LedgerPanel::add);
    connect(remove_, &QPushButton::clicked, this,
            [this] { context_.perform(removeEdit(context_.document.survey(), list_->currentId())); });
    return grid;
}

bool LedgerPanel::isKept(Kinds kinds, const survey::Id& id) const {
    const auto& survey = context_.document.survey();
    const auto* d = survey::find(survey.dimensions, id);
    const auto* r = survey::find(survey.readings, id);
    const auto& solution = context_.document.solution();
    switch (kinds) {
        case Kinds::All:
            return true;
        case Kinds::Dimensions:
            return d;
        case Kinds::Matter:
            return d && d->important;
        case Kinds::Readings:
            return r && !r->reference;
        case Kinds::References:
            return r && r->reference;
        case Kinds::Conditions:
            return survey::find(survey.conditions, id);
        case Kinds::Checks:
            return r && r->check;
        case Kinds::Suspects:
            return solution && std::ranges::any_of(solution->suspects, [&](const auto& s) {
                       return s.object == id || std::ranges::find(s.alternatives, id) != s.alternatives.end();
                   });
    }
    return true;
}

void LedgerPanel::refresh() {
    model_.setRows(ledgerRows(context_.document));
    list_->order().refresh();  // what matters or disagrees may have changed
    summary_->setText(adjustmentSummary(context_.document));
    if (shownRevision_ != context_.document.revision()) objects_->setSurvey(context_.document.survey());
    shownRevision_ = context_.document.revision();
    refreshForm();
}

void LedgerPanel::refreshChoice() {
    const auto& survey = context_.document.survey();
    const survey::Id& feature = context_.choice.feature();
    const bool moved = context_.choice.entry() != followedEntry_;
    followedEntry_ = context_.choice.entry();
    if (feature != followed_) {  // chosen elsewhere: all rows that are about it
        followed_ = feature;
        std::vector<survey::Id> about;
        for (const Row& row : model_.rows()) {
            const auto objects = objectsOf(survey, row.id);
            if (std::ranges::find(objects, feature) != objects.end()) about.push_back(row.id);
        }
        list_->select(about);
        if (!about.empty()) {
            followedEntry_.clear();  // by itself: what was just selected stays
            context_.choice.setEntry({});
        }
    } else if (context_.choice.entry() != list_->currentId() && list_->selectedIds().size() < 2 &&
               (moved || !context_.choice.entry().empty())) {
        list_->choose(context_.choice.entry());
    }
    refreshForm();
}

void LedgerPanel::refreshForm() {
    const auto& survey = context_.document.survey();
    const survey::Id id = list_->currentId();
    const bool complete = objects_->complete();
    setUsable(add_, context_.document.isOpen() && complete, tr("Add this dimension to the ledger"),
              tr("Mark the features that the dimension is about first."));
    const QString choose = tr("Choose a row in the list first.");
    setUsable(remove_, !id.empty(), tr("Remove the chosen row (can be undone)"), choose);
    setUsable(show_, !id.empty(), tr("Open the photograph where it is seen"), choose);
    const auto kind = entryKind(survey, id);
    const bool typed = kind && *kind != EntryKind::Dimension, out = typed && isExcluded(survey, id);
    out_->setText(out ? tr("Take in again") : tr("Leave out"));
    setUsable(
        out_, typed,
        out ? tr("Let the adjustment use it again") : tr("Keep it, but let the adjustment do without it"),
        kind ? tr("A wanted dimension is a result: there is nothing to leave out.") : choose);
    setUsable(origin_, !id.empty(), tr("Where the ± of the chosen row comes from"), choose);
    setUsable(copy_, model_.rowCount() > 0,
              tr("Copy two or more chosen rows, else all that are seen, as text for a sheet of cells (Ctrl+C "
                 "in the list)"),
              tr("There is nothing to copy yet."));
    refreshOrigin();
}

void LedgerPanel::refreshOrigin() {
    const survey::Id id = list_->currentId();
    page_->setVisible(origin_->isChecked() && !id.empty());
    if (page_->isVisibleTo(this)) page_->setHtml(originOfPlusMinus(context_.document, id));
}

void LedgerPanel::leaveOut() {
    const survey::Id id = list_->currentId();
    const auto& survey = context_.document.survey();
    context_.perform(excludeEdit(survey, id, !isExcluded(survey, id)));
}

void LedgerPanel::copy() {
    auto ids = list_->selectedIds();
    if (ids.size() < 2 && !list_->hasFocus()) ids = list_->shownIds();  // the button: all that are seen
    QGuiApplication::clipboard()->setText(asTable(context_.document, ids));
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

bool LedgerPanel::edit(const survey::Id& id, int column, const QString& text) {
    if (column == kWanted) return setWanted(id, text);
    return column == kValue ? setValue(id, text) : rename(id, text.trimmed().toStdString());
}

bool LedgerPanel::tick(const survey::Id& id, int column, bool on) {
    const auto& survey = context_.document.survey();
    const std::string what = survey::describe(survey, id);
    if (column == kMatters) {
        const auto* old = survey::find(survey.dimensions, id);
        if (!old) return false;
        survey::Dimension dimension = *old;
        dimension.important = on;
        return context_.perform({(on ? "Say that it matters: " : "Say that it does not matter: ") + what,
                                 {survey::Put<survey::Dimension>{dimension}}});
    }
    const auto* old = survey::find(survey.readings, id);
    if (!old) return false;
    survey::Reading reading = *old;
    reading.check = on;
    return context_.perform({(on ? "Keep as a check: " : "Use, no longer a check: ") + what,
                             {survey::Put<survey::Reading>{reading}}});
}

bool LedgerPanel::setValue(const survey::Id& id, const QString& text) {
    const auto* old = survey::find(context_.document.survey().readings, id);
    if (!old) return false;
    const auto typed = typedNumber(text, tr("value"));
    if (!typed) {
        context_.complain(typed.error());
        return false;
    }
    survey::Reading reading = *old;
    const bool angle = reading.quantity == survey::Quantity::Angle;
    reading.measured.value = angle ? Angle::degrees(*typed).rad() : *typed;
    return context_.perform({"Change " + survey::describe(context_.document.survey(), id),
                             {survey::Put<survey::Reading>{reading}}});
}

bool LedgerPanel::rename(const survey::Id& id, const std::string& name) {
    const auto& survey = context_.document.survey();
    const std::string act = "Rename " + survey::describe(survey, id);
    if (const auto* r = survey::find(survey.readings, id)) {
        survey::Reading reading = *r;
        reading.name = name;
        return context_.perform({act, {survey::Put<survey::Reading>{reading}}});
    }
    const auto* d = survey::find(survey.dimensions, id);
    if (!d) return false;
    survey::Dimension dimension = *d;
    dimension.name = name;
    return context_.perform({act, {survey::Put<survey::Dimension>{dimension}}});
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
