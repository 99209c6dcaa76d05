// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QStyledItemDelegate>

namespace trammel::ui {

/// A standardised residual as a number and a bar from the middle, to the left where less was observed than
/// adjusted, with marks at the critical value on both sides. Cells without one are drawn as ever.
class ResidualBar : public QStyledItemDelegate {
    Q_OBJECT
  public:
    using QStyledItemDelegate::QStyledItemDelegate;
    void paint(QPainter* painter, const QStyleOptionViewItem& option,
               const QModelIndex& index) const override;
    QSize sizeHint(const QStyleOptionViewItem& option, const QModelIndex& index) const override;

    /// |w| that good data exceed once in a thousand (two-sided, normal; Baarda 1968 has α0 = 0.1 %).
    static constexpr double kCritical = 3.29;
    static constexpr int kWidth = 54;    ///< px of the bar's ground
    static constexpr double kEnd = 5.0;  ///< |w| at the bar's end; what is larger ends in an arrow
};

}  // namespace trammel::ui
