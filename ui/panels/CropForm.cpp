// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/CropForm.h"

#include <QCheckBox>
#include <QGridLayout>
#include <QLabel>
#include <QLineEdit>
#include <QPushButton>
#include <cmath>

#include "ui/panels/TypedNumber.h"

namespace trammel::ui {
namespace {

QString wordsFor(const survey::Photo& p) {
    if (p.crop.known) return CropForm::tr("%1 × %2 px of the camera's frame:").arg(p.width).arg(p.height);
    if (survey::isCropped(p))
        return CropForm::tr("These %1 × %2 px seem to be cut from a frame of %3 × %4. Where?")
            .arg(p.width)
            .arg(p.height)
            .arg(p.crop.fullWidth)
            .arg(p.crop.fullHeight);
    return CropForm::tr("The file does not say: are these %1 × %2 px the camera's whole frame?")
        .arg(p.width)
        .arg(p.height);
}

}  // namespace

CropForm::CropForm(PanelContext context, QWidget* parent)
    : QFrame(parent), context_(std::move(context)), words_(new QLabel(this)) {
    setObjectName(QStringLiteral("crop"));
    setFrameShape(QFrame::StyledPanel);
    auto* grid = new QGridLayout(this);
    grid->setContentsMargins(6, 6, 6, 6);
    grid->setSpacing(4);
    words_->setObjectName(QStringLiteral("cropWords"));
    words_->setTextFormat(Qt::PlainText);
    words_->setWordWrap(true);
    grid->addWidget(words_, 0, 0, 1, 4);
    auto* whole = new QPushButton(tr("It is whole"), this);
    whole->setObjectName(QStringLiteral("whole"));
    whole->setToolTip(tr("Nothing was cut away from what the camera took"));
    grid->addWidget(whole, 1, 0, 1, 4);
    width_ =
        field("frameWidth", tr("width"), tr("px of the whole frame across, as this picture stands"), 2, 0);
    height_ = field("frameHeight", tr("height"), tr("px of the whole frame down"), 2, 2);
    left_ = field("cropLeft", tr("left"), tr("px cut away on the left; empty: not known"), 3, 0);
    top_ = field("cropTop", tr("top"), tr("px cut away at the top; empty: not known"), 3, 2);
    for (auto* edit : {left_, top_}) edit->setPlaceholderText(QStringLiteral("?"));
    others_ = new QCheckBox(this);
    others_->setObjectName(QStringLiteral("cropOthers"));
    others_->setChecked(true);
    grid->addWidget(others_, 4, 0, 1, 4);
    auto* set = new QPushButton(tr("Set the crop"), this);
    set->setObjectName(QStringLiteral("cropSet"));
    set->setToolTip(
        tr("With left and top empty the adjustment finds them as far as the marks tell, which "
           "weakens the result a little"));
    grid->addWidget(set, 5, 0, 1, 4);
    connect(whole, &QPushButton::clicked, this, &CropForm::answerWhole);
    connect(set, &QPushButton::clicked, this, &CropForm::answerCrop);
}

QLineEdit* CropForm::field(const char* name, const QString& label, const QString& tip, int row, int column) {
    auto* edit = new QLineEdit(this);
    edit->setObjectName(QLatin1String(name));
    edit->setAccessibleName(label);
    edit->setToolTip(tip);
    edit->setMinimumWidth(30);
    auto* text = new QLabel(label, this);
    text->setBuddy(edit);
    auto* grid = static_cast<QGridLayout*>(layout());
    grid->addWidget(text, row, column);
    grid->addWidget(edit, row, column + 1);
    connect(edit, &QLineEdit::returnPressed, this, &CropForm::answerCrop);
    return edit;
}

void CropForm::resizeEvent(QResizeEvent* event) {
    QFrame::resizeEvent(event);
    giveWordsRoom();
}

/// A layout would squeeze wrapped words to less than their lines.
void CropForm::giveWordsRoom() {
    const int width = this->width() - 2 * frameWidth() - 12;
    if (width > 0) words_->setFixedHeight(words_->heightForWidth(width));
}

const survey::Station* CropForm::station() const {
    return survey::find(context_.document.survey().stations, askedFor_);
}

void CropForm::ask(const survey::Station& station) {
    const auto& crop = station.photo.crop;
    words_->setText(wordsFor(station.photo));
    const auto count = storage::unanswered(context_.document.survey(), station.id).size();
    others_->setVisible(count > 0);
    others_->setText(count == 1 ? tr("and for 1 other") : tr("and for %1 others").arg(count));
    others_->setToolTip(
        tr("Photographs of this camera that were not answered: the frame's size holds for them "
           "too; what was cut away from each stays unknown"));
    giveWordsRoom();
    if (askedFor_ == station.id && askedAbout_ == crop) return;
    askedFor_ = station.id;
    askedAbout_ = crop;
    const auto text = [](double px) { return QString::number(px, 'g', 7); };
    width_->setText(crop.fullWidth > 0 ? text(crop.fullWidth) : QString());
    height_->setText(crop.fullHeight > 0 ? text(crop.fullHeight) : QString());
    left_->setText(crop.known ? text(crop.offsetX) : QString());
    top_->setText(crop.known ? text(crop.offsetY) : QString());
}

void CropForm::answerWhole() {
    if (const auto* of = station()) answer(*of, storage::wholeFrame(of->photo));
}

void CropForm::answerCrop() {
    const auto* of = station();
    if (!of) return;
    storage::FrameAnswer a;
    const bool unknown = left_->text().trimmed().isEmpty() && top_->text().trimmed().isEmpty();
    a.offsetKnown = !unknown;
    double values[4] = {};
    const std::pair<const QLineEdit*, QString> fields[] = {{width_, tr("frame width")},
                                                           {height_, tr("frame height")},
                                                           {left_, tr("left of the crop")},
                                                           {top_, tr("top of the crop")}};
    for (int i = 0; i < (unknown ? 2 : 4); ++i) {
        const auto number = typedNumber(fields[i].first->text(), fields[i].second);
        if (!number) return context_.complain(number.error());
        values[i] = std::clamp(*number, -1e8, 1e8);
    }
    a.fullWidth = static_cast<int>(std::lround(values[0]));
    a.fullHeight = static_cast<int>(std::lround(values[1]));
    a.offsetX = values[2];
    a.offsetY = values[3];
    answer(*of, a);
}

void CropForm::answer(const survey::Station& of, const storage::FrameAnswer& a) {
    const bool forAll = others_->isVisibleTo(this) && others_->isChecked();
    const auto edit = storage::frameEdit(context_.document.survey(), of.id, a, forAll);
    if (!edit) return context_.complain(edit.error());
    // What stays unknown is not asked again of its own accord.
    if (!context_.perform(*edit) || a.offsetKnown) return;
    for (const auto& change : edit->changes)
        if (const auto* put = std::get_if<survey::Put<survey::Station>>(&change))
            Q_EMIT leftUnknown(put->object.id);
}

}  // namespace trammel::ui
