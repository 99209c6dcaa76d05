// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "core/base/Result.h"
#include "core/survey/Survey.h"

/// Work that is not saved yet, written aside again and again, so that a program that is killed loses no more
/// than its last moment. The survey file itself changes only when the user saves.
namespace trammel::storage {

struct Draft {
    std::filesystem::path surveyFile;   ///< where the survey was last saved; empty: never
    std::filesystem::path photoFolder;  ///< relative photograph paths start here
    std::string surveyFileState;        ///< `stateOf` the survey file when the draft was made
    std::string time;                   ///< when, UTC, ISO 8601 to the second
    survey::Survey survey;
};

/// Size and time of last change of a file as one word, to tell whether it was written since; empty when there
/// is none.
std::string stateOf(const std::filesystem::path& file);

/// Written as all files are: whole or not at all.
Result<void> writeDraft(const Draft& draft, const std::filesystem::path& file);
Result<Draft> readDraft(const std::filesystem::path& file);

/// A name for one running program's draft in a folder, held by a lock that the system lets go of when the
/// program ends, however it ends. Copies share the claim.
class DraftPlace {
  public:
    /// Makes the folder where it is missing. WriteFailed when the folder takes no files.
    static Result<DraftPlace> claim(const std::filesystem::path& folder);
    /// The place of a draft that a program left behind. Refused while that program still runs.
    static Result<DraftPlace> takeOver(const std::filesystem::path& draft);

    const std::filesystem::path& file() const { return file_; }
    /// Deletes the draft, if there is one; the place stays claimed.
    void clear() const;

  private:
    struct Lock;
    DraftPlace(std::filesystem::path file, std::shared_ptr<Lock> lock);
    static Result<DraftPlace> lock(const std::filesystem::path& draft);
    std::filesystem::path file_;
    std::shared_ptr<Lock> lock_;
};

/// Drafts whose program no longer runs, the newest first.
std::vector<std::filesystem::path> abandonedDrafts(const std::filesystem::path& folder);

}  // namespace trammel::storage
