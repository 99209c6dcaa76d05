// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QObject>
#include <QUndoStack>
#include <filesystem>
#include <memory>

#include "core/adjust/Advice.h"
#include "core/adjust/Solution.h"
#include "core/base/Result.h"
#include "core/survey/Edit.h"
#include "core/survey/Survey.h"

namespace trammel::ui {

/// What a change touched. Several may be true at once.
struct DocumentChange {
    bool opened = false;    ///< another survey stands here now
    bool survey = false;    ///< values of the survey
    bool solution = false;  ///< a new adjustment, or the old one became out of date
    bool file = false;      ///< file name or "unsaved" mark
};

/// The one document of the window: the survey as a value, the undo list around core's edits, the last
/// adjustment, and one signal that says what changed. Lives on the interface's thread; long work takes a
/// copy of the survey and hands its outcome back.
class Document : public QObject {
    Q_OBJECT
  public:
    explicit Document(QObject* parent = nullptr);
    ~Document() override;

    const survey::Survey& survey() const { return survey_; }
    QUndoStack& undoStack() { return stack_; }

    /// Applies one act of the user and puts it on the undo list. On refusal nothing changes.
    Result<void> perform(const survey::Edit& edit);

    /// Reads a survey file. On failure the survey at hand stays as it is.
    Result<void> open(const std::filesystem::path& file, bool asSample = false);

    /// Starts an unnamed survey; photograph paths are absolute until the first save.
    void start(survey::Survey survey);

    /// Goes on with work that was kept aside but not saved: unsaved, with its file's name where it had one.
    void takeUp(survey::Survey survey, std::filesystem::path file, std::filesystem::path photoFolder);

    /// Writes the survey atomically. Photograph paths are rewritten to be relative to the file's folder.
    Result<void> save(const std::filesystem::path& file);

    bool isOpen() const { return open_; }
    bool unsaved() const { return open_ && (!stack_.isClean() || neverSaved_); }
    /// Empty for a new survey and for the sample, which are saved under a name of the user's choice.
    const std::filesystem::path& file() const { return file_; }
    QString displayName() const;

    /// The photograph's place on disk.
    std::filesystem::path photoPath(const survey::Station& station) const;
    /// Folder that relative photograph paths start from.
    const std::filesystem::path& photoFolder() const { return photoFolder_; }

    const std::shared_ptr<const adjust::Solution>& solution() const { return solution_; }
    /// True when the survey changed after the adjustment was computed.
    bool solutionIsOld() const { return solution_ && solvedRevision_ != revision_; }
    /// Grows with each change of the survey's values, so that late results can be told from fresh ones.
    quint64 revision() const { return revision_; }
    /// Another number for each survey that was opened or started, so that late results find their survey.
    quint64 identity() const { return identity_; }
    /// What to do next, as it was found with the solution, or why nothing can be advised; null without one.
    const std::shared_ptr<const Result<adjust::Advice>>& advice() const { return advice_; }
    void setSolution(std::shared_ptr<const adjust::Solution> solution, quint64 ofRevision,
                     std::shared_ptr<const Result<adjust::Advice>> advice = {});

    /// For EditCommand only: applies an edit that is already on the undo list.
    void replay(const survey::Edit& edit);

  Q_SIGNALS:
    void changed(const trammel::ui::DocumentChange& change);

  private:
    void standNew(survey::Survey survey, std::filesystem::path file, std::filesystem::path folder);

    survey::Survey survey_;
    QUndoStack stack_;
    std::filesystem::path file_, photoFolder_;
    QString sampleName_;
    std::shared_ptr<const adjust::Solution> solution_;
    std::shared_ptr<const Result<adjust::Advice>> advice_;
    quint64 revision_ = 0, solvedRevision_ = 0, identity_ = 0;
    bool open_ = false, neverSaved_ = false;
};

/// The survey with photograph paths that are relative to `to` instead of `from`.
survey::Survey withPhotoPathsFrom(const survey::Survey& survey, const std::filesystem::path& from,
                                  const std::filesystem::path& to);

}  // namespace trammel::ui
