// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/PhotographsPanel.h"

#include <QCheckBox>
#include <QComboBox>
#include <QGridLayout>
#include <QLabel>
#include <QListView>
#include <QPainter>
#include <QPushButton>
#include <algorithm>

#include "ui/tools/MarkEdits.h"

namespace trammel::ui {
namespace {

constexpr QSize kStripIcon(132, 88);

/// The photograph in the middle of a plate of one size, so that lists stand in order.
QIcon plateOf(const QImage& small) {
    QPixmap plate(kStripIcon * 2);  // twice the size serves the grid and fine screens
    plate.fill(QColor(52, 54, 56));
    if (small.isNull()) return QIcon(plate);
    QPainter painter(&plate);
    const QImage fitted = small.scaled(plate.size(), Qt::KeepAspectRatio, Qt::SmoothTransformation);
    painter.drawImage((plate.width() - fitted.width()) / 2, (plate.height() - fitted.height()) / 2, fitted);
    return QIcon(plate);
}

QString labelOf(const survey::Station& station) {
    return QString::fromStdString(station.name.empty() ? station.id : station.name);
}

QString viewWord(survey::View view) { return QString::fromLatin1(survey::viewName(view).data()); }

}  // namespace

PhotographsPanel::PhotographsPanel(PanelContext context, PhotoStore& store, QWidget* parent)
    : QWidget(parent),
      context_(std::move(context)),
      store_(store),
      model_({tr("photograph")}),
      strip_(new QListView(this)),
      add_(new QPushButton(tr("Add…"), this)),
      remove_(new QPushButton(tr("Remove"), this)) {
    strip_->setObjectName(QStringLiteral("photographs"));
    strip_->setModel(&model_);
    strip_->setIconSize(kStripIcon);
    strip_->setViewMode(QListView::IconMode);
    strip_->setFlow(QListView::TopToBottom);
    strip_->setWrapping(false);
    strip_->setMovement(QListView::Static);
    strip_->setSpacing(3);
    strip_->setUniformItemSizes(true);
    strip_->setWordWrap(true);
    strip_->setEditTriggers(QAbstractItemView::NoEditTriggers);
    strip_->setVerticalScrollMode(QAbstractItemView::ScrollPerPixel);
    viewForm_ = viewForm();
    cropForm_ = new CropForm(context_, this);
    connect(cropForm_, &CropForm::leftUnknown, this, [this](const std::string& id) {
        answered_.insert(id);
        refreshForms(station());
    });
    auto* buttons = new QHBoxLayout;
    buttons->setSpacing(4);
    buttons->addWidget(add_);
    buttons->addWidget(remove_);
    auto* column = new QVBoxLayout(this);
    column->setContentsMargins(0, 0, 0, 0);
    column->addWidget(heading(tr("Photographs"), this));
    column->addWidget(strip_, 1);
    column->addWidget(viewForm_);
    column->addWidget(cropForm_);
    column->addLayout(buttons);
    connect(add_, &QPushButton::clicked, this, &PhotographsPanel::addAsked);
    connect(remove_, &QPushButton::clicked, this,
            [this] { context_.perform(removeEdit(context_.document.survey(), context_.choice.station())); });
    connect(strip_->selectionModel(), &QItemSelectionModel::currentRowChanged, this,
            [this](const QModelIndex& index) {
                if (index.isValid()) context_.choice.setStation(model_.idAt(index.row()));
            });
    connect(&store_, &PhotoStore::arrived, this, [this] { model_.setRows(rows()); });
    refresh();
}

QWidget* PhotographsPanel::viewForm() {
    auto* form = new QWidget(this);
    auto* line = new QGridLayout(form);
    line->setContentsMargins(0, 0, 0, 0);
    view_ = new QComboBox(form);
    view_->setObjectName(QStringLiteral("view"));
    view_->setToolTip(tr("Which side of the part this photograph shows (ISO 5456-2)"));
    for (int v = 0; v <= static_cast<int>(survey::View::Oblique); ++v)
        view_->addItem(viewWord(static_cast<survey::View>(v)), v);
    used_ = new QCheckBox(tr("used"), form);
    used_->setToolTip(tr("Unticked: the adjustment leaves this photograph out"));
    auto* label = new QLabel(tr("View"), form);
    label->setBuddy(view_);
    line->addWidget(label, 0, 0);
    line->addWidget(view_, 0, 1);
    line->addWidget(used_, 0, 2);
    frame_ = new QPushButton(tr("Frame and crop…"), form);
    frame_->setObjectName(QStringLiteral("frame"));
    frame_->setToolTip(tr("Where this picture lies in the whole frame of the camera"));
    frame_->setCheckable(true);
    line->addWidget(frame_, 1, 0, 1, 3);
    line->setColumnStretch(1, 1);
    connect(frame_, &QPushButton::clicked, this, [this] { refreshForms(station()); });
    connect(view_, &QComboBox::activated, this, &PhotographsPanel::setView);
    connect(used_, &QCheckBox::clicked, this, [this](bool used) {
        context_.perform(excludeEdit(context_.document.survey(), context_.choice.station(), !used));
    });
    return form;
}

const survey::Station* PhotographsPanel::station() const {
    return survey::find(context_.document.survey().stations, context_.choice.station());
}

std::vector<Row> PhotographsPanel::rows() {
    std::vector<Row> rows;
    const auto& survey = context_.document.survey();
    for (const auto& s : survey.stations) {
        const auto path = QString::fromStdString(context_.document.photoPath(s).string());
        const auto marks =
            std::ranges::count_if(survey.marks, [&](const auto& m) { return m.station == s.id; });
        QString text =
            tr("%1\n%2 · %n mark(s)", nullptr, static_cast<int>(marks)).arg(labelOf(s), viewWord(s.view));
        text.replace(QStringLiteral("mark(s)"), marks == 1 ? tr("mark") : tr("marks"));
        if (s.excluded) text += tr("\nleft out");
        if (!s.photo.crop.known)
            text += survey::isCropped(s.photo) ? tr("\n! crop not known") : tr("\n! frame not known");
        if (!store_.problem(path).isEmpty()) text += tr("\n! cannot be shown");
        const QImage small = store_.thumbnail(path);
        QIcon& plate = plates_[small.cacheKey()];
        if (plate.isNull()) plate = plateOf(small);
        Cell cell{.text = text, .tip = path, .faint = s.excluded};
        cell.icon = plate;
        rows.push_back({s.id, {cell}});
    }
    return rows;
}

void PhotographsPanel::refresh() {
    model_.setRows(rows());
    const int row = model_.rowOf(context_.choice.station());
    if (row >= 0 && strip_->currentIndex().row() != row) strip_->setCurrentIndex(model_.index(row, 0));
    const bool open = context_.document.isOpen();
    setUsable(add_, open, tr("Add photographs of the same unit"), tr("Open or start a survey first."));
    setUsable(remove_, station(),
              tr("Remove the chosen photograph and its marks from the survey (can be undone; "
                 "the file stays)"),
              tr("Choose a photograph first."));
    refreshForms(station());
}

void PhotographsPanel::refreshForms(const survey::Station* chosen) {
    viewForm_->setVisible(chosen);
    if (frameOf_ != (chosen ? chosen->id : survey::Id())) frame_->setChecked(false);
    frameOf_ = chosen ? chosen->id : survey::Id();
    // Asked without being called only where it matters, and once.
    const bool asks = chosen && !chosen->photo.crop.known && !answered_.contains(chosen->id);
    frame_->setVisible(!asks);
    cropForm_->setVisible(chosen && (asks || frame_->isChecked()));
    if (!chosen) return;
    view_->setCurrentIndex(static_cast<int>(chosen->view));
    used_->setChecked(!chosen->excluded);
    cropForm_->ask(*chosen);
}

void PhotographsPanel::setView(int index) {
    const auto* old = station();
    if (!old || static_cast<int>(old->view) == index) return;
    survey::Station changed = *old;
    changed.view = static_cast<survey::View>(index);
    context_.perform({"Set the view of " + survey::describe(context_.document.survey(), changed.id),
                      {survey::Put<survey::Station>{changed}}});
}

}  // namespace trammel::ui
