// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/core.h>

#include <optional>
#include <utility>

#include "core/photo/Decode.h"
#include "core/photo/Exif.h"
#include "core/storage/SurveyFile.h"

namespace trammel::storage {
namespace {

std::optional<Error> checkOne(const survey::Survey& s, const survey::Station& station,
                              const std::filesystem::path& folder) {
    const survey::Photo& p = station.photo;
    const std::string object = fmt::format("{} ({})", survey::describe(s, station.id), p.path);
    if (p.path.empty())
        return Error{ErrorCode::FileMissing, "names no file", survey::describe(s, station.id),
                     "add the photograph again"};
    const std::filesystem::path file = folder / p.path;
    std::error_code code;
    if (!std::filesystem::is_regular_file(file, code))
        return Error{ErrorCode::FileMissing, "the file is missing", object,
                     "put it back, or go by the marks alone (in batch: --marks-only)"};
    const Result<std::string> hash = photo::contentHash(file);
    if (!hash) return Error{hash.error().code, hash.error().what, object, hash.error().remedy};
    if (!p.sha256.empty() && *hash == p.sha256) return std::nullopt;

    // Not the bytes that were marked (or never recorded): say first whether it still is a whole picture.
    const Result<photo::Image> image = photo::decode(file, 8);
    if (!image) return Error{image.error().code, image.error().what, object, image.error().remedy};
    if (!p.sha256.empty())
        return Error{ErrorCode::FileChanged, "the file has changed since it was marked", object,
                     "put the original back, or add this one as a new photograph and mark it"};
    const Result<photo::StoredSize> stored = photo::storedSize(file);
    if (!stored) return Error{stored.error().code, stored.error().what, object, stored.error().remedy};
    int width = stored->width, height = stored->height;
    if (p.orientation >= 5) std::swap(width, height);
    if (width != p.width || height != p.height)
        return Error{ErrorCode::FileChanged,
                     fmt::format("the picture is {} × {}, but the survey was made on {} × {}", width, height,
                                 p.width, p.height),
                     object, "put the original back, or add this one as a new photograph and mark it"};
    return std::nullopt;
}

}  // namespace

std::vector<Error> checkPhotographs(const survey::Survey& survey, const std::filesystem::path& file) {
    std::vector<Error> errors;
    for (const survey::Station& station : survey.stations)
        if (auto error = checkOne(survey, station, file.parent_path())) errors.push_back(std::move(*error));
    return errors;
}

}  // namespace trammel::storage
