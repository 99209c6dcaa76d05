// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/canvas/UnfoldedLevels.h"

#include <QEvent>
#include <QHBoxLayout>
#include <QPainter>
#include <QScrollBar>
#include <algorithm>

#include "core/drawing/Format.h"
#include "core/unfold/Placed.h"

namespace trammel::ui {
namespace {

constexpr int kFan = 46;                                 // px for the leaders and the scale
constexpr int kWide = 160 + kFan, kNarrow = 104 + kFan;  // px, beside a wide and a narrow sheet

QString number(double value, int decimals) { return QString::fromStdString(drawing::fixed(value, decimals)); }

}  // namespace

UnfoldedLevels::UnfoldedLevels(Document& document, Choice& choice, QWidget* parent)
    : QWidget(parent), document_(document), choice_(choice), list_(new QListWidget(this)) {
    list_->setObjectName(QStringLiteral("unfoldedLevels"));
    list_->setAccessibleName(tr("Levels by height"));
    list_->setToolTip(tr("The pictures are in scale for the chosen level; features of others fade"));
    list_->setFrameShape(QFrame::NoFrame);
    list_->setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
    list_->setTextElideMode(Qt::ElideRight);
    list_->setSpacing(3);
    auto* line = new QHBoxLayout(this);
    line->setContentsMargins(0, 0, kFan, 0);
    line->addWidget(list_);
    setFixedWidth(kWide);
    list_->viewport()->installEventFilter(this);
    connect(list_, &QListWidget::currentRowChanged, this, [this](int row) {
        if (!silent_ && row >= 0 && row < static_cast<int>(rows_.size()))
            choice_.setLevel(rows_[static_cast<std::size_t>(row)].level);
        update();
    });
    connect(list_->verticalScrollBar(), &QScrollBar::valueChanged, this,
            [this] { update(width() - kFan, 0, kFan, height()); });
}

void UnfoldedLevels::refresh() {
    const auto& survey = document_.survey();
    const auto solution = document_.solution();
    rows_.clear();
    silent_ = true;
    list_->clear();
    if (solution) {
        std::map<survey::Id, bool> ofPart;
        for (const auto& f : unfold::placed(survey, *solution)) ofPart[f.level] |= !f.beside;
        for (const auto& level : survey.levels) {
            const auto z = solution->levels.find(level.id);
            if (!ofPart[level.id] || (z == solution->levels.end() && level.id != survey.datum.level))
                continue;
            rows_.push_back({level.id, z == solution->levels.end() ? 0.0 : z->second});
        }
        std::ranges::stable_sort(rows_, std::greater<>(), &Row::z);
        for (const Row& row : rows_) {
            const auto* level = survey::find(survey.levels, row.level);
            survey::Dimension height;
            height.quantity = survey::Quantity::Height;
            height.objects = {row.level};
            const auto measured = solution->measure(height);
            QString z = tr("z %1").arg(number(row.z, 2));
            if (row.level == survey.datum.level)
                z = tr("z 0, the datum");
            else if (measured && measured->plusMinus > 0.0)
                z += tr(" ± %1").arg(number(measured->plusMinus, measured->plusMinus < 0.1 ? 3 : 2));
            const QString words =
                QString::fromStdString(level->name.empty() ? level->id : level->name) + QLatin1Char('\n') + z;
            list_->addItem(words);
            list_->item(list_->count() - 1)->setToolTip(words);
        }
    }
    silent_ = false;
    refreshChoice();
}

void UnfoldedLevels::refreshChoice() {
    silent_ = true;
    const auto it = std::ranges::find(rows_, choice_.level(), &Row::level);
    list_->setCurrentRow(it == rows_.end() ? -1 : static_cast<int>(it - rows_.begin()));
    silent_ = false;
    update();
}

void UnfoldedLevels::setNarrow(bool narrow) { setFixedWidth(narrow ? kNarrow : kWide); }

void UnfoldedLevels::step(int by) {
    if (rows_.empty()) return;
    const int last = static_cast<int>(rows_.size()) - 1, now = list_->currentRow();
    const int row = now < 0 ? 0 : std::clamp(now - by, 0, last);
    choice_.setLevel(rows_[static_cast<std::size_t>(row)].level);
}

bool UnfoldedLevels::eventFilter(QObject* watched, QEvent* event) {
    if (event->type() == QEvent::Resize) update(width() - kFan, 0, kFan, height());
    return QWidget::eventFilter(watched, event);
}

void UnfoldedLevels::paintEvent(QPaintEvent*) {
    if (rows_.empty()) return;
    QPainter painter(this);
    painter.setRenderHint(QPainter::Antialiasing);
    const double low = rows_.back().z, high = rows_.front().z, size = std::max(1e-6, high - low);
    // the scale stands beside the rows, no higher than they are
    const QRect first = list_->visualItemRect(list_->item(0));
    const QRect lastRow = list_->visualItemRect(list_->item(static_cast<int>(rows_.size()) - 1));
    const double top = first.top() + 8.0, bottom = std::max(top + 40.0, lastRow.bottom() - 8.0);
    const double spine = width() - 12.0;
    QColor ink = palette().color(QPalette::WindowText), soft = ink;
    soft.setAlpha(130);
    painter.setPen(QPen(soft, 1.0));
    painter.drawLine(QPointF(spine, top), QPointF(spine, bottom));
    for (std::size_t i = 0; i < rows_.size(); ++i) {
        const QRect item = list_->visualItemRect(list_->item(static_cast<int>(i)));
        const double from = item.center().y(), to = bottom - (rows_[i].z - low) / size * (bottom - top);
        const bool chosen = rows_[i].level == choice_.level();
        painter.setPen(QPen(chosen ? ink : soft, chosen ? 2.0 : 1.0));
        painter.drawPolyline(QPolygonF({{width() - kFan + 4.0, from},
                                        {width() - kFan + 10.0, from},
                                        {spine - 8.0, to},
                                        {spine + 5.0, to}}));
    }
}

}  // namespace trammel::ui
