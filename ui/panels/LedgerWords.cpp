// SPDX-License-Identifier: GPL-3.0-or-later
// The ledger in words: where a ± comes from, and the rows as text for a sheet of cells.
#include <QCoreApplication>
#include <cmath>

#include "core/base/Angle.h"
#include "core/drawing/Format.h"
#include "core/survey/Names.h"
#include "ui/panels/LedgerRows.h"

namespace trammel::ui {
namespace {

using survey::Id;
using survey::Quantity;

constexpr double kLeastShare = 0.02;  ///< of the variance: the adjustment names no smaller ones
constexpr std::size_t kMostCarriers = 12;

QString tr(const char* text) { return QCoreApplication::translate("LedgerRows", text); }

QString number(double value, int decimals) { return QString::fromStdString(drawing::fixed(value, decimals)); }

QString line(const QString& html) { return QStringLiteral("<p style='margin:2px 0'>%1</p>").arg(html); }

QString link(const Id& object, const QString& words) {
    return QStringLiteral("<a href='show:%1'>%2</a>")
        .arg(QString::fromStdString(object).toHtmlEscaped(), words.toHtmlEscaped());
}

/// Marks and readings can be shown; what a camera was taken for cannot.
QString named(const survey::Survey& survey, const adjust::Carrier& carrier) {
    const QString words = QString::fromStdString(carrier.description);
    const bool there =
        survey::find(survey.marks, carrier.object) || entryKind(survey, carrier.object).has_value();
    return there ? link(carrier.object, words) : words.toHtmlEscaped();
}

QString ofDimension(const Document& document, const adjust::DimensionResult& d) {
    const auto quantity = d.dimension.quantity;
    if (d.plusMinus < 1e-7) return line(tr("It has none: the choice of the datum sets this value."));
    QString out = line(tr("%1 %2 (k = 2). Shares of its variance, largest first:")
                           .arg(plusMinusText(quantity, d.plusMinus), unitOf(quantity)));
    double told = 0.0;
    std::size_t lines = 0;
    QString rows;
    for (const auto& carrier : d.carriers) {
        if (carrier.share < kLeastShare || lines == kMostCarriers) break;
        rows += QStringLiteral("<tr><td align='right'>%1 %</td><td>%2</td></tr>")
                    .arg(number(100.0 * carrier.share, 1), named(document.survey(), carrier));
        told += carrier.share;
        ++lines;
    }
    if (told < 1.0 - 0.5 * 0.001)  // of what rounds to 0.1 %
        rows += QStringLiteral("<tr><td align='right'>%1 %</td><td>%2</td></tr>")
                    .arg(number(100.0 * (1.0 - told), 1), tr("all others, each under 2 %"));
    return out + QStringLiteral("<table cellpadding='2'>%1</table>").arg(rows);
}

/// What was typed: who controls it, and what rests on it.
QString ofObservation(const Document& document, const Id& entry) {
    const auto& solution = *document.solution();
    QString out =
        line(tr("Its ± is twice the σ that was stated with it; the adjustment does not change it."));
    for (const auto& o : solution.observations) {
        if (o.object != entry) continue;
        const bool none = !std::isfinite(o.smallestDetectable);
        const auto* reading = survey::find(document.survey().readings, entry);
        const bool angle = reading && reading->quantity == Quantity::Angle;
        const double unit = angle ? Angle::radians(1.0).deg() : 1.0;
        out += line(o.check ? tr("It is a check: withheld, so that no dimension rests on it.")
                    : none  ? tr("Nothing else speaks of it: an error in it would not show.")
                            : tr("Redundancy %1 of %2. An error in it below %3 %4 would mostly go unnoticed.")
                                 .arg(number(o.redundancy, 2))
                                 .arg(o.size)
                                 .arg(number(unit * o.smallestDetectable, 3),
                                      angle ? QStringLiteral("°") : tr("mm")));
    }
    QStringList rest;
    for (const auto& d : solution.dimensions)
        for (const auto& carrier : d.carriers)
            if (carrier.object == entry && carrier.share >= 0.01)
                rest << link(d.dimension.id, QString::fromStdString(d.dimension.name)) +
                            QStringLiteral(" %1 %").arg(number(100.0 * carrier.share, 0));
    if (!rest.empty())
        out += line(
            tr("Of the variance of these dimensions it carries: %1.").arg(rest.join(QStringLiteral(", "))));
    return out;
}

QString cellText(const std::string& text) {
    QString out = QString::fromStdString(text);
    return out.replace(QLatin1Char('\t'), QLatin1Char(' ')).replace(QLatin1Char('\n'), QLatin1Char(' '));
}

QString plain(double value) { return QString::number(std::round(value * 1e5) / 1e5, 'g', 10); }

}  // namespace

QString originOfPlusMinus(const Document& document, const Id& entry) {
    if (!document.solution()) return line(tr("Adjust first: a ± is known after it."));
    QString out;
    if (document.solutionIsOld()) out += line(tr("The survey has changed since; as it was before:"));
    if (!survey::find(document.survey().dimensions, entry)) return out + ofObservation(document, entry);
    for (const auto& d : document.solution()->dimensions)
        if (d.dimension.id == entry && !d.carriers.empty()) return out + ofDimension(document, d);
    for (const auto& d : document.solution()->dimensions)
        if (d.dimension.id == entry && d.plusMinus < 1e-7) return out + ofDimension(document, d);
    return out + line(tr("Adjust again: shares are found with the adjustment, and this dimension is newer."));
}

QString asTable(const Document& document, const std::vector<Id>& entries) {
    const auto& survey = document.survey();
    QStringList lines{QStringList{tr("kind"), tr("from"), tr("to"), tr("value"), tr("unit"), tr("sigma"),
                                  tr("name"), tr("entry")}
                          .join(QLatin1Char('\t'))};
    const auto put = [&](Quantity quantity, const std::vector<Id>& objects, double value, double sigma,
                         const std::string& name, const QString& what) {
        const bool angle = quantity == Quantity::Angle;
        const double unit = angle ? Angle::radians(1.0).deg() : 1.0;
        QStringList cells{QString::fromLatin1(survey::quantityName(quantity).data())};
        cells << (objects.empty() ? QString() : objectNames(survey, {objects.front()}))
              << (objects.size() < 2 ? QString() : objectNames(survey, {objects.begin() + 1, objects.end()}))
              << plain(value * unit) << (angle ? QStringLiteral("°") : QStringLiteral("mm"))
              << plain(sigma * unit) << cellText(name) << what;
        lines << cells.join(QLatin1Char('\t'));
    };
    for (const Id& id : entries) {
        if (const auto* r = survey::find(survey.readings, id))
            put(r->quantity, r->objects, r->measured.value, r->measured.sigma, r->name.empty() ? id : r->name,
                (r->check       ? tr("check")
                 : r->reference ? tr("reference")
                                : tr("reading")) +
                    (r->excluded ? QStringLiteral(", ") + tr("left out") : QString()));
        const auto* d = survey::find(survey.dimensions, id);
        if (!d || !document.solution()) continue;
        if (const auto m = document.solution()->measure(*d))
            put(d->quantity, d->objects, m->value, 0.5 * m->plusMinus, d->name.empty() ? id : d->name,
                tr("dimension"));
    }
    return lines.join(QLatin1Char('\n')) + QLatin1Char('\n');
}

}  // namespace trammel::ui
