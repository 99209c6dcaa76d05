// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/LedgerRows.h"

#include <QCoreApplication>
#include <algorithm>
#include <cmath>

#include "core/base/Angle.h"
#include "core/drawing/Format.h"
#include "core/survey/Names.h"
#include "ui/panels/Icons.h"
#include "ui/panels/ResidualBar.h"

namespace trammel::ui {
namespace {

using survey::Id;
using survey::Quantity;

constexpr double kExact = 1e-7;  ///< mm or rad: a ± below is rounding

QString tr(const char* text) { return QCoreApplication::translate("LedgerRows", text); }

QString labelOf(const std::string& name, const Id& id) {
    return QString::fromStdString(name.empty() ? id : name);
}

double shown(Quantity quantity, double value) {
    return quantity == Quantity::Angle ? Angle::radians(value).deg() : value;
}

/// Micrometres are enough to read, without zeros that nobody typed.
QString rounded(double value) { return QString::number(std::round(value * 1000.0) / 1000.0, 'g', 10); }

QString oldTip(const Document& document) {
    return document.solutionIsOld() ? tr("Computed before the last change; adjust again.") : QString();
}

Cell nameCell(const std::string& name, const Id& id, const QString& kind, const QString& of,
              const QString& sort) {
    return {.text = labelOf(name, id),
            .tip = tr("%1: %2. Double-click renames.").arg(kind, of),
            .also = sort + QLatin1Char(' ') + kind,
            .editable = true};
}

Cell empty() { return {.text = QString(), .number = true}; }

/// The largest standardised residual with the sign of the largest residual.
Cell residualCell(const Document& document, const Id& id, bool excluded) {
    const adjust::ObservationResult* o = nullptr;
    if (document.solution())
        for (const auto& each : document.solution()->observations)
            if (each.object == id) o = &each;
    if (!o || o->residual.size() == 0)
        return {.text = QStringLiteral("–"),
                .tip = excluded ? tr("Left out of the adjustment.")
                                : tr("Known after an adjustment that includes it."),
                .number = true};
    Eigen::Index largest = 0;
    o->residual.cwiseAbs().maxCoeff(&largest);
    const double w = o->residual[largest] < 0.0 ? -o->w : o->w;
    const bool suspect =
        std::ranges::any_of(document.solution()->suspects, [&](const auto& s) { return s.object == id; });
    const QString number = QString::fromStdString(drawing::fixed(w, 1));
    QString tip =
        tr("Standardised residual (observed minus adjusted) of %1. The marks on the bar stand at %2, "
           "which good data exceed once in a thousand. Redundancy %3 of %4. %5")
            .arg(number)
            .arg(ResidualBar::kCritical)
            .arg(QString::fromStdString(drawing::fixed(o->redundancy, 2)))
            .arg(o->size)
            .arg(oldTip(document));
    if (suspect) tip = tr("A suspect: see Checks. ") + tip;
    return {.text = suspect ? QStringLiteral("! ") + number : number,
            .tip = tip,
            .number = true,
            .faint = document.solutionIsOld(),
            .loud = suspect,
            .order = std::abs(w),
            .bar = w};
}

/// A ± that was stated with the value: k = 2 of the typed σ.
Cell statedCell(Quantity quantity, double sigma) {
    return {.text = QStringLiteral("±") + rounded(2.0 * shown(quantity, sigma)),
            .tip = tr("As it was stated: twice its σ (k = 2)."),
            .number = true,
            .order = 2.0 * shown(quantity, sigma)};
}

Row dimensionRow(const Document& document, const survey::Dimension& d) {
    const QString of = objectNames(document.survey(), d.objects), kind = quantityWord(d.quantity);
    Cell value{.text = QStringLiteral("–"), .tip = tr("Known after an adjustment."), .number = true};
    Cell pm = value;
    if (document.solution()) {
        const auto measured = document.solution()->measure(d);
        if (measured) {
            value.text = valueText(d.quantity, measured->value, measured->plusMinus) + QStringLiteral(" ") +
                         unitOf(d.quantity);
            value.order = shown(d.quantity, measured->value);
            const bool exact = measured->plusMinus < kExact;
            pm.text = exact ? tr("by datum") : plusMinusText(d.quantity, measured->plusMinus);
            pm.order = shown(d.quantity, measured->plusMinus);
            value.tip =
                tr("%1 of %2, from all marks and readings together. %3").arg(kind, of, oldTip(document));
            pm.tip = exact ? tr("No uncertainty: the choice of the datum sets this value.")
                           : tr("Expanded uncertainty, k = 2: about 95 of 100 such intervals hold the true "
                                "value. %1")
                                 .arg(oldTip(document));
        } else {
            value.tip = pm.tip = QString::fromStdString(measured.error().sentence());
        }
        value.faint = pm.faint = document.solutionIsOld();
    }
    const bool asked = d.target > 0;
    Cell wanted{.text = asked ? QStringLiteral("±") + rounded(shown(d.quantity, d.target)) : QString(),
                .tip = tr("The ± (k = 2) that would do, in %1. Double-click states it, empty takes it back; "
                          "the report says whether it is met and what to do next.")
                           .arg(unitOf(d.quantity)),
                .number = true,
                .editable = true,
                .exact = asked ? QString::number(shown(d.quantity, d.target), 'g', 10) : QString()};
    if (asked) wanted.order = shown(d.quantity, d.target);
    Cell name = nameCell(d.name, d.id, kind, of, tr("dimension"));
    name.loud = d.important;
    return {d.id,
            {name,
             value,
             pm,
             empty(),
             {.text = {},
              .tip = tr("Ticked: it matters. The advice works on those that matter, and pages name them "
                        "first."),
              .order = d.important ? 0.0 : 1.0,
              .ticked = d.important},
             {.text = {}},
             {.text = of, .tip = kind + QStringLiteral(": ") + of},
             wanted}};
}

Row readingRow(const Document& document, const survey::Reading& r) {
    const QString of = objectNames(document.survey(), r.objects);
    const QString kind = r.reference ? tr("reference length") : quantityWord(r.quantity);
    Cell name = nameCell(r.name, r.id, kind, of, tr("reading"));
    name.faint = r.excluded;
    return {r.id,
            {name,
             {.text = rounded(shown(r.quantity, r.measured.value)) + QStringLiteral(" ") + unitOf(r.quantity),
              .tip = tr("%1, as it was read, in %2. Double-click changes it.").arg(kind, unitOf(r.quantity)),
              .number = true,
              .faint = r.excluded,
              .editable = true,
              .exact = QString::number(shown(r.quantity, r.measured.value), 'g', 10),
              .order = shown(r.quantity, r.measured.value)},
             statedCell(r.quantity, r.measured.sigma),
             residualCell(document, r.id, r.excluded),
             {.text = {}},
             {.text = {},
              .tip = tr("Ticked: withheld from the adjustment; it must come out right."),
              .also = r.check ? tr("check") : QString(),
              .order = r.check ? 0.0 : 1.0,
              .ticked = r.check},
             {.text = of, .tip = kind + QStringLiteral(": ") + of},
             {.text = {}}}};
}

Row conditionRow(const Document& document, const survey::Condition& c) {
    const QString of = objectNames(document.survey(), c.objects);
    const QString kind = QString::fromLatin1(survey::conditionName(c.kind).data());
    Cell name{.text = kind,
              .tip = labelOf(c.name, c.id) + QStringLiteral(": ") + of,
              .also = tr("condition"),
              .faint = c.excluded};
    Cell value = empty();
    if (c.measured.value > 0) {
        value.text = rounded(c.measured.value) + QStringLiteral(" ") + tr("mm");
        value.order = c.measured.value;
    }
    return {c.id,
            {name,
             value,
             statedCell(Quantity::Distance, c.measured.sigma),
             residualCell(document, c.id, c.excluded),
             {.text = {}},
             {.text = {}},
             {.text = of, .tip = of},
             {.text = {}}}};
}

}  // namespace

std::optional<EntryKind> entryKind(const survey::Survey& survey, const Id& id) {
    if (survey::find(survey.dimensions, id)) return EntryKind::Dimension;
    if (survey::find(survey.conditions, id)) return EntryKind::Condition;
    if (const auto* r = survey::find(survey.readings, id))
        return r->reference ? EntryKind::Reference : EntryKind::Reading;
    return std::nullopt;
}

QStringList ledgerHeadings() {
    return {tr("name"),    tr("value"), tr("± (k = 2)"), tr("residual"),
            tr("matters"), tr("check"), tr("of"),        tr("wanted")};
}

std::vector<Row> ledgerRows(const Document& document) {
    std::vector<Row> rows;
    const auto& survey = document.survey();
    for (const auto& d : survey.dimensions) rows.push_back(dimensionRow(document, d));
    for (const bool reference : {false, true})
        for (const auto& r : survey.readings)
            if (r.reference == reference) rows.push_back(readingRow(document, r));
    for (const auto& c : survey.conditions) rows.push_back(conditionRow(document, c));
    return rows;
}

}  // namespace trammel::ui
