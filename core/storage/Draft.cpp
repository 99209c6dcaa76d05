// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/storage/Draft.h"

#include <fcntl.h>
#include <fmt/chrono.h>
#include <fmt/core.h>
#include <sys/file.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <chrono>

#include "core/storage/Disk.h"
#include "core/storage/JsonReader.h"
#include "core/storage/SurveyFile.h"

namespace trammel::storage {
namespace fs = std::filesystem;
namespace {

constexpr const char* kFormat = "trammel draft";
constexpr int kVersion = 1;
constexpr const char* kSuffix = ".draft";

fs::path lockOf(const fs::path& draft) { return fs::path(draft).replace_extension(".lock"); }

Error notADraft(const fs::path& file) {
    return {ErrorCode::FileDamaged, "it holds no draft of a survey", file.filename().string(),
            "delete it, or open the survey file itself"};
}

}  // namespace

std::string stateOf(const fs::path& file) {
    std::error_code failed;
    const auto size = fs::file_size(file, failed);
    if (failed) return {};
    const auto time = fs::last_write_time(file, failed);
    if (failed) return {};
    return fmt::format("{} {}", size, time.time_since_epoch().count());
}

Result<void> writeDraft(const Draft& draft, const fs::path& file) {
    // The survey goes in as text of its own format: whatever may be saved may be drafted.
    const nlohmann::json json = {{"format", kFormat},
                                 {"version", kVersion},
                                 {"survey_file", draft.surveyFile.string()},
                                 {"survey_file_state", draft.surveyFileState},
                                 {"photo_folder", draft.photoFolder.string()},
                                 {"time", draft.time},
                                 {"survey", toJson(draft.survey)}};
    return writeWhole(file, json.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace));
}

Result<Draft> readDraft(const fs::path& file) {
    const auto text = readWhole(file);
    if (!text) return text.error();
    Draft draft;
    std::string surveyText;
    try {
        const nlohmann::json json = parseJson(*text);
        JsonObject object(json, "");
        if (object.text("format") != kFormat) return notADraft(file);
        if (object.integer("version") > kVersion)
            return Error{ErrorCode::FileNewer, "a newer version of the program made this draft",
                         file.filename().string(), "take it up with that version"};
        draft.surveyFile = object.text("survey_file");
        draft.surveyFileState = object.text("survey_file_state");
        draft.photoFolder = object.text("photo_folder");
        draft.time = object.text("time");
        surveyText = object.text("survey");
        object.finish();
    } catch (const JsonFault&) {
        return notADraft(file);
    }
    auto survey = fromJson(surveyText, file.filename().string());
    if (!survey) return survey.error();
    draft.survey = std::move(*survey);
    return draft;
}

struct DraftPlace::Lock {
    int handle = -1;
    fs::path file;
    ~Lock() {
        // The lock goes before the handle: a file of this name made by another afterwards is not ours.
        std::error_code ignored;
        if (std::error_code none; !fs::exists(fs::path(file).replace_extension(kSuffix), none))
            fs::remove(file, ignored);
        ::close(handle);
    }
};

DraftPlace::DraftPlace(fs::path file, std::shared_ptr<Lock> lock)
    : file_(std::move(file)), lock_(std::move(lock)) {}

Result<DraftPlace> DraftPlace::lock(const fs::path& draft) {
    const fs::path file = lockOf(draft);
    const int handle = ::open(file.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0600);
    if (handle < 0)
        return Error{ErrorCode::WriteFailed, "takes no files, so unsaved work is not kept aside",
                     draft.parent_path().string(), "save often, or make the folder writable"};
    if (::flock(handle, LOCK_EX | LOCK_NB) != 0) {
        const bool taken = errno == EWOULDBLOCK;
        ::close(handle);
        std::error_code ignored;
        // Some network folders know no locks: whose draft it is cannot be told there.
        if (!taken) {
            fs::remove(file, ignored);
            return Error{ErrorCode::WriteFailed, "has no locks, so unsaved work is not kept aside",
                         draft.parent_path().string(), "save often"};
        }
        return Error{ErrorCode::Refused, "another window is at work on this draft", draft.filename().string(),
                     "go on there"};
    }
    auto lock = std::make_shared<Lock>();
    lock->handle = handle;
    lock->file = file;
    return DraftPlace(draft, std::move(lock));
}

Result<DraftPlace> DraftPlace::claim(const fs::path& folder) {
    std::error_code failed;
    fs::create_directories(folder, failed);
    const auto now = std::chrono::system_clock::now().time_since_epoch().count();
    constexpr int kMostNames = 100;  // the time and the process make the first one free nearly always
    for (int n = 0;; ++n) {
        const fs::path draft = folder / fmt::format("{}-{}-{}{}", now, ::getpid(), n, kSuffix);
        auto place = lock(draft);
        if (place || place.error().code != ErrorCode::Refused || n == kMostNames) return place;
    }
}

Result<DraftPlace> DraftPlace::takeOver(const fs::path& draft) { return lock(draft); }

void DraftPlace::clear() const {
    std::error_code ignored;
    fs::remove(file_, ignored);
}

std::vector<fs::path> abandonedDrafts(const fs::path& folder) {
    std::vector<fs::path> drafts;
    std::error_code failed;
    for (const auto& entry : fs::directory_iterator(folder, failed))
        if (entry.path().extension() == kSuffix && DraftPlace::takeOver(entry.path()))
            drafts.push_back(entry.path());
    std::sort(drafts.begin(), drafts.end(), [](const fs::path& a, const fs::path& b) {
        std::error_code ignored;
        return fs::last_write_time(a, ignored) > fs::last_write_time(b, ignored);
    });
    return drafts;
}

}  // namespace trammel::storage
