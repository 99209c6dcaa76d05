// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/BoardForm.h"

#include <QCheckBox>
#include <QComboBox>
#include <QFormLayout>
#include <QLabel>
#include <QLineEdit>
#include <cmath>

#include "core/calibrate/BoardSheet.h"
#include "ui/panels/Panel.h"
#include "ui/panels/TypedNumber.h"

namespace trammel::ui {
namespace {

Result<int> typedCount(const QLineEdit* edit, const QString& what) {
    const auto number = typedNumber(edit->text(), what);
    if (!number) return number.error();
    if (*number != std::floor(*number) || std::abs(*number) > 1000)
        return Error{ErrorCode::BadValue, "is no number of squares", what.toStdString(),
                     "type a whole number"};
    return static_cast<int>(*number);
}

}  // namespace

BoardForm::BoardForm(QWidget* parent) : QWidget(parent) {
    auto* form = new QFormLayout(this);
    form->setContentsMargins(0, 0, 0, 0);
    form->setVerticalSpacing(4);
    form->addRow(heading(tr("Board of squares"), this));
    columns_ = line(form, "boardColumns", tr("Columns"), QStringLiteral("11"),
                    tr("Squares of a row, the outermost too"));
    rows_ = line(form, "boardRows", tr("Rows"), QStringLiteral("8"), tr("Squares of a column"));
    square_ = line(form, "boardSquare", tr("Square to print, mm"), QStringLiteral("20"),
                   tr("Side of a square on the page to print; of no other use"));
    coded_ = new QCheckBox(tr("with dots, so that a photograph may show a part"), this);
    coded_->setObjectName(QStringLiteral("boardCoded"));
    coded_->setToolTip(
        tr("Dots in the squares tell which part of the board a photograph shows; without them "
           "every photograph has to show the whole board"));
    form->addRow(coded_);
    paper_ = new QComboBox(this);
    paper_->setObjectName(QStringLiteral("boardPaper"));
    paper_->setAccessibleName(tr("Paper"));
    paper_->addItem(tr("the smallest that holds it"));
    for (const auto& paper : sheet::kPapers) paper_->addItem(QString::fromLatin1(paper.name));
    form->addRow(tr("Paper"), paper_);
    form->addRow(heading(tr("Measured on the print"), this));
    width_ = line(form, "boardWidth", tr("Over all columns, mm"), {},
                  tr("From the left side of the first square of a row to the right side of the last"));
    height_ = line(form, "boardHeight", tr("Over all rows, mm"), {},
                   tr("From the upper side of the first square of a column to the lower side of the last"));
    plusMinus_ = line(form, "boardPlusMinus", tr("± of each, mm"), QStringLiteral("0.3"),
                      tr("Expanded uncertainty (k = 2) of these two readings; only the ratio of both matters "
                         "to the lens"));
    note_ = new QLabel(this);
    note_->setObjectName(QStringLiteral("boardNote"));
    note_->setTextFormat(Qt::PlainText);
    note_->setWordWrap(true);
    note_->setForegroundRole(QPalette::PlaceholderText);
    form->addRow(note_);
    even_ = new QCheckBox(tr("flat and exactly even, like etched glass"), this);
    even_->setObjectName(QStringLiteral("boardEven"));
    even_->setToolTip(
        tr("Ticked: the board is taken as stated. Otherwise its bow, the ratio of its pitches "
           "and where each corner was printed are unknowns that the photographs tell"));
    form->addRow(even_);
    for (auto* edit : {columns_, rows_, square_})
        connect(edit, &QLineEdit::textChanged, this, &BoardForm::printEdited);
    connect(coded_, &QCheckBox::clicked, this, &BoardForm::printEdited);
    connect(paper_, &QComboBox::currentIndexChanged, this, &BoardForm::printEdited);
    for (auto* edit : {columns_, rows_, width_, height_, plusMinus_})
        connect(edit, &QLineEdit::textChanged, this, [this, edit] {
            if (edit == plusMinus_) plusMinusTyped_ = true;
            explain();
            Q_EMIT edited();
        });
    for (auto* box : {coded_, even_}) connect(box, &QCheckBox::clicked, this, &BoardForm::edited);
    explain();
}

QLineEdit* BoardForm::line(QFormLayout* form, const char* name, const QString& label, const QString& text,
                           const QString& tip) {
    auto* edit = new QLineEdit(text, this);
    edit->setObjectName(QLatin1String(name));
    edit->setAccessibleName(label);
    edit->setToolTip(tip);
    form->addRow(label, edit);
    return edit;
}

Result<calibrate::Board> BoardForm::counts() const {
    const auto columns = typedCount(columns_, tr("columns"));
    if (!columns) return columns.error();
    const auto rows = typedCount(rows_, tr("rows"));
    if (!rows) return rows.error();
    calibrate::Board board;
    board.columns = *columns;
    board.rows = *rows;
    board.code = coded_->isChecked() ? calibrate::BoardCode::Dots : calibrate::BoardCode::Plain;
    return board;
}

Result<sheet::Sheet> BoardForm::sheetToPrint() const {
    auto board = counts();
    if (!board) return board.error();
    const auto square = typedNumber(square_->text(), tr("square to print"));
    if (!square) return square.error();
    board->pitchX_mm = board->pitchY_mm = *square;
    const int chosen = paper_->currentIndex();
    std::optional<sheet::Paper> paper;
    if (chosen > 0) paper = sheet::kPapers[static_cast<std::size_t>(chosen - 1)];
    return calibrate::boardSheet(*board, paper);
}

Result<calibrate::Board> BoardForm::measured() const {
    const auto told = counts();
    if (!told) return told.error();
    double values[3];
    const std::pair<const QLineEdit*, QString> fields[] = {{width_, tr("length over all columns")},
                                                           {height_, tr("length over all rows")},
                                                           {plusMinus_, tr("±")}};
    for (int i = 0; i < 3; ++i) {
        const auto number = typedNumber(fields[i].first->text(), fields[i].second);
        if (!number) return number.error();
        if (!(*number > 0.0))
            return Error{ErrorCode::BadValue, "must be above zero", fields[i].second.toStdString(),
                         "type what was measured on the print, in mm"};
        values[i] = *number;
    }
    auto board = calibrate::measuredBoard(told->columns, told->rows, values[0], values[1], values[2]);
    board.code = told->code;
    if (const auto bad = calibrate::unusable(board)) return *bad;
    return board;
}

bool BoardForm::uneven() const { return !even_->isChecked(); }

void BoardForm::explain() {
    const auto board = measured();
    QString words =
        board
            ? tr("A square of %1 × %2 mm.").arg(board->pitchX_mm, 0, 'f', 3).arg(board->pitchY_mm, 0, 'f', 3)
        : width_->text().trimmed().isEmpty() || height_->text().trimmed().isEmpty()
            ? tr("Print the board, measure it over all squares both ways, and type both lengths here.")
            : QString::fromStdString(board.error().sentence());
    if (board && !plusMinusTyped_) words += tr(" The ± is assumed.");
    note_->setText(words);
}

}  // namespace trammel::ui
