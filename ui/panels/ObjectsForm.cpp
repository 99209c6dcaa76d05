// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/ObjectsForm.h"

#include <QComboBox>
#include <QGridLayout>
#include <algorithm>

#include "core/survey/Names.h"
#include "core/survey/QuantityCheck.h"
#include "ui/panels/SurveyRows.h"

namespace trammel::ui {
namespace {

using survey::Quantity;

constexpr int kCountRole = Qt::UserRole + 1;

void fill(QComboBox* box, const survey::Survey& survey, Quantity quantity, std::size_t count) {
    const QString kept = box->currentData().toString();
    box->clear();
    const auto add = [&](const survey::Id& id) {
        box->addItem(QString::fromStdString(survey::describe(survey, id)), QString::fromStdString(id));
    };
    if (quantity == Quantity::Depth || quantity == Quantity::Height)
        for (const auto& level : survey.levels) add(level.id);
    if (quantity == Quantity::Tape)
        for (const auto& station : survey.stations) add(station.id);
    for (const auto& feature : survey.features)
        if (survey::takesObject(survey, quantity, feature.id, count)) add(feature.id);
    box->setCurrentIndex(std::max(0, box->findData(kept)));
}

}  // namespace

ObjectsForm::ObjectsForm(bool withTape, QWidget* parent)
    : QWidget(parent),
      quantity_(new QComboBox(this)),
      first_(new QComboBox(this)),
      second_(new QComboBox(this)),
      third_(new QComboBox(this)) {
    for (const Quantity q : {Quantity::Distance, Quantity::Diameter, Quantity::Radius, Quantity::Depth,
                             Quantity::Height, Quantity::OffsetX, Quantity::OffsetY, Quantity::Angle,
                             Quantity::InnerSpan, Quantity::OuterSpan, Quantity::Length, Quantity::Tape})
        for (const std::size_t count : {1, 2, 3}) {
            if ((q == Quantity::Tape && !withTape) || !survey::takesCount(q, count)) continue;
            quantity_->addItem(count == 3 ? tr("angle at a point") : quantityWord(q), static_cast<int>(q));
            quantity_->setItemData(quantity_->count() - 1, static_cast<int>(count), kCountRole);
        }
    quantity_->setAccessibleName(tr("Quantity"));
    first_->setAccessibleName(tr("First object"));
    second_->setAccessibleName(tr("Second object"));
    third_->setAccessibleName(tr("Third object"));
    third_->setObjectName(QStringLiteral("thirdObject"));
    for (auto* box : {quantity_, first_, second_, third_}) {
        box->setSizeAdjustPolicy(QComboBox::AdjustToMinimumContentsLengthWithIcon);
        box->setMinimumContentsLength(8);
    }
    auto* grid = new QGridLayout(this);
    grid->setContentsMargins(0, 0, 0, 0);
    grid->addWidget(quantity_, 0, 0, 1, 2);
    grid->addWidget(first_, 1, 0);
    grid->addWidget(second_, 1, 1);
    grid->addWidget(third_, 2, 0);
    grid->setColumnStretch(0, 1);
    grid->setColumnStretch(1, 1);
    connect(quantity_, &QComboBox::currentIndexChanged, this, [this] {
        refill();
        Q_EMIT changed();
    });
    for (auto* box : {first_, second_, third_})
        connect(box, &QComboBox::currentIndexChanged, this, &ObjectsForm::changed);
    refill();
}

void ObjectsForm::setSurvey(const survey::Survey& survey) {
    survey_ = survey;
    refill();
    Q_EMIT changed();
}

void ObjectsForm::refill() {
    const QSignalBlocker quietFirst(first_), quietSecond(second_), quietThird(third_);
    for (auto* box : {first_, second_, third_}) fill(box, survey_, quantity(), needed());
    if (second_->currentIndex() == first_->currentIndex() && second_->count() > 1)
        second_->setCurrentIndex(first_->currentIndex() == 0 ? 1 : 0);
    for (int i = 0; i < third_->count() && (third_->currentIndex() == first_->currentIndex() ||
                                            third_->currentIndex() == second_->currentIndex());
         ++i)
        third_->setCurrentIndex(i);
    second_->setVisible(needed() >= 2);
    third_->setVisible(needed() == 3);
    const bool empty = first_->count() == 0;
    for (auto* box : {first_, second_, third_}) {
        box->setEnabled(!empty);
        box->setPlaceholderText(tr("none yet"));
        box->setToolTip(empty ? tr("Nothing in the survey that this could be about yet.") : QString());
    }
    if (needed() == 3 && !empty) second_->setToolTip(tr("The point that the angle lies at"));
}

void ObjectsForm::propose(const std::vector<survey::Id>& objects) {
    const QSignalBlocker quietFirst(first_), quietSecond(second_), quietThird(third_);
    const auto take = [](QComboBox* box, const survey::Id& id) {
        if (const int at = box->findData(QString::fromStdString(id)); at >= 0) box->setCurrentIndex(at);
    };
    if (!objects.empty()) take(first_, objects[0]);
    if (objects.size() > 1) take(second_, objects[1]);
    if (objects.size() > 2) take(third_, objects[2]);
    Q_EMIT changed();
}

Quantity ObjectsForm::quantity() const { return static_cast<Quantity>(quantity_->currentData().toInt()); }

std::vector<survey::Id> ObjectsForm::objects() const {
    std::vector<survey::Id> ids;
    const auto take = [&](const QComboBox* box) {
        if (box->currentIndex() >= 0) ids.push_back(box->currentData().toString().toStdString());
    };
    take(first_);
    if (needed() >= 2) take(second_);
    if (needed() == 3) take(third_);
    return ids;
}

std::size_t ObjectsForm::needed() const {
    return static_cast<std::size_t>(quantity_->currentData(kCountRole).toInt());
}

bool ObjectsForm::complete() const { return objects().size() == needed(); }

}  // namespace trammel::ui
