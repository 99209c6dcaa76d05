// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/HelpPage.h"

namespace trammel::ui {
namespace {

QString job() {
    return HelpPage::tr(
        "<h2>How the job goes</h2>"
        "<ol>"
        "<li><b>Plan.</b> Before the first photograph, Plan the photographs (F7) says where to stand, which "
        "lens, aperture and views to take, where reference lengths lie and the ± that will come of it; its "
        "page can be printed.</li>"
        "<li><b>Photographs.</b> Add photographs of one unit and say which side each shows. Where the "
        "program asks, "
        "say whether a photograph is the whole frame of the camera; a crop of unknown place makes the result "
        "weaker.</li>"
        "<li><b>Levels.</b> Add a level for each height of the part that carries features, and one for a "
        "rule or "
        "card that lies at a height of its own. The datum level has height 0.</li>"
        "<li><b>Marks.</b> Take Corner, Edge, Hole, Arc, Slot or Curve and click the feature. Choose it in "
        "the list of "
        "features "
        "and mark it in other photographs too: that ties them together. A point seen in three photographs "
        "fixes "
        "its height best. Once it is adjusted, Offer marks (M) looks for the features that are missing in a "
        "photograph. Fit (F) moves a mark to the edge in the picture, which is worth a factor of "
        "ten.</li>"
        "<li><b>Lengths.</b> Take Reference for a known length in the picture, or type a reading of "
        "calipers, depth "
        "rod or tape. Without one length there is no scale. Keep one reading out as a check.</li>"
        "<li><b>Datum.</b> Choose a datum point and a datum edge in the list of features.</li>"
        "<li><b>Adjust.</b> Everything is brought to agree at once. Checks names what does not, with the "
        "likely "
        "culprit; Show leads to it; leave it out or mark it again. Report (F6) has it all on one page, with "
        "what to do next.</li>"
        "<li><b>Hand-over.</b> Make an outline of features in order, want dimensions in the ledger, write "
        "the "
        "drawing. The panel then shows what the written file really contains.</li>"
        "</ol>");
}

QString keys() {
    const auto row = [](const QString& key, const QString& what) {
        return QStringLiteral("<tr><td><b>%1</b>&nbsp;&nbsp;&nbsp;</td><td>%2</td></tr>").arg(key, what);
    };
    return QStringLiteral("<h2>") + HelpPage::tr("Keys") + QStringLiteral("</h2><table>") +
           row(HelpPage::tr("wheel, + and −"), HelpPage::tr("zoom (the wheel about the pointer)")) +
           row(QStringLiteral("0, 1"), HelpPage::tr("whole photograph; one screen pixel per pixel")) +
           row(HelpPage::tr("middle button, or space and drag, or arrows"),
               HelpPage::tr("move the photograph")) +
           row(HelpPage::tr("Page down, Page up"), HelpPage::tr("next, previous photograph")) +
           row(QStringLiteral("G"), HelpPage::tr("all photographs")) +
           row(QStringLiteral("V"),
               HelpPage::tr("corrected view: the photograph as its lens without distortion would have shown "
                            "it, once the lens is calibrated or adjusted. For the eye only: marks and fits "
                            "stay on original pixels")) +
           row(QStringLiteral("P, C, E, H, A"), HelpPage::tr("pick; mark a corner, edge, hole, arc")) +
           row(QStringLiteral("S, U"), HelpPage::tr("mark a slot, a free curve")) +
           row(QStringLiteral("T"), HelpPage::tr("trail: follow an irregular edge from click to click")) +
           row(QStringLiteral("R, O"), HelpPage::tr("reference length; outline")) +
           row(QStringLiteral("F"), HelpPage::tr("fit the picked mark to the picture")) +
           row(QStringLiteral("M"),
               HelpPage::tr("offer marks of known features in this photograph: Enter takes "
                            "one, Delete rejects it, N goes on, Shift+Enter takes all "
                            "sure ones, a letter chooses between edges")) +
           row(QStringLiteral("N"),
               HelpPage::tr("let go of the chosen feature: the next mark makes a new one")) +
           row(HelpPage::tr("Enter, double-click, right click"),
               HelpPage::tr("finish a mark or an outline")) +
           row(HelpPage::tr("Backspace, Escape, Delete"),
               HelpPage::tr("take back the last click; drop what is unfinished; remove the picked mark")) +
           row(QStringLiteral("F4"),
               HelpPage::tr(
                   "the unfolded part: all views on one sheet. There, arrows go to the next feature, "
                   "Shift+↑↓ to the next level, Enter to the photograph")) +
           row(QStringLiteral("F5, F6"), HelpPage::tr("adjust; the report of it")) +
           row(QStringLiteral("F7, F8"), HelpPage::tr("plan the photographs; calibrate a lens; and back")) +
           row(QStringLiteral("Ctrl+Z, Ctrl+Shift+Z"), HelpPage::tr("undo, redo")) +
           row(QStringLiteral("Ctrl+C, Ctrl+V"),
               HelpPage::tr("in the lists: rows as text for a sheet of cells; readings from one")) +
           row(HelpPage::tr("files dropped on the window"),
               HelpPage::tr("photographs are added, a survey is opened")) +
           QStringLiteral("</table>");
}

QString words() {
    return HelpPage::tr(
        "<h2>Words and numbers</h2>"
        "<p><b>σ</b> is a standard uncertainty. <b>±</b> is the expanded uncertainty with k = 2: about 95 of "
        "100 "
        "such intervals hold the true value, when every σ is honest. A <b>residual</b> is observed minus "
        "adjusted. "
        "<b>w</b> is the residual divided by its own standard deviation; beyond 3.29 chance is unlikely "
        "(1 in 1000). <b>Redundancy</b> says how much the other observations control this one: 0 means that "
        "nothing "
        "would show an error in it. The <b>variance factor</b> should be near 1.</p>");
}

QString cautions() {
    return HelpPage::tr(
        "<h2>Cautions</h2>"
        "<ul>"
        "<li><b>Opened electronics.</b> Disconnect the supply, remove batteries, wait, and verify with a "
        "suitably "
        "rated meter: stored charge may remain in capacitors. Work on opened mains equipment is for "
        "qualified "
        "persons; local codes and the manufacturer's instructions prevail (IEC 62368-1). Mind static "
        "(IEC 61340-5-1). Never puncture, crush or cut a lithium cell; swollen means stop.</li>"
        "<li><b>Lasers.</b> IEC 60825-1: extraction outdoors, rated eyewear, never unattended; no PVC or "
        "vinyl "
        "(chlorine), no unknown plastics.</li>"
        "<li><b>Sheet edges.</b> Deburr, and wear gloves.</li>"
        "<li>Cut a test sheet of card or paper first. The drawing is as good as the marks, the readings and "
        "the "
        "unit that was measured; units differ.</li>"
        "</ul>");
}

}  // namespace

HelpPage::HelpPage(QWidget* parent) : QTextBrowser(parent) {
    setObjectName(QStringLiteral("help"));
    setAccessibleName(tr("Help"));
    setFrameShape(NoFrame);
    document()->setDocumentMargin(24);
    setHtml(job() + keys() + words() + cautions());
}

QString cautionLine() {
    return HelpPage::tr(
        "Try it in card or paper first. Mind stored charge in opened electronics, laser rules and "
        "sharp sheet edges: see Help, Cautions.");
}

}  // namespace trammel::ui
