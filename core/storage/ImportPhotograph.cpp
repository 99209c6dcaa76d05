// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/storage/ImportPhotograph.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <optional>
#include <utility>

#include "core/photo/Decode.h"
#include "core/photo/Exif.h"
#include "core/photo/Orientation.h"
#include "core/photo/PrincipalDistance.h"
#include "core/photo/Remarks.h"

namespace trammel::storage {
namespace {

using namespace survey;

constexpr double kCornerDistortion =
    0.02;  ///< of a corner's distance: more is rare in lenses made to measure

bool isUtf8(const std::string& s) {
    try {
        (void)nlohmann::json(s).dump();
        return true;
    } catch (const nlohmann::json::exception&) {
        return false;
    }
}

std::string relativeName(const std::filesystem::path& photograph, const std::filesystem::path& surveyFile) {
    std::error_code code;
    const std::filesystem::path whole = std::filesystem::absolute(photograph, code);
    if (surveyFile.empty()) return whole.generic_string();
    const auto folder = std::filesystem::absolute(surveyFile, code).parent_path();
    const std::filesystem::path relative = std::filesystem::relative(whole, folder, code);
    return (code || relative.empty() ? whole : relative).generic_string();
}

/// Long side of the camera's full frame in px, from focal length, its 35 mm equivalent and the sensor's
/// resolution (CIPA DC-008); nothing when a tag is missing. Some programs that crop write the crop's size as
/// if it were the frame's: this figure gives them away.
std::optional<double> frameLongSide(const photo::Exif& e) {
    constexpr double kWidth35_mm = 36.0;
    if (!e.focalLength_mm || !e.focalLength35_mm || !e.focalPlaneResolution_per_mm) return std::nullopt;
    const double side =
        kWidth35_mm * *e.focalLength_mm / *e.focalLength35_mm * *e.focalPlaneResolution_per_mm;
    return side > 0 && side < 1e5 ? std::optional<double>(side) : std::nullopt;
}

/// Crop of the upright picture, from what EXIF says of the stored one.
FrameCrop cropOf(const Photo& p, const photo::Exif& e) {
    FrameCrop crop{p.width, p.height, 0.0, 0.0, false};
    // Equivalents are whole mm and, on frames that are not 3:2, counted by the diagonal: 8 % is no proof.
    const auto frame = frameLongSide(e);
    if (frame && std::max(p.width, p.height) < 0.92 * *frame) {
        const int across = static_cast<int>(std::lround(*frame)),
                  down = static_cast<int>(std::lround(*frame / 1.5));
        const bool upright = photo::swapsSides(e.orientation);
        crop.fullWidth = std::max(p.width, upright ? down : across);
        crop.fullHeight = std::max(p.height, upright ? across : down);
        crop.offsetX = (crop.fullWidth - p.width) / 2.0, crop.offsetY = (crop.fullHeight - p.height) / 2.0;
        return crop;
    }
    if (!e.pixelWidth || !e.pixelHeight) return crop;
    int w = *e.pixelWidth, h = *e.pixelHeight;
    if (photo::swapsSides(e.orientation)) std::swap(w, h);
    crop.known = w == p.width && h == p.height;
    if (w < p.width || h < p.height) return crop;  // enlarged: EXIF's size is no frame it could lie in
    crop.fullWidth = w, crop.fullHeight = h;
    crop.offsetX = (w - p.width) / 2.0, crop.offsetY = (h - p.height) / 2.0;
    return crop;
}

/// A resized picture fills its frame: same proportion, other size. Its full frame is itself.
bool wasResized(const Photo& p, const photo::Exif& e) {
    if (!e.pixelWidth || !e.pixelHeight) return false;
    const bool swaps = photo::swapsSides(e.orientation);
    const double across = static_cast<double>(p.width) / (swaps ? *e.pixelHeight : *e.pixelWidth);
    const double down = static_cast<double>(p.height) / (swaps ? *e.pixelWidth : *e.pixelHeight);
    return across != 1.0 && std::abs(across / down - 1.0) < 0.01;
}

CameraGroup newGroup(const Photo& p, const photo::Exif& e, const photo::StoredSize& stored) {
    CameraGroup g;
    g.body = bodyName(e), g.lens = lensName(e);
    g.focalLength_mm = e.focalLength_mm.value_or(0.0);
    g.name = g.focalLength_mm > 0.0 ? fmt::format("{:g} mm", g.focalLength_mm) : g.body;
    const double width = p.crop.fullWidth, height = p.crop.fullHeight, longSide = std::max(width, height);
    // A crop from a known frame moves the picture, not the lens: its offset is then the photograph's own
    // doubt.
    const bool frame = p.crop.known || isCropped(p);
    const double centreSigma = (frame ? kPrincipalPointSigma : 0.5) * longSide;
    g.principalX = {(width - 1.0) / 2.0, centreSigma, ConstantMode::Prior};
    g.principalY = {(height - 1.0) / 2.0, centreSigma, ConstantMode::Prior};
    g.k1 = {0.0, 0.0, ConstantMode::Free};
    if (const auto prior = photo::principalDistancePrior(e, stored.width, stored.height)) {
        g.pixelPitch_mm = prior->pitch_mm;
        g.principalDistance = {prior->c_px, photo::kExifDistanceSigma * prior->c_px, ConstantMode::Prior};
        const double corner = std::hypot(width, height) / 2.0 / prior->c_px;
        g.k1 = {0.0, kCornerDistortion / (corner * corner), ConstantMode::Prior};
    }
    return g;
}

/// A group whose photographs were taken as this one was. Orientation counts, because principal point and
/// distortion are kept in the upright picture's axes.
const CameraGroup* matching(const Survey& s, const CameraGroup& wanted, const Photo& p) {
    for (const CameraGroup& g : s.groups) {
        if (g.body != wanted.body || g.lens != wanted.lens || g.focalLength_mm != wanted.focalLength_mm)
            continue;
        for (const Station& st : s.stations) {
            const Photo& other = st.photo;
            if (st.group == g.id && other.orientation == p.orientation &&
                other.crop.fullWidth == p.crop.fullWidth && other.crop.fullHeight == p.crop.fullHeight)
                return &g;
        }
    }
    return nullptr;
}

/// What the file says against measuring in it, and what the crop's knowledge adds: a crop from a frame that
/// other tags give away may hide behind sizes that agree.
std::vector<std::string> notesOn(const std::filesystem::path& file, const Photo& p, const photo::Exif& e,
                                 const photo::StoredSize& stored) {
    std::vector<std::string> notes;
    std::vector<photo::Remark> remarks = photo::remarksOn(e, stored.width, stored.height);
    const bool aboutSize = std::any_of(remarks.begin(), remarks.end(), [](const photo::Remark& r) {
        return r.kind == photo::RemarkKind::Cropped || r.kind == photo::RemarkKind::Resized ||
               r.kind == photo::RemarkKind::FrameUnknown;
    });
    if (!p.crop.known && !aboutSize)
        notes.push_back(
            fmt::format("The camera's frame seems to be {} × {} px, and this picture a crop from it: "
                        "enter the crop's offset, or add the uncropped photograph.",
                        p.crop.fullWidth, p.crop.fullHeight));
    for (photo::Remark& r : remarks) notes.push_back(std::move(r.sentence));
    for (photo::Remark& r : photo::remarksOnCurve(file)) notes.push_back(std::move(r.sentence));
    return notes;
}

}  // namespace

std::string lensName(const photo::Exif& e) {
    if (e.lensMake.empty() || e.lensModel.starts_with(e.lensMake)) return e.lensModel;
    return e.lensMake + " " + e.lensModel;
}

std::string bodyName(const photo::Exif& e) {
    // Many makers repeat their name in the model.
    std::string body = e.model.starts_with(e.make) ? e.model : e.make + " " + e.model;
    if (!e.bodySerial.empty()) body += " no. " + e.bodySerial;
    return body == " " ? "" : body;
}

Result<ImportedPhotograph> importPhotograph(const Survey& survey, const std::filesystem::path& surveyFile,
                                            const std::filesystem::path& photograph, View view) {
    const Result<photo::StoredSize> stored = photo::storedSize(photograph);
    if (!stored) return stored.error();
    const Result<photo::Image> looked = photo::decode(photograph, 8);  // whole to its last byte?
    if (!looked) return looked.error();
    const Result<std::string> hash = photo::contentHash(photograph);
    if (!hash) return hash.error();
    const Result<photo::Exif> read = photo::readExif(photograph);
    const photo::Exif exif = read ? *read : photo::Exif{};

    Station station;
    station.id = freshId(survey, 'S');
    station.name = photograph.stem().string();
    station.view = view;
    Photo& p = station.photo;
    p.path = relativeName(photograph, surveyFile);
    if (!isUtf8(p.path))
        return Error{ErrorCode::Refused, "its name is not UTF-8 and cannot be kept in a survey",
                     photograph.string(), "rename it"};
    p.sha256 = *hash;
    p.orientation = exif.orientation;
    p.width = stored->width, p.height = stored->height;
    if (photo::swapsSides(p.orientation)) std::swap(p.width, p.height);
    const bool resized = wasResized(p, exif);
    p.crop = resized ? FrameCrop{p.width, p.height, 0.0, 0.0, false} : cropOf(p, exif);

    ImportedPhotograph out;
    CameraGroup group = newGroup(p, exif, *stored);
    out.notes = notesOn(photograph, p, exif, *stored);
    out.edit.name = "add photograph " + station.name;
    if (const CameraGroup* known = matching(survey, group, p)) {
        station.group = known->id;
    } else {
        station.group = group.id = freshId(survey, 'G');
        out.edit.changes.push_back(Put<CameraGroup>{group});
    }
    out.station = station.id, out.group = station.group;
    out.edit.changes.push_back(Put<Station>{station});
    return out;
}

}  // namespace trammel::storage
