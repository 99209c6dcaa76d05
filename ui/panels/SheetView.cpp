// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/SheetView.h"

#include <QPainter>
#include <cmath>

#include "ui/canvas/SheetPainter.h"

namespace trammel::ui {

class SheetView::Paper : public QWidget {
  public:
    explicit Paper(const SheetView& view) : view_(view) {}

  protected:
    void paintEvent(QPaintEvent*) override {
        if (!view_.page_) return;
        QPainter painter(this);
        painter.fillRect(rect(), Qt::white);
        painter.setRenderHint(QPainter::SmoothPixmapTransform);
        if (!view_.picture_.isNull()) painter.drawImage(rect(), view_.picture_);
        if (!isEnabled()) painter.fillRect(rect(), QColor(160, 160, 160, 150));  // no longer of what is typed
    }

  private:
    const SheetView& view_;
};

SheetView::SheetView(QWidget* parent) : QScrollArea(parent), paper_(new Paper(*this)) {
    setFrameShape(NoFrame);
    setAlignment(Qt::AlignHCenter | Qt::AlignTop);
    setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
    setVerticalScrollBarPolicy(Qt::ScrollBarAlwaysOn);  // a bar that came and went would change the width
    setAccessibleName(tr("Page as it is printed"));
    setWidget(paper_);
    pool_.setMaxThreadCount(1);
}

SheetView::~SheetView() {
    pool_.clear();
    pool_.waitForDone();
}

void SheetView::showPage(std::optional<sheet::Sheet> page) {
    // On the same paper the picture before stays until the new one is drawn: no flicker of white.
    const bool same = page && page_ && page->paper.width_mm == page_->paper.width_mm &&
                      page->paper.height_mm == page_->paper.height_mm;
    page_ = std::move(page);
    if (!same) picture_ = {};
    fit();
}

void SheetView::resizeEvent(QResizeEvent* event) {
    QScrollArea::resizeEvent(event);
    fit();
}

void SheetView::fit() {
    const double ratio = page_ ? page_->paper.height_mm / page_->paper.width_mm : 1.0;
    const int width = std::max(50, viewport()->width());
    paper_->resize(width, static_cast<int>(std::lround(width * ratio)));
    draw();
}

void SheetView::draw() {
    paper_->update();
    const int round = ++round_;
    pool_.clear();
    if (!page_) return;
    const QSize size = paper_->size() * devicePixelRatio();
    pool_.start([this, page = *page_, size, round] {
        QImage picture(size, QImage::Format_RGB32);
        QPainter painter(&picture);
        paintSheet(painter, page, QRectF(picture.rect()));
        painter.end();
        QMetaObject::invokeMethod(
            this,
            [this, picture, round] {
                if (round != round_) return;
                picture_ = picture;
                paper_->update();
            },
            Qt::QueuedConnection);
    });
}

}  // namespace trammel::ui
