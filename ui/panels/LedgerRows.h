// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>

#include "ui/panels/SurveyRows.h"

/// The ledger's rows: everything that is wanted of the part and everything that was typed about it, with how
/// it fared. Pure: a document in, plain rows out.
namespace trammel::ui {

enum class EntryKind { Dimension, Reading, Reference, Condition };

/// Of which kind the entry with this id is; nothing when the survey holds none.
std::optional<EntryKind> entryKind(const survey::Survey& survey, const survey::Id& id);

enum LedgerColumn { kName, kValue, kPlusMinus, kResidual, kMatters, kCheck, kOf, kWanted };
QStringList ledgerHeadings();
std::vector<Row> ledgerRows(const Document& document);

/// Where the ± of an entry comes from, as a page: of a dimension what carries it, share by share; of what was
/// typed how far the others control it and which dimensions rest on it. Observations are links by their id.
QString originOfPlusMinus(const Document& document, const survey::Id& entry);

/// Entries as text with a tab between cells and a line each, headings first: what other programs' sheets of
/// cells take, and what the readings' list takes back.
QString asTable(const Document& document, const std::vector<survey::Id>& entries);

}  // namespace trammel::ui
