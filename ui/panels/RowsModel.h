// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QAbstractTableModel>
#include <QVariant>
#include <functional>
#include <optional>
#include <vector>

#include "core/survey/Survey.h"

namespace trammel::ui {

/// One cell as a plain value.
struct Cell {
    QString text;
    QString tip{};        ///< explains the number; empty for none
    QString also{};       ///< words by which the row is found besides its texts
    QVariant icon{};      ///< QIcon or QImage
    bool number = false;  ///< set to the right
    bool faint = false;   ///< out of date or left out
    bool loud = false;    ///< needs attention (drawn bold; the text says why)
    bool editable = false;
    QString exact{};                ///< what is edited where `text` is rounded; empty: the text
    std::optional<double> order{};  ///< by which the column is put in order; none: by the text
    std::optional<double> bar{};    ///< a standardised residual with its sign, for ResidualBar
    std::optional<bool> ticked{};   ///< a check box when set
    bool operator==(const Cell& other) const;
};

/// One row: the object it stands for and its cells.
struct Row {
    survey::Id id;
    std::vector<Cell> cells;
    bool operator==(const Row&) const = default;
};

/// Plain rows as an item model for every list of the window. `setRows` changes only what differs, so that
/// what the user has selected stays selected.
class RowsModel : public QAbstractTableModel {
    Q_OBJECT
  public:
    static constexpr int kIdRole = Qt::UserRole, kOrderRole = Qt::UserRole + 1, kBarRole = Qt::UserRole + 2;

    explicit RowsModel(QStringList headings, QObject* parent = nullptr);

    /// May be called again from a slot on the model's own signals: the last call wins.
    void setRows(std::vector<Row> rows);
    const std::vector<Row>& rows() const { return rows_; }
    survey::Id idAt(int row) const;
    int rowOf(const survey::Id& id) const;  ///< −1 when absent

    /// Called when the user edits a cell or ticks its box; returns whether the change was taken.
    using TextEdit = std::function<bool(const survey::Id& id, int column, const QString& text)>;
    using TickEdit = std::function<bool(const survey::Id& id, int column, bool ticked)>;
    void setEditors(TextEdit text, TickEdit tick);

    int rowCount(const QModelIndex& parent = {}) const override;
    int columnCount(const QModelIndex& parent = {}) const override;
    QVariant data(const QModelIndex& index, int role = Qt::DisplayRole) const override;
    QVariant headerData(int section, Qt::Orientation orientation, int role = Qt::DisplayRole) const override;
    Qt::ItemFlags flags(const QModelIndex& index) const override;
    bool setData(const QModelIndex& index, const QVariant& value, int role = Qt::EditRole) override;

  private:
    void change(std::vector<Row> rows);

    QStringList headings_;
    std::vector<Row> rows_;
    bool changing_ = false;
    std::optional<std::vector<Row>> next_;  ///< asked for while changing
    TextEdit textEdit_;
    TickEdit tickEdit_;
};

}  // namespace trammel::ui
