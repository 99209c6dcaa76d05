// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QObject>
#include <QThreadPool>
#include <QTimer>
#include <memory>
#include <optional>

#include "core/storage/Draft.h"
#include "ui/document/Document.h"

namespace trammel::ui {

/// Writes unsaved work aside while the user works, and finds what a killed program left behind. The copy of
/// the survey is taken on the interface's thread, written on another.
class DraftKeeper : public QObject {
    Q_OBJECT
  public:
    /// How long an act may wait until it is written aside. Half of the second that may be lost at most: the
    /// rest is for writing.
    static constexpr int kWait_ms = 300;

    DraftKeeper(Document& document, QString folder, QObject* parent = nullptr);
    ~DraftKeeper() override;  ///< waits for what is being written; an orderly end leaves no draft

    struct Left {
        std::filesystem::path draft;
        QString words;  ///< "board.trammel, unsaved work of 14:02"
    };
    /// What programs that ended in disorder left, newest first. Those that cannot be read say why.
    std::vector<Left> left() const;
    /// Opens a draft as unsaved work. It stays on disk until this window has written its own.
    Result<void> takeUp(const std::filesystem::path& draft);
    /// Deletes a draft for good.
    void throwAway(const std::filesystem::path& draft);

    /// Whether everything done so far is on disk; for tests.
    bool settled() const { return !timer_.isActive() && worker_.activeThreadCount() == 0; }

    /// Where drafts are kept: XDG base directory "state", as the desktop has it.
    static QString usualFolder();

  Q_SIGNALS:
    void wrong(const trammel::Error& error);  ///< said once: drafts cannot be written

  private:
    void heed(const DocumentChange& change);
    void writeAside();
    void complain(const Error& error);

    Document& document_;
    QString folder_;
    std::optional<storage::DraftPlace> place_, takenUp_;
    QTimer timer_;
    QThreadPool worker_;  ///< one thread, so that drafts and their deletion keep their order
    bool complained_ = false;
};

}  // namespace trammel::ui
