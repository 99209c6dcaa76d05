// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/PhotographsPanel.h"

#include <QCheckBox>
#include <QComboBox>
#include <QGridLayout>
#include <QLabel>
#include <QLineEdit>
#include <QListView>
#include <QPainter>
#include <QPushButton>
#include <algorithm>
#include <cmath>

#include "ui/panels/TypedNumber.h"
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
    cropForm_ = cropForm();
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
    line->setColumnStretch(1, 1);
    connect(view_, &QComboBox::activated, this, &PhotographsPanel::setView);
    connect(used_, &QCheckBox::clicked, this, [this](bool used) {
        context_.perform(excludeEdit(context_.document.survey(), context_.choice.station(), !used));
    });
    return form;
}

QWidget* PhotographsPanel::cropForm() {
    auto* form = new QFrame(this);
    form->setObjectName(QStringLiteral("crop"));
    form->setFrameShape(QFrame::StyledPanel);
    auto* grid = new QGridLayout(form);
    grid->setContentsMargins(6, 6, 6, 6);
    grid->setSpacing(4);
    auto* words = new QLabel(tr("Is this the whole frame of the camera? If cropped, type the frame and where "
                                "the crop begins (px)."),
                             form);
    words->setWordWrap(true);
    grid->addWidget(words, 0, 0, 1, 4);
    auto* whole = new QPushButton(tr("It is whole"), form);
    whole->setObjectName(QStringLiteral("whole"));
    grid->addWidget(whole, 1, 0, 1, 4);
    const auto field = [&](const QString& label, int row, int column) {
        auto* edit = new QLineEdit(form);
        edit->setMinimumWidth(30);
        auto* text = new QLabel(label, form);
        text->setBuddy(edit);
        grid->addWidget(text, row, column);
        grid->addWidget(edit, row, column + 1);
        connect(edit, &QLineEdit::returnPressed, this, [this] { setCrop(false); });
        return edit;
    };
    width_ = field(tr("width"), 2, 0);
    height_ = field(tr("height"), 2, 2);
    offsetX_ = field(tr("left"), 3, 0);
    offsetY_ = field(tr("top"), 3, 2);
    offsetX_->setToolTip(tr("px of the frame cut away on the left"));
    offsetY_->setToolTip(tr("px of the frame cut away at the top"));
    auto* set = new QPushButton(tr("Set the crop"), form);
    grid->addWidget(set, 4, 0, 1, 4);
    connect(whole, &QPushButton::clicked, this, [this] { setCrop(true); });
    connect(set, &QPushButton::clicked, this, [this] { setCrop(false); });
    return form;
}

const survey::Station* PhotographsPanel::station() const {
    return survey::find(context_.document.survey().stations, context_.choice.station());
}

std::vector<Row> PhotographsPanel::rows() const {
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
        if (!s.photo.crop.known) text += tr("\n! crop not known");
        if (!store_.problem(path).isEmpty()) text += tr("\n! cannot be shown");
        const QImage small = store_.thumbnail(path);
        Cell cell{.text = text, .tip = path, .faint = s.excluded};
        cell.icon = plateOf(small);
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
    cropForm_->setVisible(chosen && !chosen->photo.crop.known);
    if (!chosen) return;
    view_->setCurrentIndex(static_cast<int>(chosen->view));
    used_->setChecked(!chosen->excluded);
    if (askedFor_ == chosen->id) return;
    askedFor_ = chosen->id;
    const auto& crop = chosen->photo.crop;
    const auto text = [](int px) { return px > 0 ? QString::number(px) : QString(); };
    width_->setText(text(crop.fullWidth));
    height_->setText(text(crop.fullHeight));
    offsetX_->clear();
    offsetY_->clear();
}

void PhotographsPanel::setView(int index) {
    const auto* old = station();
    if (!old || static_cast<int>(old->view) == index) return;
    survey::Station changed = *old;
    changed.view = static_cast<survey::View>(index);
    putStation(changed, "Set the view of ");
}

void PhotographsPanel::setCrop(bool whole) {
    const auto* old = station();
    if (!old) return;
    survey::Station changed = *old;
    auto& crop = changed.photo.crop;
    if (whole) {
        crop = {changed.photo.width, changed.photo.height, 0.0, 0.0, true};
        return putStation(changed, "Set the crop of ");
    }
    double values[4];
    const std::pair<QLineEdit*, QString> fields[] = {{width_, tr("frame width")},
                                                     {height_, tr("frame height")},
                                                     {offsetX_, tr("left of the crop")},
                                                     {offsetY_, tr("top of the crop")}};
    for (int i = 0; i < 4; ++i) {
        const auto number = typedNumber(fields[i].first->text(), fields[i].second);
        if (!number) return context_.complain(number.error());
        values[i] = *number;
    }
    if (values[0] < values[2] + changed.photo.width || values[1] < values[3] + changed.photo.height ||
        values[2] < 0 || values[3] < 0 || values[0] > 1e6 || values[1] > 1e6)
        return context_.complain({ErrorCode::BadValue, "this crop does not lie within this frame",
                                  survey::describe(context_.document.survey(), changed.id),
                                  "type frame sizes of at least the photograph's " +
                                      std::to_string(changed.photo.width) + " x " +
                                      std::to_string(changed.photo.height) + " px plus what was cut away"});
    crop = {static_cast<int>(std::lround(values[0])), static_cast<int>(std::lround(values[1])), values[2],
            values[3], true};
    putStation(changed, "Set the crop of ");
}

void PhotographsPanel::putStation(const survey::Station& changed, const std::string& act) {
    survey::Edit edit{act + survey::describe(context_.document.survey(), changed.id),
                      {survey::Put<survey::Station>{changed}}};
    const auto* group = survey::find(context_.document.survey().groups, changed.group);
    const auto* old = survey::find(context_.document.survey().stations, changed.id);
    // With the frame known, the principal point is known to lie near its middle; the camera follows, unless
    // it holds something better already.
    if (group && old && !old->photo.crop.known && changed.photo.crop.known &&
        group->principalX.mode != survey::ConstantMode::Fixed) {
        const auto& crop = changed.photo.crop;
        const double doubt = 0.01 * crop.fullWidth;
        if (group->principalX.sigma > doubt || group->principalX.sigma == 0.0) {
            survey::CameraGroup camera = *group;
            camera.principalX = {(crop.fullWidth - 1) / 2.0, doubt, survey::ConstantMode::Prior};
            camera.principalY = {(crop.fullHeight - 1) / 2.0, doubt, survey::ConstantMode::Prior};
            edit.changes.push_back(survey::Put<survey::CameraGroup>{camera});
        }
    }
    context_.perform(edit);
}

}  // namespace trammel::ui
