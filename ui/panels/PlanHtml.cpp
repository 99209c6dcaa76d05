// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/PlanHtml.h"

#include <QCoreApplication>
#include <numbers>

#include "core/plan/PlanText.h"

namespace trammel::ui {
namespace {

QString tr(const char* text) { return QCoreApplication::translate("PlanHtml", text); }

QString escaped(const std::string& words) { return QString::fromStdString(words).toHtmlEscaped(); }

QString listOf(const char* tag, const std::vector<std::string>& sentences) {
    QString html = QStringLiteral("<%1>").arg(QLatin1String(tag));
    for (const auto& s : sentences) html += QStringLiteral("<li>%1</li>").arg(escaped(s));
    return html + QStringLiteral("</%1>").arg(QLatin1String(tag));
}

QString trialHtml(const plan::Trial& trial) {
    QString line = escaped(trial.name);
    if (trial.expected) {
        line += QStringLiteral(": ") + escaped(plan::toleranceText(trial.expected->planWorst));
        if (trial.expected->heightWorst)
            line += tr(", heights %1").arg(escaped(plan::toleranceText(*trial.expected->heightWorst)));
    } else {
        line += QStringLiteral(": ") + escaped(trial.reason);
    }
    return QStringLiteral("<li>%1</li>").arg(trial.chosen ? QStringLiteral("<b>%1</b>").arg(line) : line);
}

QString trialsHtml(const QString& title, const std::vector<plan::Trial>& trials) {
    if (trials.empty()) return {};
    QString html = QStringLiteral("<h4>%1</h4><ul>").arg(title);
    for (const auto& t : trials) html += trialHtml(t);
    return html + QStringLiteral("</ul>");
}

/// What stands behind the figures of page and lists.
QString meaning(const plan::Plan& made, const QStringList& assumed) {
    QStringList out;
    out << tr("±: expanded uncertainty, k = 2; of a hundred values about 95 come out nearer to the truth.");
    if (made.served()) {
        const plan::Expectation& e = made.expected;
        out << tr("The first ± is the worst of all distances, positions and diameters (%1); their root mean "
                  "square is %2.")
                   .arg(QString::fromStdString(e.planWorstName),
                        QString::fromStdString(plan::toleranceText(e.planTypical)));
        if (e.heightWorst)
            out << tr("The ± of heights is the worst of them (%1).")
                       .arg(QString::fromStdString(e.heightWorstName));
        out << tr("Both are computed for a part of this size and these heights with %1 features and %2 marks "
                  "in %3 photographs, as the adjustment would, not by a rule of thumb. Your part has other "
                  "features: take them as a guide.")
                   .arg(e.features)
                   .arg(e.marks)
                   .arg(e.photographs);
        out << tr("A pixel is %1 mm on the part. Blur (defocus, diffraction and pixel) has σ %2 px where it "
                  "is worst; f-number and focus are those that keep it smallest over all views.")
                   .arg(made.use.pixel_mm, 0, 'f', 3)
                   .arg(made.use.setup.blur_px, 0, 'f', 1);
        if (made.use.uncorrected_mm > 0.0005)
            out << tr("The heights of the levels would shift places by up to %1 mm if nobody reckoned with "
                      "them; the adjustment does.")
                       .arg(made.use.uncorrected_mm, 0, 'f', 2);
    }
    out << tr("Marks are taken with σ %1 px, the camera is square within σ %2°, reference lengths are known "
              "to ± %3 mm: common practice, not measured on yours.")
               .arg(made.task.markSigma())
               .arg(plan::squareSigma_rad(made.task.squaring) * 180.0 / std::numbers::pi, 0, 'g', 3)
               .arg(2 * made.task.reference.sigma_mm, 0, 'f', 2);
    if (!assumed.empty())
        out << tr("Assumed, for nobody has typed it: %1.").arg(assumed.join(QStringLiteral("; ")));
    QString html = QStringLiteral("<h4>%1</h4><ul>").arg(tr("What the numbers mean and rest on"));
    for (const QString& s : out) html += QStringLiteral("<li>%1</li>").arg(s.toHtmlEscaped());
    return html + QStringLiteral("</ul>");
}

}  // namespace

QString planHtml(const plan::Plan& made, const QStringList& assumed) {
    std::vector<plan::Trial> lenses;
    for (const auto& l : made.lenses) lenses.push_back(l.trial);
    return QStringLiteral("<h4>%1</h4>").arg(tr("At the bench")) + listOf("ol", plan::steps(made)) +
           QStringLiteral("<h4>%1</h4>").arg(tr("Cautions")) + listOf("ul", plan::cautions(made)) +
           meaning(made, assumed) + trialsHtml(tr("What would help"), made.help) +
           trialsHtml(tr("Lenses that were tried (bold: taken)"), lenses) +
           trialsHtml(tr("Sets of photographs"), made.sets) +
           trialsHtml(tr("Where reference lengths lie"), made.referenceLengths) +
           trialsHtml(tr("How the camera is squared"), made.squaring);
}

}  // namespace trammel::ui
