// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QObject>

#include "ui/document/Document.h"
#include "ui/document/Prompts.h"

namespace trammel::ui {

/// Opening, starting and saving surveys, with the question about unsaved changes.
class SurveyDesk : public QObject {
    Q_OBJECT
  public:
    SurveyDesk(Document& document, Prompts& prompts, QObject* parent = nullptr);

    void open();
    void openFile(const QString& file);
    void openSample();
    void startFromPhotographs();
    void startFrom(const QStringList& photographs);
    bool save();
    bool saveAs();
    /// Asks about unsaved changes; false when the user wants to go on working.
    bool mayLeave();

    /// Where the sample lies: beside an installed program, else in the source folder. Empty when absent.
    static QString samplePlace();

  Q_SIGNALS:
    void wrong(const trammel::Error& error);
    void said(const QString& sentence);
    void opened();
    void photographsChosen(const QStringList& files);

  private:
    bool saveTo(const QString& file);
    void read(const QString& file, bool asSample);

    Document& document_;
    Prompts& prompts_;
};

}  // namespace trammel::ui
