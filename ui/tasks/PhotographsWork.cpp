// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/tasks/PhotographsWork.h"

#include <algorithm>
#include <cmath>

#include "core/photo/Decode.h"
#include "core/photo/Exif.h"
#include "core/photo/PrincipalDistance.h"

namespace trammel::ui {
namespace {

namespace fs = std::filesystem;
using survey::CameraGroup;
using survey::ConstantMode;
using survey::Station;
using survey::Survey;

/// Lens distortion at the corner of the frame is rarely more than two per cent.
constexpr double kCornerDistortion = 0.02;

CameraGroup cameraFrom(const photo::Exif& exif, const survey::Photo& photo, const photo::StoredSize& stored) {
    CameraGroup group;
    group.body = exif.make.empty() ? exif.model : exif.make + " " + exif.model;
    group.lens = exif.lensModel;
    group.name = group.body.empty() ? "camera" : group.body;
    group.focalLength_mm = exif.focalLength_mm.value_or(0.0);
    const int width = photo.crop.fullWidth > 0 ? photo.crop.fullWidth : photo.width;
    const int height = photo.crop.fullHeight > 0 ? photo.crop.fullHeight : photo.height;
    const double diagonal = std::hypot(width, height);
    if (const auto prior = photo::principalDistancePrior(exif, stored.width, stored.height)) {
        const double c = prior->c_px;
        group.pixelPitch_mm = prior->pitch_mm;
        group.principalDistance = {c, photo::kExifDistanceSigma * c, ConstantMode::Prior};
        const double corner = diagonal / 2 / c;
        group.k1 = {0.0, kCornerDistortion / (corner * corner), ConstantMode::Prior};
    }
    // The principal point lies near the middle of the frame; after a crop of unknown place, anywhere near.
    const double doubt = photo.crop.known ? 0.01 * width : 0.5 * diagonal;
    group.principalX = {(width - 1) / 2.0, doubt, ConstantMode::Prior};
    group.principalY = {(height - 1) / 2.0, doubt, ConstantMode::Prior};
    return group;
}

bool sameCamera(const CameraGroup& a, const CameraGroup& b) {
    return a.body == b.body && a.lens == b.lens && a.focalLength_mm == b.focalLength_mm &&
           a.pixelPitch_mm == b.pixelPitch_mm && a.principalX == b.principalX && a.principalY == b.principalY;
}

void findCrop(const photo::Exif& exif, survey::Photo& photo) {
    if (!exif.pixelWidth || !exif.pixelHeight) return;
    const bool turned = exif.orientation >= 5;
    const int width = turned ? *exif.pixelHeight : *exif.pixelWidth;
    const int height = turned ? *exif.pixelWidth : *exif.pixelHeight;
    if (width < photo.width || height < photo.height) return;  // of a thumbnail, or rewritten: says nothing
    photo.crop.fullWidth = width;
    photo.crop.fullHeight = height;
    // Equal sizes mean an uncropped picture only as far as the camera's own tags came along.
    photo.crop.known = width == photo.width && height == photo.height && exif.focalLength_mm.has_value();
}

survey::View guessView(const std::string& stem) {
    std::string lower = stem;
    std::ranges::transform(lower, lower.begin(), [](unsigned char c) { return std::tolower(c); });
    for (const char* name : {"oblique", "bottom", "front", "rear", "left", "right", "top"})
        if (lower.find(name) != std::string::npos) return *survey::viewFromName(name);
    return survey::View::Top;
}

Result<void> readOne(const fs::path& file, Survey& copy, survey::Edit& edit) {
    const auto stored = photo::storedSize(file);
    if (!stored) return stored.error();
    const auto hash = photo::contentHash(file);
    if (!hash) return hash.error();
    const auto found = photo::readExif(file);
    const photo::Exif exif = found ? *found : photo::Exif{};  // a photograph without EXIF is still a photograph
    Station station;
    station.photo.path = fs::absolute(file).generic_string();
    station.photo.sha256 = *hash;
    station.photo.orientation = exif.orientation;
    const bool turned = exif.orientation >= 5;
    station.photo.width = turned ? stored->height : stored->width;
    station.photo.height = turned ? stored->width : stored->height;
    findCrop(exif, station.photo);
    station.name = file.stem().string();
    station.view = guessView(station.name);
    CameraGroup group = cameraFrom(exif, station.photo, *stored);
    const auto same = std::ranges::find_if(copy.groups, [&](const auto& g) { return sameCamera(g, group); });
    survey::Edit own;
    if (same != copy.groups.end()) {
        station.group = same->id;
    } else {
        station.group = group.id = survey::freshId(copy, 'G');
        own.changes.push_back(survey::Put<CameraGroup>{group});
    }
    station.id = survey::freshId(copy, 'S');
    own.changes.push_back(survey::Put<Station>{station});
    const auto applied = survey::apply(copy, own);
    if (!applied) return applied.error();
    edit.changes.insert(edit.changes.end(), own.changes.begin(), own.changes.end());
    return {};
}

}  // namespace

PhotographsRead readPhotographs(const Survey& survey, const std::vector<fs::path>& files,
                                const Progress& progress) {
    PhotographsRead result;
    Survey copy = survey;
    int added = 0;
    for (std::size_t i = 0; i < files.size() && !progress.cancelled(); ++i) {
        progress.report(static_cast<double>(i) / static_cast<double>(files.size()));
        if (const auto read = readOne(files[i], copy, result.edit); read)
            ++added;
        else
            result.problems.push_back(read.error());
    }
    result.edit.name = added == 1 ? "Add a photograph" : "Add " + std::to_string(added) + " photographs";
    return result;
}

}  // namespace trammel::ui
