// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/PlanForm.h"

#include <fmt/core.h>

#include <QCheckBox>
#include <QComboBox>
#include <QFormLayout>
#include <QHBoxLayout>
#include <QLabel>
#include <QLineEdit>
#include <QRegularExpression>
#include <numbers>

#include "core/plan/TaskWords.h"
#include "ui/panels/TypedNumber.h"

namespace trammel::ui {
namespace {

/// Of texts where a comma can be nothing else than a decimal one.
std::string withPoints(QString text) {
    text = text.trimmed();
    text.replace(QLatin1Char(','), QLatin1Char('.'));
    return text.toStdString();
}

QString plain(double value) { return QString::number(value, 'g', 6); }

}  // namespace

std::string listWithPoints(QString text) {
    static const QRegularExpression decimal(QStringLiteral("(?<=\\d),(?=\\d)"));
    text.replace(decimal, QStringLiteral("."));
    text.replace(QLatin1Char(';'), QLatin1Char(','));
    return text.trimmed().toStdString();
}

PlanForm::PlanForm(QWidget* parent) : QWidget(parent), form_(new QFormLayout(this)) {
    form_->setContentsMargins(0, 0, 0, 0);
    form_->setVerticalSpacing(4);
    size_ = line("planSize", tr("Part size, mm"), QStringLiteral("160x100"),
                 tr("Width and height of the part, like 160x100"));
    heights_ = line("planHeights", tr("Heights, mm"), QStringLiteral("0; 1.6; 12"),
                    tr("Of the levels over the datum level, which is 0; parted by semicolons"));
    need_ = line("planNeed", tr("Wanted ±, mm"), QStringLiteral("0.1"),
                 tr("The ± (expanded uncertainty, k = 2) that would do for distances, positions and "
                    "diameters"));
    needHeight_ = line("planNeedHeight", tr("Of heights, mm"), {},
                       tr("The ± that would do for heights; empty: the same as above"));
    sensor_ = choice("planSensor", tr("Sensor, mm"),
                     tr("Width and height, like 36x24, or one of the usual names; your camera's manual has "
                        "it"));
    sensor_->setEditable(true);
    for (const auto& name : plan::sensorNames()) sensor_->addItem(QString::fromStdString(name));
    sensor_->setCurrentText(QStringLiteral("full"));
    pixels_ = line("planPixels", tr("Pixels"), QStringLiteral("6000x4000"),
                   tr("Of the whole frame, like 6000x4000"));
    lenses_ = line("planLenses", tr("Lenses, mm"), QStringLiteral("200; 85-135"),
                   tr("All of yours by focal length, parted by semicolons; what else you know of one behind "
                      "commas: 200; 85-135,widest=4,narrowest=22,closest=1500 (f-numbers, mm)"));
    room_ = line("planRoom", tr("Room, m"), QStringLiteral("5"),
                 tr("From the part to the wall behind the camera"));
    reference_ = line("planReference", tr("Reference length"), QStringLiteral("rule 300"),
                      tr("rule 300 (any number of mm), card, A3, A4 or A5"));
    caliper_ = line("planCaliper", tr("Caliper up to, mm"), QStringLiteral("150"),
                    tr("The longest that your caliper spans; empty: none at hand"));
    depthRod_ = new QCheckBox(tr("at hand"), this);
    depthRod_->setChecked(true);
    makeRow(depthRod_, "planDepthRod", tr("Depth rod"), tr("To measure heights of levels by hand"));
    connect(depthRod_, &QCheckBox::clicked, this, [this] { touch(depthRod_); });
    marks_ = choice("planMarks", tr("Marks"), tr("Clicked by hand, or fitted to the picture"));
    marks_->addItem(tr("fitted to the picture"), QStringLiteral("fitted"));
    marks_->addItem(tr("clicked by hand"), QStringLiteral("clicked"));
    square_ = choice("planSquare", tr("Squared"), tr("How the camera is made square to the part"));
    square_->addItem(tr("by eye"), QStringLiteral("eye"));
    square_->addItem(tr("with a spirit level"), QStringLiteral("level"));
    square_->addItem(tr("with a mirror"), QStringLiteral("mirror"));
    square_->setCurrentIndex(1);
    connect(sensor_, &QComboBox::currentTextChanged, this, [this] { touch(sensor_); });
    for (auto* box : {marks_, square_})
        connect(box, &QComboBox::currentIndexChanged, this, [this, box] { touch(box); });
    setFocusProxy(size_);
    explain();
}

QWidget* PlanForm::first() const { return size_; }

QWidget* PlanForm::makeRow(QWidget* field, const char* name, const QString& label, const QString& tip) {
    field->setObjectName(QLatin1String(name));
    field->setAccessibleName(label);
    field->setToolTip(tip);
    auto* note = new QLabel(this);
    note->setObjectName(QLatin1String(name) + QStringLiteral("Note"));
    note->setTextFormat(Qt::PlainText);
    note->setForegroundRole(QPalette::PlaceholderText);  // fainter than what is typed
    note->setMinimumWidth(note->fontMetrics().horizontalAdvance(tr("36 × 24 mm, assumed")) + 12);
    auto* row = new QHBoxLayout;
    row->setSpacing(6);
    row->addWidget(field, 1);
    row->addWidget(note);
    auto* title = new QLabel(label, this);
    title->setBuddy(field);
    form_->addRow(title, row);
    fields_[field] = {label, note, false};
    order_.push_back(field);
    return field;
}

QLineEdit* PlanForm::line(const char* name, const QString& label, const QString& text, const QString& tip) {
    auto* edit = new QLineEdit(text, this);
    makeRow(edit, name, label, tip);
    connect(edit, &QLineEdit::textChanged, this, [this, edit] { touch(edit); });
    connect(edit, &QLineEdit::returnPressed, this, &PlanForm::enterPressed);
    return edit;
}

QComboBox* PlanForm::choice(const char* name, const QString& label, const QString& tip) {
    auto* box = new QComboBox(this);
    makeRow(box, name, label, tip);
    return box;
}

void PlanForm::touch(const QWidget* field) {
    fields_.at(field).touched = true;
    explain();
    Q_EMIT edited();
}

QStringList PlanForm::assumed() const {
    QStringList out;
    for (const QWidget* field : order_)
        if (!fields_.at(field).touched) out << fields_.at(field).label;
    return out;
}

void PlanForm::explain() {
    std::map<const QWidget*, QString> understood;
    plan::Task t;
    if (readPart(t)) {
        QStringList levels;
        for (const double h : t.heights_mm) levels << plain(h);
        understood[heights_] =
            levels.size() <= 3 ? levels.join(QStringLiteral("; ")) : tr("%1 levels").arg(levels.size());
        fields_.at(heights_).note->setToolTip(tr("Understood: %1 mm").arg(levels.join(QStringLiteral("; "))));
        if (!t.needHeight_mm) understood[needHeight_] = tr("± %1 mm").arg(plain(t.need_mm));
    }
    if (readCamera(t)) {
        understood[sensor_] = tr("%1 × %2 mm").arg(plain(t.sensor.width_mm), plain(t.sensor.height_mm));
        understood[pixels_] = tr("%1 µm each").arg(QString::number(1000 * t.sensor.pitch_mm(), 'f', 2));
    }
    if (readTools(t)) {
        understood[reference_] = tr("± %1 mm").arg(QString::number(2 * t.reference.sigma_mm, 'f', 2));
        if (!t.caliper) understood[caliper_] = tr("none at hand");
        understood[marks_] = tr("σ %1 px").arg(plain(t.markSigma()));
        understood[square_] =
            tr("σ %1°").arg(plain(plan::squareSigma_rad(t.squaring) * 180.0 / std::numbers::pi));
    }
    for (const QWidget* field : order_) {
        const Field& f = fields_.at(field);
        QStringList words;
        if (const auto known = understood.find(field); known != understood.end()) words << known->second;
        if (!f.touched) words << tr("assumed");
        f.note->setText(words.join(QStringLiteral(", ")));
    }
}

Result<void> PlanForm::readPart(plan::Task& t) const {
    const auto size = plan::sizeFrom("part size", withPoints(size_->text()));
    if (!size) return size.error();
    t.sizeX_mm = size->x();
    t.sizeY_mm = size->y();
    const auto heights = plan::numbersFrom("heights", listWithPoints(heights_->text()));
    if (!heights) return heights.error();
    t.heights_mm = *heights;
    const auto need = typedNumber(need_->text(), tr("wanted ±"));
    if (!need) return need.error();
    t.need_mm = *need;
    if (needHeight_->text().trimmed().isEmpty()) return {};
    const auto needHeight = typedNumber(needHeight_->text(), tr("wanted ± of heights"));
    if (!needHeight) return needHeight.error();
    t.needHeight_mm = *needHeight;
    return {};
}

Result<void> PlanForm::readCamera(plan::Task& t) const {
    const QString typed = sensor_->currentText().trimmed();
    auto sensor = plan::sensorSize(typed.toStdString()) ? plan::sensorFrom(typed.toStdString(), t.sensor)
                                                        : plan::sensorFrom(withPoints(typed), t.sensor);
    if (sensor) sensor = plan::pixelsFrom(withPoints(pixels_->text()), *sensor);
    if (!sensor) return sensor.error();
    t.sensor = *sensor;
    for (const QString& one : lenses_->text().split(QLatin1Char(';'), Qt::SkipEmptyParts)) {
        const auto lens = plan::lensFrom(one.trimmed().toStdString());
        if (!lens) return lens.error();
        t.lenses.push_back(*lens);
    }
    return {};
}

Result<void> PlanForm::readTools(plan::Task& t) const {
    const auto room = typedNumber(room_->text(), tr("room"));
    if (!room) return room.error();
    t.room_mm = *room * 1000.0;
    const auto reference = plan::referenceFrom(withPoints(reference_->text()));
    if (!reference) return reference.error();
    t.reference = *reference;
    t.caliper = !caliper_->text().trimmed().isEmpty();
    if (t.caliper) {
        const auto reach = typedNumber(caliper_->text(), tr("caliper"));
        if (!reach) return reach.error();
        t.caliperReach_mm = *reach;
    }
    t.depthRod = depthRod_->isChecked();
    const auto marking = plan::markingFrom(marks_->currentData().toString().toStdString());
    if (!marking) return marking.error();
    t.marking = *marking;
    const auto square = plan::squaringFrom(square_->currentData().toString().toStdString());
    if (!square) return square.error();
    t.squaring = *square;
    return {};
}

Result<plan::Task> PlanForm::task() const {
    plan::Task t;
    for (const auto& read : {readPart(t), readCamera(t), readTools(t), plan::check(t)})
        if (!read) return read.error();
    return t;
}

}  // namespace trammel::ui
