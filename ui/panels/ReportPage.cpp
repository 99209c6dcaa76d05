// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/ReportPage.h"

#include <QEvent>
#include <QScrollBar>
#include <QUrl>

#include "ui/panels/ReportText.h"

namespace trammel::ui {

ReportPage::ReportPage(const Document& document, QWidget* parent)
    : QTextBrowser(parent), document_(document) {
    setObjectName(QStringLiteral("report"));
    setAccessibleName(tr("Report"));
    setFrameShape(NoFrame);
    setOpenLinks(false);
    setWordWrapMode(QTextOption::WrapAtWordBoundaryOrAnywhere);  // a long name must not widen the page
    this->document()->setDocumentMargin(20);
    connect(this, &QTextBrowser::anchorClicked, this, [this](const QUrl& place) {
        if (place.scheme() == QLatin1String("adjust")) return Q_EMIT adjustAsked();
        Q_EMIT showAsked(place.path().toStdString());
    });
}

void ReportPage::refresh() {
    due_ = true;
    if (!isVisible()) return;
    due_ = false;
    const int at = verticalScrollBar()->value();
    setHtml(reportHtml(document_, palette()));
    verticalScrollBar()->setValue(at);
}

void ReportPage::changeEvent(QEvent* event) {
    QTextBrowser::changeEvent(event);
    if (event->type() == QEvent::PaletteChange) refresh();  // its rules are drawn in the palette's colours
}

void ReportPage::showEvent(QShowEvent* event) {
    QTextBrowser::showEvent(event);
    if (due_) refresh();
}

}  // namespace trammel::ui
