// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/ReportText.h"

#include <QCoreApplication>
#include <algorithm>

#include "core/adjust/Report.h"
#include "core/base/Angle.h"
#include "core/drawing/Format.h"
#include "ui/panels/SurveyRows.h"

namespace trammel::ui {
namespace {

using adjust::Cause;
using survey::Quantity;

constexpr QChar kStays(0x00a0);       // a blank that no line ends at
constexpr double kExact = 1e-7;       // mm or rad: below it a ± is rounding
constexpr double kLeastShare = 0.01;  // of the variance: less is not worth a line
constexpr std::size_t kMostCarriers = 4;

QString tr(const char* text) { return QCoreApplication::translate("ReportText", text); }

/// A sentence as the page has it: it begins with a capital.
QString sentence(const std::string& text) {
    QString out = QString::fromStdString(text);
    if (!out.isEmpty()) out[0] = out[0].toUpper();
    // a number stays with its sign and unit at the end of a line
    out.replace(QStringLiteral("± "), QStringLiteral("±\u00a0"));
    out.replace(QStringLiteral(" mm"), QStringLiteral("\u00a0mm"));
    return out.toHtmlEscaped();
}

QString words(const std::string& text) { return QString::fromStdString(text).toHtmlEscaped(); }

QString heading(const QString& text) { return QStringLiteral("<h3>%1</h3>").arg(text); }

QString paragraph(const QString& html) { return QStringLiteral("<p>%1</p>").arg(html); }

QString cell(const QString& html, bool number = false) {
    return QStringLiteral("<td%1>%2</td>").arg(number ? QStringLiteral(" align='right'") : QString(), html);
}

QString head(const QStringList& names, int firstNumber) {
    QString row = QStringLiteral("<tr>");
    for (int i = 0; i < names.size(); ++i)
        row += QStringLiteral("<th align='%1'>%2</th>")
                   .arg(i < firstNumber ? QStringLiteral("left") : QStringLiteral("right"), names[i]);
    return row + QStringLiteral("</tr>");
}

/// Not quite the whole width: columns are rounded up to whole pixels, which must not widen the page.
QString table(const QString& rows) {
    return QStringLiteral("<table width='99%' cellspacing='0' cellpadding='4'>%1</table>").arg(rows);
}

QString list(const std::vector<std::string>& sentences, const char* tag = "ul") {
    QString items;
    for (const auto& s : sentences) items += QStringLiteral("<li>%1</li>").arg(sentence(s));
    return QStringLiteral("<%1>%2</%1>").arg(QString::fromLatin1(tag), items);
}

/// "±0.12 mm", or that the datum sets it.
QString doubt(Quantity quantity, double plusMinus) {
    return plusMinus < kExact ? tr("by the datum")
                              : plusMinusText(quantity, plusMinus) + kStays + unitOf(quantity);
}

/// A link where the window can lead to it.
QString linked(const survey::Survey& survey, const survey::Id& object, const QString& text) {
    if (!survey::find(survey.marks, object) && !survey::find(survey.readings, object)) return text;
    return QStringLiteral("<a href='show:%1'>%2</a>").arg(words(object), text);
}

QString causeWords(Cause cause) {
    switch (cause) {
        case Cause::Unknown:
            return {};
        case Cause::WrongTie:
            return tr("a mark on another feature of the part");
        case Cause::SwappedTies:
            return tr("the marks of two features exchanged");
        case Cause::MirroredPhotograph:
            return tr("a photograph flipped left to right");
        case Cause::WrongView:
            return tr("a photograph given another view than it shows");
        case Cause::WholePhotograph:
            return tr("the whole photograph: refocused, zoomed, or the part was moved");
        case Cause::Inches:
            return tr("a reading in inches, or one converted twice");
        case Cause::PowerOfTen:
            return tr("a decimal point in the wrong place");
        case Cause::RadiusForDiameter:
            return tr("a radius in place of a diameter, or the other way round");
        case Cause::ExchangedDigits:
            return tr("two neighbouring digits exchanged");
        case Cause::WrongDigit:
            return tr("a digit wrong, missing or doubled");
    }
    return {};
}

QString verdict(const Document& document) {
    const auto& s = *document.solution();
    QString text;
    if (adjust::agrees(s))
        text = tr("Everything agrees within its σ.");
    else if (!s.suspects.empty())
        text = tr("Something disagrees: it is named below, worst first.");
    else if (std::ranges::any_of(s.observations, [](const auto& o) { return o.check && adjust::missed(o); }))
        text = tr("A check dimension is missed: see below.");
    else
        text = tr("The observations disagree more than their σ allow; no single one can be named.");
    QString out = QStringLiteral("<h2>%1</h2>").arg(text);
    if (document.solutionIsOld())
        out += paragraph(QStringLiteral("<b>%1</b>")
                             .arg(tr("Out of date: the survey has changed since this was computed. "
                                     "<a href='adjust:now'>Adjust again</a> (F5).")));
    return out + paragraph(QString::fromStdString(adjust::globalText(s.global)));
}

QString suspects(const Document& document) {
    const auto& s = *document.solution();
    if (s.suspects.empty()) return {};
    QString items;
    for (const auto& suspect : s.suspects) {
        QString item = QStringLiteral("<li><b>!</b> ") + sentence(suspect.sentence);
        if (const QString cause = causeWords(suspect.cause); !cause.isEmpty())
            item += QStringLiteral("<br/>") + tr("The data point to: %1.").arg(cause);
        if (!suspect.alternatives.empty()) {
            QStringList names;
            for (const auto& id : suspect.alternatives)
                names << linked(document.survey(), id, words(survey::describe(document.survey(), id)));
            item += QStringLiteral("<br/>") +
                    tr("It may be one of these instead: %1.").arg(names.join(QStringLiteral("; ")));
        }
        if (!suspect.decidedBy.empty()) item += QStringLiteral("<br/>") + sentence(suspect.decidedBy);
        const QString show = linked(document.survey(), suspect.object, tr("Show it"));
        if (show.startsWith(QLatin1Char('<'))) item += QStringLiteral("<br/>") + show;
        items += item + QStringLiteral("</li>");
    }
    return heading(tr("What disagrees")) + QStringLiteral("<ol>%1</ol>").arg(items);
}

QString carriers(const Document& document, const adjust::DimensionResult& d) {
    QStringList parts;
    for (const auto& carrier : d.carriers) {
        if (carrier.share < kLeastShare || parts.size() == static_cast<qsizetype>(kMostCarriers)) break;
        parts << linked(document.survey(), carrier.object, words(carrier.description)) +
                     QStringLiteral(" %1 %").arg(carrier.share * 100.0, 0, 'f', 0);
    }
    return parts.isEmpty() ? QString() : tr("Carried by %1").arg(parts.join(QStringLiteral("; ")));
}

/// One dimension: its figures, and under them what carries its ±.
QString dimensionRows(const Document& document, const adjust::DimensionResult& d, bool wanted) {
    const auto quantity = d.dimension.quantity;
    const std::string& name = d.dimension.name.empty() ? d.dimension.id : d.dimension.name;
    const bool asked = d.dimension.target > 0, met = d.plusMinus <= d.dimension.target;
    const QString title = d.dimension.important ? QStringLiteral("<b>%1</b>").arg(words(name)) : words(name);
    const QString about =
        quantityWord(quantity) + QStringLiteral(": ") + objectNames(document.survey(), d.dimension.objects);
    QString rows = QStringLiteral("<tr><td>") + title +
                   QStringLiteral("<br/><small>%1</small></td>").arg(about.toHtmlEscaped()) +
                   cell(valueText(quantity, d.value, d.plusMinus) + kStays + unitOf(quantity), true) +
                   cell(doubt(quantity, d.plusMinus), true);
    if (wanted)
        rows += cell(asked ? doubt(quantity, d.dimension.target) : QStringLiteral("–"), true) +
                cell(!asked ? QStringLiteral("–")
                     : met  ? tr("yes")
                            : tr("<b>NOT met</b>"),
                     true);
    rows += QStringLiteral("</tr>");
    if (const QString carried = carriers(document, d); !carried.isEmpty())
        rows += QStringLiteral("<tr><td colspan='%1' class='under'><small>%2</small></td></tr>")
                    .arg(QString::number(wanted ? 5 : 3), carried);
    return rows;
}

QString dimensions(const Document& document) {
    const auto& s = *document.solution();
    const QString out = heading(tr("Dimensions"));
    if (s.dimensions.empty())
        return out + paragraph(tr("None is wanted yet. The ledger takes what you want to know of the part."));
    const bool wanted =
        std::ranges::any_of(s.dimensions, [](const auto& d) { return d.dimension.target > 0; });
    QStringList names = {tr("dimension"), tr("value"), tr("± (k = 2)")};
    if (wanted) names << tr("± wanted") << tr("met");
    QString rows = head(names, 1);
    for (const auto& d : s.dimensions) rows += dimensionRows(document, d, wanted);
    const bool any = std::ranges::any_of(s.dimensions, [](const auto& d) { return d.dimension.important; });
    return out + (any ? paragraph(tr("Important ones are in bold letters.")) : QString()) + table(rows);
}

QString checks(const Document& document) {
    QString rows;
    for (const auto& o : document.solution()->observations) {
        if (!o.check || o.residual.size() == 0) continue;
        const auto* reading = survey::find(document.survey().readings, o.object);
        const bool angle = reading && reading->quantity == Quantity::Angle;
        const double off = angle ? Angle::radians(o.residual[0]).deg() : o.residual[0];
        rows += QStringLiteral("<tr>") + cell(linked(document.survey(), o.object, words(o.description))) +
                cell(tr("off by %1 %2")
                         .arg(QString::fromStdString(drawing::fixed(off, 3)),
                              angle ? QStringLiteral("°") : tr("mm")),
                     true) +
                cell(adjust::missed(o) ? tr("<b>MISSED</b>") : tr("comes out right"), true) +
                QStringLiteral("</tr>");
    }
    return heading(tr("Checks")) +
           (rows.isEmpty()
                ? paragraph(
                      tr("No reading is withheld. One kept out as a check would show what the ± is worth."))
                : paragraph(tr("These readings were withheld; the adjustment did not know them.")) +
                      table(rows));
}

QString levels(const Document& document) {
    const auto& s = *document.solution();
    QString rows = head({tr("level"), tr("height"), tr("± (k = 2)")}, 1);
    for (const auto& level : document.survey().levels) {
        const auto at = s.levels.find(level.id);
        if (at == s.levels.end()) continue;
        const auto height = s.measure({{}, {}, Quantity::Height, {level.id}});
        const double plusMinus = height ? height->plusMinus : 0.0;
        rows += QStringLiteral("<tr>") + cell(words(level.name.empty() ? level.id : level.name)) +
                cell(valueText(Quantity::Height, at->second, plusMinus) + tr(" mm"), true) +
                cell(height ? doubt(Quantity::Height, plusMinus) : words(height.error().sentence()), true) +
                QStringLiteral("</tr>");
    }
    QString out = heading(tr("Levels, above the datum level")) + table(rows);
    std::vector<std::string> shapes;
    for (const auto& shape : s.levelShapes) shapes.push_back(shape.sentence);
    return shapes.empty() ? out : out + list(shapes);
}

QString advice(const Document& document) {
    const auto& found = document.advice();
    if (!found) return {};
    QString out = heading(tr("What to do next"));
    if (const std::string hand = adjust::handMarkText(document.survey()); !hand.empty())
        out += paragraph(QString::fromStdString(hand));
    if (!*found) return out + paragraph(sentence(found->error().sentence()));
    out += paragraph(sentence((*found)->sentence));
    std::vector<std::string> ranked;
    for (const auto& proposal : (*found)->proposals)
        if ((*found)->sentence.find(proposal.sentence) == std::string::npos)  // not what stands above
            ranked.push_back(proposal.sentence);
    if (ranked.empty()) return out;
    return out + QStringLiteral("<small>%1%2</small>")
                     .arg(paragraph(tr("What else would help, best first:")), list(ranked, "ol"));
}

QString style(const QPalette& palette) {
    const QString ink = palette.color(QPalette::Text).name(),
                  ground = palette.color(QPalette::AlternateBase).name();
    return QStringLiteral(
               "<style>a { color: %1; } th { background-color: %2; } td, th { padding: 3px; }"
               " td.under { padding-left: 18px; padding-bottom: 8px; }</style>")
        .arg(ink, ground);
}

}  // namespace

QString reportHtml(const Document& document, const QPalette& palette) {
    if (!document.isOpen()) return paragraph(tr("No survey is open."));
    if (!document.solution())
        return heading(tr("Not adjusted yet")) +
               paragraph(
                   tr("Press Adjust (F5) when marks and at least one length are there; the report of it "
                      "stands here."));
    const auto& s = *document.solution();
    QString out = style(palette) + verdict(document) + suspects(document) + checks(document) +
                  advice(document) + dimensions(document) + levels(document);
    if (!s.limits.empty()) out += heading(tr("What the photographs cannot tell")) + list(s.limits);
    if (!s.notes.empty()) out += heading(tr("Notes")) + list(s.notes);
    return out;
}

}  // namespace trammel::ui
