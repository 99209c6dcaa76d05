// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/calibrate/LensDatabase.h"

#include <fmt/core.h>
#include <lensfun.h>

#include <algorithm>
#include <cctype>
#include <cmath>
#include <cstdlib>
#include <optional>
#include <system_error>

#include "core/photo/PrincipalDistance.h"
#include "core/storage/ImportPhotograph.h"

namespace trammel::calibrate {

namespace {

// Common practice, no source (see DatabaseLens).
constexpr double kSpecimenShare = 0.3, kSpecimenOfRadius = 1.0 / 2000.0;
constexpr double kFullFrameDiagonal_mm = 43.2666;  // 36 × 24; what crop factors refer to
constexpr double kPointOfSide = 0.01;
constexpr double kMostMiss = 1e-3;     // of a conversion, of the diagonal
constexpr double kFocalBeyond = 1.02;  // an entry is used this far past the focal lengths it was measured at

template <class T>
struct Freed {
    const T** list;
    explicit Freed(const T** l) : list(l) {}
    ~Freed() { lf_free(list); }
    Freed(const Freed&) = delete;
    Freed& operator=(const Freed&) = delete;
};

std::string words(const lfMLstr text) { return text ? text : ""; }

Error notFound(std::string what, std::string remedy = "calibrate the lens with a board of squares") {
    return {ErrorCode::NotFound, std::move(what), "lens database", std::move(remedy)};
}

std::optional<RadialCurve> curveOf(const lfLensCalibDistortion& d) {
    const auto with = [&](RadialKind kind) {
        return RadialCurve{kind, {d.Terms[0], d.Terms[1], d.Terms[2]}};
    };
    switch (d.Model) {
        case LF_DIST_MODEL_POLY3:
            return with(RadialKind::Cubic);
        case LF_DIST_MODEL_POLY5:
            return with(RadialKind::Quintic);
        case LF_DIST_MODEL_PTLENS:
            return with(RadialKind::Quartic);
        default:
            return std::nullopt;
    }
}

const char* wordFor(RadialKind kind) {
    return kind == RadialKind::Cubic ? "cubic" : kind == RadialKind::Quintic ? "quintic" : "quartic";
}

/// Measured near this focal length: the library itself would go on with the nearest entry however far it is.
bool measuredNear(const lfLens& lens, double focal) {
    double low = 1e9, high = 0.0;
    for (auto d = lens.CalibDistortion; d && *d; ++d) {
        low = std::min<double>(low, (*d)->Focal);
        high = std::max<double>(high, (*d)->Focal);
    }
    return focal * kFocalBeyond >= low && focal <= high * kFocalBeyond;
}

/// Crop factor by what the file says of its pixels, for cameras that the database does not know.
std::optional<double> cropFromFile(const photo::Exif& exif, int width, int height) {
    const auto prior = photo::principalDistancePrior(exif, width, height);
    if (!prior || !exif.focalLength_mm) return std::nullopt;
    return kFullFrameDiagonal_mm / (*exif.focalLength_mm / prior->c_px * std::hypot(width, height));
}

void setDoubts(DatabaseLens& found, int width, int height) {
    const double corner_px = 0.5 * std::hypot(width - 1, height - 1);
    const auto& made = found.conversion;
    found.cornerDoubt_px =
        std::max({kSpecimenShare * std::abs(made.corner_px), kSpecimenOfRadius * corner_px, made.worst_px});
    found.cSigmaRelative = photo::kExifDistanceSigma;
    const double ideal = corner_px / made.constants.c;
    found.k1Sigma = found.cornerDoubt_px / (made.constants.c * ideal * ideal * ideal);
}

}  // namespace

Result<LensDatabase> LensDatabase::load(const std::filesystem::path& folder) {
    LensDatabase made;
    made.database_ =
        std::shared_ptr<void>(lf_db_new(), [](void* db) { lf_db_destroy(static_cast<lfDatabase*>(db)); });
    auto* db = static_cast<lfDatabase*>(made.database_.get());
    std::error_code ignored;
    if (folder.empty())
        db->Load();
    else if (std::filesystem::is_directory(folder, ignored))
        db->LoadDirectory(folder.c_str());
    if (made.lenses() == 0)
        return Error{ErrorCode::FileMissing,
                     "no lenses were found" + (folder.empty() ? std::string() : " in " + folder.string()),
                     "lens database", "install the package liblensfun-data-v1, or calibrate the lens"};
    return made;
}

int LensDatabase::lenses() const {
    int count = 0;
    for (auto l = static_cast<const lfDatabase*>(database_.get())->GetLenses(); l && *l; ++l) ++count;
    return count;
}

Result<DatabaseLens> LensDatabase::find(const photo::Exif& exif, int width, int height) const {
    if (width < 2 || height < 2)
        return Error{ErrorCode::BadValue, "the photograph has no size", "lens database", "add it again"};
    if (!exif.focalLength_mm || !(*exif.focalLength_mm > 0.0))
        return notFound("the photograph does not say its focal length");
    const auto* db = static_cast<const lfDatabase*>(database_.get());
    const Freed<lfCamera> cameras(
        exif.model.empty() ? nullptr : db->FindCameras(exif.make.c_str(), exif.model.c_str()));
    const lfCamera* camera = cameras.list ? cameras.list[0] : nullptr;
    // The mount of a camera whose lens cannot be changed begins in lower case: its one lens needs no name.
    const bool fixedLens =
        camera && camera->Mount && std::islower(static_cast<unsigned char>(*camera->Mount));
    if (exif.lensModel.empty() && !fixedLens) return notFound("the photograph does not name its lens");

    const Freed<lfLens> lenses(
        db->FindLenses(camera, nullptr, exif.lensModel.empty() ? nullptr : exif.lensModel.c_str()));
    const lfLens* lens = nullptr;
    DatabaseLens found;
    for (auto l = lenses.list; l && *l; ++l) {
        if ((*l)->Type != LF_RECTILINEAR && (*l)->Type != LF_UNKNOWN) continue;
        if (!measuredNear(**l, *exif.focalLength_mm)) continue;
        if (!lens)
            lens = *l;
        else if ((*l)->Score == lens->Score && words((*l)->Model) != words(lens->Model))
            found.others.push_back(words((*l)->Model));
    }
    const std::string name = exif.lensModel.empty() ? exif.model : exif.lensModel;
    if (!lens)
        return notFound(
            fmt::format("nothing was measured for \"{}\" at {:.4g} mm", name, *exif.focalLength_mm));
    lfLensCalibDistortion entry;
    const auto focal = static_cast<float>(*exif.focalLength_mm);
    const auto curve = lens->InterpolateDistortion(focal, entry) ? curveOf(entry) : std::nullopt;
    if (!curve) return notFound(fmt::format("it has no distortion of \"{}\"", name));

    const auto crop = camera ? std::optional<double>(camera->CropFactor) : cropFromFile(exif, width, height);
    if (!crop || !(*crop > 0.0))
        return notFound(
            fmt::format("it does not know the camera \"{}\", and the file does not say how large "
                        "its pixels are",
                        exif.model));
    // r = 1 in px: by diagonals from this frame to that of the measurement, then to its half short side. The
    // library measures frames between the middles of their outer pixels (checked against what it does).
    const double unit_px = 0.5 * std::hypot(width - 1, height - 1) / std::hypot(lens->AspectRatio, 1.0) *
                           *crop / lens->CropFactor;
    const auto prior = photo::principalDistancePrior(exif, width, height);
    const double c_px =
        prior ? prior->c_px
              : *exif.focalLength_mm * *crop * std::hypot(width, height) / kFullFrameDiagonal_mm;
    const auto conversion = toBrown(*curve, unit_px, c_px, width, height);
    if (!conversion) return conversion.error();
    if (conversion->worst_px > kMostMiss * std::hypot(width, height))
        return notFound(
            fmt::format("the distortion of \"{}\" is none that Brown's constants can follow", name));
    found.camera = camera ? words(camera->Model) : exif.model;
    found.lens = words(lens->Model);
    found.model = wordFor(curve->kind);
    found.focalLength_mm = *exif.focalLength_mm;
    found.cropFactor = *crop;
    found.measuredCrop = lens->CropFactor;
    found.conversion = *conversion;
    setDoubts(found, width, height);
    return found;
}

LensRecord DatabaseLens::record(const photo::Exif& exif, int width, int height) const {
    LensRecord r;
    r.body = storage::bodyName(exif), r.lens = exif.lensModel.empty() ? lens : storage::lensName(exif);
    r.focal_mm = focalLength_mm;
    r.width = width, r.height = height;
    r.constants = conversion.constants;
    const double point = kPointOfSide * std::max(width, height);
    r.covariance(kDistance, kDistance) = std::pow(cSigmaRelative * r.constants.c, 2);
    r.covariance(kPointX, kPointX) = r.covariance(kPointY, kPointY) = point * point;
    r.covariance(kK1, kK1) = k1Sigma * k1Sigma;
    r.note = sentence();
    return r;
}

std::string DatabaseLens::sentence() const {
    std::string s = fmt::format(
        "{} at {:.4g} mm, of the open lens database: moves the corners by {:+.1f} px, taken as ±{:.1f} px "
        "(k = 2), because another specimen was measured; converted from its {} curve with at most {:.2f} px "
        "of error.",
        lens, focalLength_mm, conversion.corner_px, 2 * cornerDoubt_px, model, conversion.worst_px);
    if (!others.empty()) {
        s += " The name fits as well: " + others.front();
        for (std::size_t i = 1; i < others.size(); ++i) s += ", " + others[i];
        s += ".";
    }
    return s;
}

}  // namespace trammel::calibrate
