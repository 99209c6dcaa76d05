// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QHash>

#include "ui/document/Document.h"
#include "ui/panels/RowsModel.h"

/// The survey and its adjustment as rows of the window's lists. Pure: a document in, plain rows out.
namespace trammel::ui {

QStringList levelHeadings();
std::vector<Row> levelRows(const Document& document);

QStringList featureHeadings();
std::vector<Row> featureRows(const Document& document);

QStringList readingHeadings();
std::vector<Row> readingRows(const Document& document);

QStringList conditionHeadings();
std::vector<Row> conditionRows(const Document& document);

QStringList markHeadings();
std::vector<Row> markRows(const Document& document);

QStringList outlineHeadings();
std::vector<Row> outlineRows(const Document& document);

/// Objects of a reading, dimension or chain by the names people know.
QString objectNames(const survey::Survey& survey, const std::vector<survey::Id>& objects);

/// Value as people read it: mm, or degrees for angles. Decimals follow the ± (two significant digits).
QString valueText(survey::Quantity quantity, double value, double plusMinus = 0.0);
QString plusMinusText(survey::Quantity quantity, double plusMinus);
QString unitOf(survey::Quantity quantity);

/// The word for a quantity in lists ("distance along x" for offset-x).
QString quantityWord(survey::Quantity quantity);

}  // namespace trammel::ui
