// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "ui/document/Prompts.h"

namespace trammel::ui {

/// Answers the window's questions as the test says, and counts what was asked.
struct ScriptedPrompts : Prompts {
    QString survey, save, handOver, page;
    QStringList files;
    Unsaved unsaved = Unsaved::Discard;
    int unsavedAsked = 0;

    QString surveyToOpen() override { return survey; }
    QString placeToSave(const QString&) override { return save; }
    QStringList photographs() override { return files; }
    QStringList photographsOfBoard() override { return files; }
    QString placeToHandOver(const QString&) override { return handOver; }
    QString placeForPage(const QString&) override { return page; }
    Unsaved unsavedChanges(const QString&) override {
        ++unsavedAsked;
        return unsaved;
    }
};

}  // namespace trammel::ui
