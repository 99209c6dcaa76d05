// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/LensNames.h"

#include <QDate>
#include <QGridLayout>
#include <QLabel>
#include <QLineEdit>
#include <QPushButton>

#include "ui/panels/Panel.h"
#include "ui/panels/TypedNumber.h"

namespace trammel::ui {
namespace {

QString numberText(double value) { return value > 0.0 ? QString::number(value, 'g', 5) : QString(); }

void put(QLineEdit* edit, const QString& text) {
    edit->setText(text);
    edit->setReadOnly(!text.isEmpty());
    edit->setPlaceholderText(text.isEmpty() ? LensNames::tr("not told by the photographs") : QString());
}

Error missing(const QString& what, const char* remedy) {
    return {ErrorCode::BadValue, "the photographs do not tell it", what.toStdString(), remedy};
}

}  // namespace

LensNames::LensNames(QWidget* parent) : QWidget(parent) {
    auto* grid = new QGridLayout(this);
    grid->setContentsMargins(0, 0, 0, 0);
    grid->setSpacing(4);
    body_ = field("lensBody", tr("Body"), tr("Maker and model of the camera, and its number"), 0, 0);
    lens_ = field("lensLens", tr("Lens"), tr("As engraved"), 0, 2);
    focal_ = field("lensFocal", tr("Focal length, mm"), tr("As set on the lens"), 1, 0);
    focus_ =
        field("lensFocus", tr("Focus, m"),
              tr("Distance focused at, from the sensor; may stay empty, but photographs focused elsewhere "
                 "are then not told from these"),
              1, 2);
    date_ = field("lensDate", tr("Date"), tr("Of the photographs, like 2026-05-01"), 2, 0);
    keep_ = new QPushButton(tr("Keep this lens"), this);
    keep_->setObjectName(QStringLiteral("lensKeep"));
    grid->addWidget(keep_, 2, 2, 1, 2);
    connect(keep_, &QPushButton::clicked, this, &LensNames::keepAsked);
    grid->setColumnStretch(1, 1);
    grid->setColumnStretch(3, 1);
    setUsable(false, tr("Calibrate first."));
}

QLineEdit* LensNames::field(const char* name, const QString& label, const QString& tip, int row, int column) {
    auto* edit = new QLineEdit(this);
    edit->setObjectName(QLatin1String(name));
    edit->setAccessibleName(label);
    edit->setToolTip(tip);
    auto* title = new QLabel(label, this);
    title->setBuddy(edit);
    auto* grid = static_cast<QGridLayout*>(layout());
    grid->addWidget(title, row, column);
    grid->addWidget(edit, row, column + 1);
    return edit;
}

void LensNames::ask(const calibrate::LensRecord& r) {
    put(body_, QString::fromStdString(r.body));
    put(lens_, QString::fromStdString(r.lens));
    put(focal_, numberText(r.focal_mm));
    put(focus_, numberText(r.focus_m));
    if (!focus_->isReadOnly()) focus_->setPlaceholderText(tr("not told; may stay empty"));
    put(date_, QString::fromStdString(r.date));
}

Result<calibrate::LensRecord> LensNames::named(calibrate::LensRecord r) const {
    const auto words = [](const QLineEdit* edit) { return edit->text().simplified().toStdString(); };
    if (r.body.empty()) r.body = words(body_);
    if (r.body.empty()) return missing(tr("body"), "type what this camera is called");
    if (r.lens.empty()) r.lens = words(lens_);
    if (r.lens.empty()) return missing(tr("lens"), "type what is engraved on it");
    const auto number = [](const QLineEdit* edit, const QString& what) -> Result<double> {
        const auto value = typedNumber(edit->text(), what);
        if (value && !(*value > 0.0))
            return Error{ErrorCode::BadValue, "must be above zero", what.toStdString(), "type it anew"};
        return value;
    };
    if (!(r.focal_mm > 0.0)) {
        const auto focal = number(focal_, tr("focal length"));
        if (!focal) return focal.error();
        r.focal_mm = *focal;
    }
    if (!(r.focus_m > 0.0) && !focus_->text().trimmed().isEmpty()) {
        const auto focus = number(focus_, tr("focus"));
        if (!focus) return focus.error();
        r.focus_m = *focus;
    }
    if (r.date.empty()) {
        const QDate date = QDate::fromString(date_->text().trimmed(), Qt::ISODate);
        if (!date.isValid()) return missing(tr("date"), "type it like 2026-05-01");
        r.date = date.toString(Qt::ISODate).toStdString();
    }
    return r;
}

void LensNames::setUsable(bool usable, const QString& whyNot) {
    ui::setUsable(keep_, usable, tr("To be offered for photographs that are taken with it"), whyNot);
    for (auto* edit : {body_, lens_, focal_, focus_, date_}) edit->setEnabled(usable);
}

}  // namespace trammel::ui
