// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/dialogs/DesktopPrompts.h"

#include <QCoreApplication>
#include <QFileDialog>
#include <QMessageBox>
#include <QPushButton>

namespace trammel::ui {
namespace {

QString tr(const char* text) { return QCoreApplication::translate("DesktopPrompts", text); }

QString withSuffix(QString path, const QString& suffix) {
    if (!path.isEmpty() && !path.endsWith(suffix, Qt::CaseInsensitive)) path += suffix;
    return path;
}

/// Raw files of cameras have too many endings to name: they are found among all files.
QString photographFilter() {
    return tr(
        "Photographs (*.jpg *.jpeg *.JPG *.JPEG *.png *.PNG *.tif *.tiff *.heic *.HEIC *.dng);;"
        "All files (*)");
}

}  // namespace

QString DesktopPrompts::surveyToOpen() {
    return QFileDialog::getOpenFileName(parent_, tr("Open a survey"), {},
                                        tr("Surveys (*.trammel);;All files (*)"));
}

QString DesktopPrompts::placeToSave(const QString& suggestion) {
    return withSuffix(
        QFileDialog::getSaveFileName(parent_, tr("Save the survey"), suggestion, tr("Surveys (*.trammel)")),
        QStringLiteral(".trammel"));
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
    return withSuffix(
        QFileDialog::getSaveFileName(parent_, tr("Write the drawing"), suggestion, tr("DXF (*.dxf)")),
        QStringLiteral(".dxf"));
}

QString DesktopPrompts::placeForPage(const QString& suggestion) {
    const QString path = QFileDialog::getSaveFileName(parent_, tr("Save the page"), suggestion,
                                                      tr("PDF (*.pdf);;SVG (*.svg)"));
    return path.endsWith(QStringLiteral(".svg"), Qt::CaseInsensitive)
               ? path
               : withSuffix(path, QStringLiteral(".pdf"));
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
