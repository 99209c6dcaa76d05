// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/dialogs/DesktopPrompts.h"

#include <QCoreApplication>
#include <QFileDialog>
#include <QFileInfo>
#include <QMessageBox>
#include <QPushButton>
#include <algorithm>

namespace trammel::ui {
namespace {

QString tr(const char* text) { return QCoreApplication::translate("DesktopPrompts", text); }

/// ".pdf" of "PDF (*.pdf)".
QString suffixOf(const QString& filter) {
    const qsizetype from = filter.indexOf(QLatin1Char('*')) + 1;
    return filter.mid(from, filter.indexOf(QLatin1Char(')'), from) - from);
}

/// Asks where to write. The name is complete before the dialog looks whether such a file is there: a suffix
/// put on later could lead to a file that nobody was asked about.
QString placeToWrite(QWidget* parent, const QString& title, const QString& suggestion,
                     const QStringList& filters) {
    const QFileInfo suggested(suggestion);
    QFileDialog dialog(parent, title, suggested.isAbsolute() ? suggested.absolutePath() : QString());
    dialog.setAcceptMode(QFileDialog::AcceptSave);
    dialog.setFileMode(QFileDialog::AnyFile);
    dialog.setNameFilters(filters);
    const auto follow = [&dialog](const QString& filter) { dialog.setDefaultSuffix(suffixOf(filter)); };
    QObject::connect(&dialog, &QFileDialog::filterSelected, &dialog, follow);
    follow(filters.front());
    dialog.selectFile(suggested.fileName());
    while (dialog.exec() == QDialog::Accepted && !dialog.selectedFiles().isEmpty()) {
        QString path = dialog.selectedFiles().front();
        const bool complete = std::ranges::any_of(filters, [&](const QString& filter) {
            return path.endsWith(suffixOf(filter), Qt::CaseInsensitive);
        });
        if (complete) return path;
        path += suffixOf(dialog.selectedNameFilter());  // "part 1.2": the dialog takes .2 for a suffix
        if (!QFileInfo::exists(path)) return path;
        dialog.selectFile(QFileInfo(path).fileName());  // once more, so that it asks
    }
    return {};
}

/// Raw files of cameras have too many endings to name: they are found among all files.
QString photographFilter() {
    return tr(
        "Photographs (*.jpg *.jpeg *.JPG *.JPEG *.png *.PNG *.tif *.tiff *.TIF *.TIFF *.heic "
        "*.HEIC *.dng *.DNG);;"
        "All files (*)");
}

}  // namespace

QString DesktopPrompts::surveyToOpen() {
    return QFileDialog::getOpenFileName(parent_, tr("Open a survey"), {},
                                        tr("Surveys (*.trammel);;All files (*)"));
}

QString DesktopPrompts::placeToSave(const QString& suggestion) {
    return placeToWrite(parent_, tr("Save the survey"), suggestion, {tr("Surveys (*.trammel)")});
}

QStringList DesktopPrompts::photographs() {
    return QFileDialog::getOpenFileNames(parent_, tr("Choose photographs of one unit"), {},
                                         photographFilter());
}

QStringList DesktopPrompts::photographsOfBoard() {
    return QFileDialog::getOpenFileNames(parent_, tr("Choose photographs of one board of squares"), {},
                                         photographFilter());
}

QString DesktopPrompts::placeToHandOver(const QString& suggestion) {
    return placeToWrite(parent_, tr("Write the drawing"), suggestion, {tr("DXF (*.dxf)")});
}

QString DesktopPrompts::placeForPage(const QString& suggestion) {
    return placeToWrite(parent_, tr("Save the page"), suggestion, {tr("PDF (*.pdf)"), tr("SVG (*.svg)")});
}

Prompts::Unsaved DesktopPrompts::unsavedChanges(const QString& survey) {
    QMessageBox box(QMessageBox::Question, tr("Unsaved changes"),
                    tr("%1 has changes that are not saved.").arg(survey), QMessageBox::NoButton, parent_);
    const auto* save = box.addButton(tr("Save"), QMessageBox::AcceptRole);
    const auto* discard = box.addButton(tr("Drop the changes"), QMessageBox::DestructiveRole);
    box.addButton(tr("Go back"), QMessageBox::RejectRole);
    box.exec();
    if (box.clickedButton() == save) return Unsaved::Save;
    return box.clickedButton() == discard ? Unsaved::Discard : Unsaved::Cancel;
}

}  // namespace trammel::ui
