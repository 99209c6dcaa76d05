// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QImage>
#include <QScrollArea>
#include <QThreadPool>
#include <optional>

#include "core/sheet/Sheet.h"

namespace trammel::ui {

/// One page to be printed, as wide as there is room; what is below is reached by scrolling. It is drawn on a
/// worker, for a page of text takes longer than a window may stand still.
class SheetView : public QScrollArea {
    Q_OBJECT
  public:
    explicit SheetView(QWidget* parent = nullptr);
    ~SheetView() override;
    /// Nothing: an empty place. A page is greyed while the view is disabled.
    void showPage(std::optional<sheet::Sheet> page);
    const std::optional<sheet::Sheet>& page() const { return page_; }

  protected:
    void resizeEvent(QResizeEvent* event) override;

  private:
    class Paper;
    void fit();
    void draw();
    std::optional<sheet::Sheet> page_;
    Paper* paper_;
    QImage picture_;  ///< of the page, as it was drawn last
    int round_ = 0;   ///< of drawing; pictures of earlier rounds are passed over
    QThreadPool pool_;
};

}  // namespace trammel::ui
