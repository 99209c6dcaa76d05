// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/Window.h"

#include <QApplication>

#include "ui/MainWindow.h"
#include "ui/dialogs/DesktopPrompts.h"
#include "ui/panels/Icons.h"

namespace trammel::ui {

int runWindow(int argc, char** argv, const std::string& surveyPath) {
    QApplication app(argc, argv);
    QApplication::setApplicationName(QStringLiteral("trammel"));
    QApplication::setApplicationDisplayName(QStringLiteral("Trammel"));
    QApplication::setWindowIcon(icon(QStringLiteral("trammel")));
    DesktopPrompts prompts(nullptr);
    MainWindow window(prompts, DraftKeeper::usualFolder());
    window.resize(1280, 800);
    window.show();
    window.offerLeftWork();
    if (!surveyPath.empty()) window.desk().openFile(QString::fromStdString(surveyPath));
    return QApplication::exec();
}

}  // namespace trammel::ui
