// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/document/Document.h"

#include "core/storage/SurveyFile.h"
#include "ui/document/EditCommand.h"

namespace trammel::ui {
namespace fs = std::filesystem;
namespace {

/// Fails where the folder that the program was started in is gone.
Result<fs::path> wholePath(const fs::path& file) {
    std::error_code failed;
    const fs::path whole = fs::absolute(file, failed);
    if (failed)
        return Error{ErrorCode::FileMissing, "the current folder is gone", file.string(),
                     "give the file with its whole path"};
    return whole;
}

}  // namespace

Document::Document(QObject* parent) : QObject(parent) {
    connect(&stack_, &QUndoStack::cleanChanged, this, [this] { Q_EMIT changed({.file = true}); });
}

Document::~Document() { stack_.disconnect(this); }  // a dying stack still says that it is clean

Result<void> Document::perform(const survey::Edit& edit) {
    auto inverse = survey::apply(survey_, edit);
    if (!inverse) return inverse.error();
    ++revision_;
    open_ = true;
    stack_.push(new EditCommand(*this, edit, *inverse));
    Q_EMIT changed({.survey = true, .solution = solution_ != nullptr, .file = true});
    return {};
}

void Document::replay(const survey::Edit& edit) {
    const auto inverse = survey::apply(survey_, edit);
    Q_ASSERT(inverse);  // core's property: an edit and its inverse always apply in turn
    if (!inverse) return;
    ++revision_;
    Q_EMIT changed({.survey = true, .solution = solution_ != nullptr, .file = true});
}

Result<void> Document::open(const fs::path& file, bool asSample) {
    const auto absolute = wholePath(file);
    if (!absolute) return absolute.error();
    auto loaded = storage::load(*absolute);
    if (!loaded) return loaded.error();
    sampleName_ = asSample ? tr("Sample: %1").arg(QString::fromStdString(file.stem().string())) : QString();
    standNew(std::move(*loaded), asSample ? fs::path() : *absolute, absolute->parent_path());
    neverSaved_ = false;
    Q_EMIT changed({.opened = true, .survey = true, .solution = true, .file = true});
    return {};
}

void Document::start(survey::Survey survey) {
    sampleName_.clear();
    standNew(std::move(survey), {}, {});
    neverSaved_ = true;
    Q_EMIT changed({.opened = true, .survey = true, .solution = true, .file = true});
}

void Document::takeUp(survey::Survey survey, fs::path file, fs::path photoFolder) {
    sampleName_.clear();
    standNew(std::move(survey), std::move(file), std::move(photoFolder));
    neverSaved_ = true;
    Q_EMIT changed({.opened = true, .survey = true, .solution = true, .file = true});
}

void Document::standNew(survey::Survey survey, fs::path file, fs::path folder) {
    survey_ = std::move(survey);
    file_ = std::move(file);
    photoFolder_ = std::move(folder);
    solution_.reset();
    advice_.reset();
    ++revision_;
    ++identity_;
    open_ = true;
    const bool blocked = blockSignals(true);  // one signal for the whole change, sent by the caller
    stack_.clear();
    blockSignals(blocked);
}

Result<void> Document::save(const fs::path& file) {
    const auto absolute = wholePath(file);
    if (!absolute) return absolute.error();
    const auto written =
        storage::save(withPhotoPathsFrom(survey_, photoFolder_, absolute->parent_path()), *absolute);
    if (!written) return written;
    file_ = *absolute;
    sampleName_.clear();
    neverSaved_ = false;
    stack_.setClean();
    Q_EMIT changed({.file = true});
    return {};
}

QString Document::displayName() const {
    if (!sampleName_.isEmpty()) return sampleName_;
    if (!file_.empty()) return QString::fromStdString(file_.filename().string());
    return open_ ? tr("New survey") : QString();
}

fs::path Document::photoPath(const survey::Station& station) const {
    const fs::path path(station.photo.path);
    return path.is_absolute() ? path : photoFolder_ / path;
}

void Document::setSolution(std::shared_ptr<const adjust::Solution> solution, quint64 ofRevision,
                           std::shared_ptr<const Result<adjust::Advice>> advice) {
    solution_ = std::move(solution);
    advice_ = std::move(advice);
    solvedRevision_ = ofRevision;
    Q_EMIT changed({.solution = true});
}

survey::Survey withPhotoPathsFrom(const survey::Survey& survey, const fs::path& from, const fs::path& to) {
    survey::Survey moved = survey;
    for (auto& station : moved.stations) {
        const fs::path path(station.photo.path);
        const fs::path absolute = path.is_absolute() ? path : from / path;
        std::error_code ignored;
        const fs::path relative = fs::relative(absolute, to, ignored);
        station.photo.path = (relative.empty() ? absolute : relative).generic_string();
    }
    return moved;
}

}  // namespace trammel::ui
