// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/PastedReadings.h"

#include <QCoreApplication>
#include <algorithm>
#include <optional>

#include "core/base/Angle.h"
#include "core/survey/Names.h"
#include "core/survey/ObjectCheck.h"
#include "ui/panels/TypedNumber.h"

namespace trammel::ui {
namespace {

using survey::Id;
using survey::Quantity;

enum Cells { Kind, From, To, Value, Unit, Sigma, Name, Role };

QString tr(const char* text) { return QCoreApplication::translate("PastedReadings", text); }

const QString kPartings = QStringLiteral("\t;,");

/// The end of the line or of a cell stands here, but for blanks.
bool endsCell(const QString& line, qsizetype at) {
    while (at < line.size() && line[at] == QLatin1Char(' ')) ++at;
    return at >= line.size() || kPartings.contains(line[at]);
}

bool beginsCell(const QString& line, qsizetype at) {
    while (at > 0 && line[at - 1] == QLatin1Char(' ')) --at;
    return at == 0 || kPartings.contains(line[at - 1]);
}

/// The quote that closes the one at `open`; −1 where none does. Two in a row are one that is meant.
qsizetype closing(const QString& line, qsizetype open) {
    for (qsizetype i = open + 1; i < line.size(); ++i) {
        if (line[i] != QLatin1Char('"')) continue;
        if (i + 1 < line.size() && line[i + 1] == QLatin1Char('"'))
            ++i;
        else if (endsCell(line, i + 1))
            return i;
    }
    return -1;
}

/// Which characters stand in quotes and so part no cells. A quote alone in its cell is the sign of the inch.
std::vector<bool> quotedIn(const QString& line) {
    std::vector<bool> quoted(static_cast<std::size_t>(line.size()), false);
    for (qsizetype i = 0; i < line.size(); ++i) {
        if (line[i] != QLatin1Char('"') || !beginsCell(line, i) || endsCell(line, i + 1)) continue;
        const qsizetype end = closing(line, i);
        if (end < 0) break;
        for (; i < end; ++i) quoted[static_cast<std::size_t>(i)] = true;
    }
    return quoted;
}

QStringList cellsOf(const QString& line) {
    const auto quoted = quotedIn(line);
    qsizetype rank = kPartings.size() - 1;  // the first kind of parting that stands outside quotes
    for (qsizetype i = 0; i < line.size(); ++i)
        if (const qsizetype at = kPartings.indexOf(line[i]); at >= 0 && !quoted[static_cast<std::size_t>(i)])
            rank = std::min(rank, at);
    QStringList cells{QString()};
    for (qsizetype i = 0; i < line.size(); ++i)
        if (line[i] == kPartings[rank] && !quoted[static_cast<std::size_t>(i)])
            cells << QString();
        else
            cells.back() += line[i];
    for (QString& cell : cells) {
        cell = cell.trimmed();
        if (cell.size() >= 2 && cell.startsWith(QLatin1Char('"')) && cell.endsWith(QLatin1Char('"')))
            cell =
                cell.mid(1, cell.size() - 2).replace(QStringLiteral("\"\""), QStringLiteral("\"")).trimmed();
    }
    return cells;
}

/// mm (or rad) to the unit; nothing for a word that is no unit of the quantity.
std::optional<double> unitOfWord(const QString& word, bool angle) {
    const QString w = word.toLower();
    if (angle) {
        if (w.isEmpty() || w == QStringLiteral("°") || w == QStringLiteral("deg"))
            return Angle::degrees(1).rad();
        if (w == QStringLiteral("rad")) return 1.0;
        return std::nullopt;
    }
    const std::pair<const char*, double> units[] = {{"", 1.0},     {"mm", 1.0},    {"cm", 10.0},
                                                    {"m", 1000.0}, {"µm", 0.001},  {"um", 0.001},
                                                    {"in", 25.4},  {"inch", 25.4}, {"\"", 25.4}};
    for (const auto& [name, mm] : units)
        if (w == QString::fromUtf8(name)) return mm;
    return std::nullopt;
}

/// Ids that go by this name: an id itself, else a name as it is written, else a name in other letters.
std::vector<Id> knownAs(const survey::Survey& survey, const QString& word) {
    std::vector<Id> exact, loose;
    const std::string plain = word.toStdString();
    const auto look = [&](const auto& list) {
        for (const auto& item : list) {
            const QString name = QString::fromStdString(item.name);
            if (item.name == plain)
                exact.push_back(item.id);
            else if (item.id == plain || name.compare(word, Qt::CaseInsensitive) == 0)
                loose.push_back(item.id);
        }
    };
    look(survey.features);
    look(survey.levels);
    look(survey.stations);
    return exact.empty() ? loose : exact;
}

/// Reads one line; returns what is wrong, or nothing.
/// `survey` is as it was afterwards.
QString readLine(survey::Survey& survey, const QStringList& cells, double sigma_mm, double sigma_rad,
                 survey::Reading& reading) {
    const auto cell = [&](int i) { return i < cells.size() ? cells[i] : QString(); };
    if (cells.size() <= Value)
        return tr("it has %1 cells; kind, from, to, value and unit are needed").arg(cells.size());
    QStringList roles = cell(Role).toLower().split(QLatin1Char(','));
    for (QString& role : roles) role = role.trimmed();
    if (roles.contains(QStringLiteral("dimension")))
        return tr(
            "it is a wanted dimension, a result of the adjustment: it is passed over, for as a reading "
            "the same marks would count twice");
    const auto quantity = survey::quantityFromName(cell(Kind).toLower().toStdString());
    if (!quantity) return tr("\"%1\" is no kind of reading (distance, diameter, depth ...)").arg(cell(Kind));
    reading.quantity = *quantity;
    QStringList names{cell(From)};
    names += cell(To).split(QStringLiteral(" – "), Qt::SkipEmptyParts);
    for (const QString& name : names) {
        const QString word = name.trimmed();
        if (word.isEmpty()) continue;
        const auto ids = knownAs(survey, word);
        if (ids.empty()) return tr("nothing in this survey is called \"%1\"").arg(word);
        if (ids.size() > 1) return tr("%1 things are called \"%2\"; give the id").arg(ids.size()).arg(word);
        reading.objects.push_back(ids.front());
    }
    const bool angle = *quantity == Quantity::Angle;
    const auto unit = unitOfWord(cell(Unit), angle);
    if (!unit) return tr("\"%1\" is no unit for it").arg(cell(Unit));
    const auto value = typedNumber(cell(Value), tr("value"));
    if (!value) return QString::fromStdString(value.error().sentence());
    reading.measured = {*value * *unit, angle ? sigma_rad : sigma_mm};
    if (!cell(Sigma).isEmpty()) {
        const auto sigma = typedNumber(cell(Sigma), tr("σ"));
        if (!sigma) return QString::fromStdString(sigma.error().sentence());
        reading.measured.sigma = *sigma * *unit;
    }
    reading.name = cell(Name).toStdString();
    reading.check = roles.contains(QStringLiteral("check"));
    reading.reference = roles.contains(QStringLiteral("reference"));
    reading.excluded = roles.contains(QStringLiteral("left out"));
    reading.id = survey::freshId(survey, 'R');
    survey.readings.push_back(reading);  // what is wrong with it is said of an object of the survey
    const auto findings = survey::checkObject(survey, reading);
    survey.readings.pop_back();
    return findings.empty() ? QString() : QString::fromStdString(findings.front().sentence());
}

bool isHeading(const QStringList& cells) {
    return cells.size() > Value && cells[Kind].compare(QStringLiteral("kind"), Qt::CaseInsensitive) == 0 &&
           !typedNumber(cells[Value], QStringLiteral("value"));
}

}  // namespace

std::vector<PastedLine> readPasted(const survey::Survey& survey, const QString& text, double sigma_mm,
                                   double sigma_rad) {
    std::vector<PastedLine> lines;
    survey::Survey with = survey;
    int number = 0;
    QString plain = text;
    plain.replace(QStringLiteral("\r\n"), QStringLiteral("\n")).replace(QLatin1Char('\r'), QLatin1Char('\n'));
    for (const QString& line : plain.split(QLatin1Char('\n'))) {
        ++number;
        if (line.trimmed().isEmpty()) continue;
        const QStringList cells = cellsOf(line);
        if (lines.empty() && isHeading(cells)) continue;
        PastedLine read{number, line, {}, {}};
        survey::Reading reading;
        read.problem = readLine(with, cells, sigma_mm, sigma_rad, reading);
        if (read.problem.endsWith(QLatin1Char('.'))) read.problem.chop(1);
        if (read.problem.isEmpty()) read.reading.push_back(reading);
        lines.push_back(std::move(read));
    }
    return lines;
}

survey::Edit pasteEdit(const survey::Survey& survey, const std::vector<PastedLine>& lines) {
    survey::Survey with = survey;  // each takes the next id
    survey::Edit edit{"Paste readings", {}};
    for (const auto& line : lines)
        for (survey::Reading reading : line.reading) {
            reading.id = survey::freshId(with, 'R');
            if (reading.name.empty()) reading.name = reading.id;
            with.readings.push_back(reading);
            edit.changes.push_back(survey::Put<survey::Reading>{reading});
        }
    edit.name = "Paste " + std::to_string(edit.changes.size()) + " readings";
    return edit;
}

}  // namespace trammel::ui
