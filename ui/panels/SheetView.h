// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QScrollArea>
#include <optional>

#include "core/sheet/Sheet.h"

namespace trammel::ui {

/// One page to be printed, as wide as there is room; what is below is reached by scrolling.
class SheetView : public QScrollArea {
    Q_OBJECT
  public:
    explicit SheetView(QWidget* parent = nullptr);
    /// Nothing: an empty place.
    void showPage(std::optional<sheet::Sheet> page);
    const std::optional<sheet::Sheet>& page() const { return page_; }

  protected:
    void resizeEvent(QResizeEvent* event) override;

  private:
    class Paper;
    void fit();
    std::optional<sheet::Sheet> page_;
    Paper* paper_;
};

}  // namespace trammel::ui
