// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/SurveyRows.h"

#include <QCoreApplication>
#include <QIcon>
#include <algorithm>
#include <array>
#include <cmath>

#include "core/base/Angle.h"
#include "core/drawing/Format.h"
#include "core/survey/Names.h"
#include "ui/panels/Icons.h"

namespace trammel::ui {
namespace {

using survey::Id;
using survey::Quantity;

QString tr(const char* text) { return QCoreApplication::translate("SurveyRows", text); }

QString labelOf(const std::string& name, const Id& id) {
    return QString::fromStdString(name.empty() ? id : name);
}

QString number(double value, int decimals) { return QString::fromStdString(drawing::fixed(value, decimals)); }

/// Micrometres are enough to read, without zeros that nobody typed.
QString rounded(double value) { return QString::number(std::round(value * 1000.0) / 1000.0, 'g', 10); }

/// What is edited keeps every digit that was typed.
QString asTyped(double value) { return QString::number(value, 'g', 10); }

double shown(Quantity quantity, double value) {
    return quantity == Quantity::Angle ? Angle::radians(value).deg() : value;
}

const adjust::ObservationResult* observationOf(const Document& document, const Id& object) {
    if (!document.solution()) return nullptr;
    for (const auto& o : document.solution()->observations)
        if (o.object == object) return &o;
    return nullptr;
}

bool isSuspect(const Document& document, const Id& object) {
    return document.solution() && std::ranges::any_of(document.solution()->suspects,
                                                      [&](const auto& s) { return s.object == object; });
}

QString oldTip(const Document& document) {
    return document.solutionIsOld() ? tr("Computed before the last change; adjust again.") : QString();
}

Cell residualCell(const Document& document, const adjust::ObservationResult* o, double shownResidual,
                  const QString& unit) {
    if (!o)
        return {.text = QStringLiteral("–"),
                .tip = tr("Known after an adjustment that includes it."),
                .number = true};
    QString tip = tr("Observed minus adjusted: %1 %2. Standardised residual w = %3 (beyond 3.29 is rare by "
                     "chance). Redundancy %4 of %5.")
                      .arg(number(shownResidual, 3), unit, number(o->w, 1), number(o->redundancy, 2))
                      .arg(o->size);
    if (o->check) tip = tr("Check: not used by the adjustment. ") + tip;
    if (document.solutionIsOld()) tip += QStringLiteral(" ") + oldTip(document);
    return {.text = number(shownResidual, 3), .tip = tip, .number = true, .faint = document.solutionIsOld()};
}

Cell testCell(const Document& document, const adjust::ObservationResult* o, const Id& object) {
    if (!o) return {.text = QStringLiteral("–"), .number = true};
    const bool suspect = isSuspect(document, object);
    return {.text = suspect ? tr("! %1").arg(number(o->w, 1)) : number(o->w, 1),
            .tip = suspect ? tr("A suspect: see Checks.")
                           : tr("Standardised residual; beyond 3.29 is rare by chance."),
            .number = true,
            .faint = document.solutionIsOld(),
            .loud = suspect};
}

int marksOf(const survey::Survey& survey, const Id& feature) {
    return static_cast<int>(
        std::ranges::count_if(survey.marks, [&](const auto& m) { return m.feature == feature; }));
}

/// Line icons are made once: the lists ask for hundreds of them.
QIcon kindIcon(survey::FeatureKind kind) {
    static const std::array<QIcon, 6> icons = {icon(QStringLiteral("corner")), icon(QStringLiteral("edge")),
                                               icon(QStringLiteral("hole")),   icon(QStringLiteral("arc")),
                                               icon(QStringLiteral("slot")),   icon(QStringLiteral("curve"))};
    return icons[static_cast<std::size_t>(kind)];
}

Cell coordinate(const Document& document, double value) {
    return {.text = number(value, 2),
            .tip = QObject::tr("%1 mm. %2").arg(number(value, 4), oldTip(document)),
            .number = true,
            .faint = document.solutionIsOld()};
}

}  // namespace

QString unitOf(Quantity quantity) { return quantity == Quantity::Angle ? QStringLiteral("°") : tr("mm"); }

QString quantityWord(Quantity quantity) {
    switch (quantity) {
        case Quantity::OffsetX:
            return tr("distance along x");
        case Quantity::OffsetY:
            return tr("distance along y");
        case Quantity::Tape:
            return tr("tape to the lens");
        case Quantity::InnerSpan:
            return tr("inner span");
        case Quantity::OuterSpan:
            return tr("outer span");
        case Quantity::Length:
            return tr("length of a slot");
        default:
            return QString::fromLatin1(survey::quantityName(quantity).data());
    }
}

QString valueText(Quantity quantity, double value, double plusMinus) {
    return number(shown(quantity, value), drawing::decimalsFor(shown(quantity, plusMinus)));
}

QString plusMinusText(Quantity quantity, double plusMinus) {
    const double pm = shown(quantity, plusMinus);
    return QStringLiteral("±") + number(pm, drawing::decimalsFor(pm));
}

QString objectNames(const survey::Survey& survey, const std::vector<Id>& objects) {
    QStringList names;
    for (const auto& id : objects) {
        if (const auto* f = survey::find(survey.features, id))
            names << labelOf(f->name, id);
        else if (const auto* l = survey::find(survey.levels, id))
            names << labelOf(l->name, id);
        else if (const auto* s = survey::find(survey.stations, id))
            names << labelOf(s->name, id);
        else
            names << QString::fromStdString(id);
    }
    return names.join(QStringLiteral(" – "));
}

QStringList levelHeadings() { return {tr("level"), tr("height")}; }

std::vector<Row> levelRows(const Document& document) {
    std::vector<Row> rows;
    const auto& survey = document.survey();
    for (const auto& level : survey.levels) {
        const bool datum = survey.datum.level == level.id;
        Cell name{.text = labelOf(level.name, level.id),
                  .tip = datum ? tr("The datum level: height 0 by definition. Double-click renames.")
                               : tr("Double-click renames."),
                  .loud = datum,
                  .editable = true};
        Cell height{.text = QStringLiteral("–"), .tip = tr("Known after an adjustment."), .number = true};
        if (datum)
            height = {.text = tr("0 datum"), .tip = name.tip, .number = true};
        else if (document.solution() && document.solution()->levels.contains(level.id)) {
            height = coordinate(document, document.solution()->levels.at(level.id));
            const auto pm = document.solution()->measure({{}, {}, Quantity::Height, {level.id}});
            if (pm) {
                height.text = valueText(Quantity::Height, pm->value, pm->plusMinus);
                height.tip =
                    tr("%1 mm %2 (k = 2) above the datum level. %3")
                        .arg(height.text, plusMinusText(Quantity::Height, pm->plusMinus), oldTip(document));
            }
        }
        rows.push_back({level.id, {name, height}});
    }
    return rows;
}

QStringList featureHeadings() { return {tr("feature"), tr("seen"), tr("x"), tr("y"), tr("z"), tr("level")}; }

std::vector<Row> featureRows(const Document& document) {
    std::vector<Row> rows;
    const auto& survey = document.survey();
    for (const auto& feature : survey.features) {
        const auto* level = survey::find(survey.levels, feature.level);
        const int marks = marksOf(survey, feature.id);
        QString name = labelOf(feature.name, feature.id);
        const bool origin = survey.datum.origin == feature.id, axis = survey.datum.direction == feature.id;
        Row row{feature.id,
                {{.text = name,
                  .tip = QString::fromStdString(survey::describe(survey, feature.id)) +
                         (origin ? tr(", the datum point: x = y = 0. Double-click renames.")
                          : axis ? tr(", gives the datum direction: +x. Double-click renames.")
                                 : tr(". Double-click renames.")),
                  .icon = kindIcon(feature.kind),
                  .loud = origin || axis,
                  .editable = true},
                 {.text = QString::number(marks),
                  .tip = tr("Photographs in which it is marked."),
                  .number = true}}};
        const auto* solution = document.solution().get();
        const auto it = solution ? solution->features.find(feature.id)
                                 : std::map<Id, adjust::FeatureGeometry>::const_iterator{};
        if (solution && it != solution->features.end())
            for (int i = 0; i < 3; ++i) row.cells.push_back(coordinate(document, it->second.point[i]));
        else
            for (int i = 0; i < 3; ++i)
                row.cells.push_back(
                    {.text = QStringLiteral("–"), .tip = tr("Known after an adjustment."), .number = true});
        row.cells.push_back({.text = level ? labelOf(level->name, level->id) : tr("free in space")});
        rows.push_back(std::move(row));
    }
    return rows;
}

QStringList readingHeadings() {
    return {tr("reading"), tr("of"), tr("value"), tr("σ"), tr("used"), tr("residual"), tr("w")};
}

std::vector<Row> readingRows(const Document& document) {
    std::vector<Row> rows;
    const auto& survey = document.survey();
    for (const auto& r : survey.readings) {
        const auto* o = observationOf(document, r.id);
        const QString unit = unitOf(r.quantity);
        const QString kind = r.reference ? tr("reference length") : quantityWord(r.quantity);
        const double residual = o && o->residual.size() > 0 ? shown(r.quantity, o->residual[0]) : 0.0;
        const QString note = r.check ? tr("check") : QString();
        rows.push_back(
            {r.id,
             {{.text = labelOf(r.name, r.id),
               .tip = tr("%1. Double-click renames.").arg(kind),
               .editable = true},
              {.text = objectNames(survey, r.objects),
               .tip = kind + QStringLiteral(": ") + objectNames(survey, r.objects)},
              {.text = rounded(shown(r.quantity, r.measured.value)),
               .tip = tr("%1, in %2. Double-click changes it.").arg(kind, unit) +
                      (r.jawFlat_mm > 0 ? tr(" Jaws with flats of %1 mm.").arg(rounded(r.jawFlat_mm))
                                        : QString()),
               .number = true,
               .editable = true,
               .exact = asTyped(shown(r.quantity, r.measured.value))},
              {.text = rounded(shown(r.quantity, r.measured.sigma)),
               .tip = tr("Standard uncertainty of the reading, in %1. Double-click changes it.").arg(unit),
               .number = true,
               .editable = true,
               .exact = asTyped(shown(r.quantity, r.measured.sigma))},
              {.text = note,
               .tip = tr("Ticked: the adjustment uses it. A check is withheld and must come out right."),
               .ticked = !r.excluded},
              residualCell(document, o, residual, unit),
              testCell(document, o, r.id)}});
    }
    return rows;
}

QStringList conditionHeadings() {
    return {tr("condition"), tr("between"), tr("σ"), tr("used"), tr("residual"), tr("w")};
}

std::vector<Row> conditionRows(const Document& document) {
    std::vector<Row> rows;
    const auto& survey = document.survey();
    for (const auto& c : survey.conditions) {
        const auto* o = observationOf(document, c.id);
        const QString between = objectNames(survey, c.objects);
        QString kind = QString::fromLatin1(survey::conditionName(c.kind).data());
        if (c.measured.value > 0) kind += tr(" %1 mm").arg(rounded(c.measured.value));
        const double miss = o && o->residual.size() > 0 ? o->residual.cwiseAbs().maxCoeff() : 0.0;
        rows.push_back({c.id,
                        {{.text = kind, .tip = labelOf(c.name, c.id) + QStringLiteral(": ") + kind},
                         {.text = between, .tip = between},
                         {.text = rounded(c.measured.sigma),
                          .tip = tr("How far the features may miss it, standard uncertainty in mm."),
                          .number = true},
                         {.text = {}, .tip = tr("Ticked: the adjustment uses it."), .ticked = !c.excluded},
                         residualCell(document, o, miss, tr("mm (the largest of its parts)")),
                         testCell(document, o, c.id)}});
    }
    return rows;
}

QStringList markHeadings() {
    return {tr("feature"), tr("photograph"), tr("by"), tr("used"), tr("residual"), tr("w")};
}

std::vector<Row> markRows(const Document& document) {
    std::vector<Row> rows;
    const auto& survey = document.survey();
    for (const auto& m : survey.marks) {
        const auto* o = observationOf(document, m.id);
        const double rms = o && o->size > 0 ? std::sqrt(o->residual.squaredNorm() / o->size) : 0.0;
        rows.push_back({m.id,
                        {{.text = objectNames(survey, {m.feature}),
                          .tip = QString::fromStdString(survey::describe(survey, m.feature))},
                         {.text = objectNames(survey, {m.station})},
                         {.text = QString::fromLatin1(survey::originName(m.origin).data()),
                          .tip = m.points.empty() ? QString()
                                                  : tr("%1 points, σ of the first %2 px")
                                                        .arg(m.points.size())
                                                        .arg(number(m.points.front().sigma_px, 2))},
                         {.text = {}, .tip = tr("Ticked: the adjustment uses it."), .ticked = !m.excluded},
                         residualCell(document, o, rms, tr("px (root mean square)")),
                         testCell(document, o, m.id)}});
    }
    return rows;
}

QStringList outlineHeadings() { return {tr("outline"), tr("level"), tr("features in order")}; }

std::vector<Row> outlineRows(const Document& document) {
    std::vector<Row> rows;
    const auto& survey = document.survey();
    for (const auto& o : survey.outlines) {
        const QString chain = objectNames(survey, o.chain);
        rows.push_back({o.id,
                        {{.text = labelOf(o.name, o.id),
                          .tip = tr("%1. Double-click renames.")
                                     .arg(QString::fromLatin1(survey::purposeName(o.purpose).data())),
                          .editable = true},
                         {.text = objectNames(survey, {o.level})},
                         {.text = chain, .tip = chain}}});
    }
    return rows;
}

}  // namespace trammel::ui
