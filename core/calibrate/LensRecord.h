// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <Eigen/Core>
#include <array>
#include <filesystem>
#include <optional>
#include <string>

#include "core/base/Result.h"
#include "core/camera/Camera.h"
#include "core/survey/Survey.h"

namespace trammel::calibrate {

using Mat8 = Eigen::Matrix<double, 8, 8>;

/// Order of the constants in covariances and lists.
enum LensConstant { kDistance, kPointX, kPointY, kK1, kK2, kK3, kP1, kP2 };
inline constexpr std::array<const char*, 8> kConstantNames = {
    "principal distance", "principal point x", "principal point y", "k1", "k2", "k3", "p1", "p2"};

/// What a calibration found of one body, lens, zoom and focus, and under which conditions. Camera constants
/// in px of the full frame as the sensor lies level (the upright picture of a body held level), in the
/// convention of camera::Constants.
struct LensRecord {
    std::string body, lens;     ///< as EXIF has them; empty: not told
    double focal_mm = 0.0;      ///< engraved or EXIF focal length; 0 unknown
    double focus_m = 0.0;       ///< distance focused at; 0 unknown
    int width = 0, height = 0;  ///< px of the frame that the constants are about
    camera::Constants constants;
    /// Covariance in the order of LensConstant, px and pure numbers; a constant held at zero has a row and a
    /// column of zeros.
    Mat8 covariance = Mat8::Zero();
    double sigma(LensConstant which) const;
    /// How far every edge lies towards the light (positive) for each px of blur, and its σ: what another tone
    /// curve than the sRGB one does to fitted edges. σ 0: not measured.
    survey::Measured growth;
    std::string date;     ///< of the photographs, ISO 8601 "2026-05-01"; empty: not told
    int photographs = 0;  ///< used
    double rms_px = 0.0;  ///< of the corners' residuals, both coordinates together: √(Σ|v|²/corners)
    std::string note;     ///< free text
};

/// The constants as a camera group of a survey takes them: mode Prior with a σ, those held at zero Fixed.
/// A survey holds its constants as independent, while those of a calibration are correlated (c with k1, k1
/// with k2 beyond 0.9 in magnitude), and their bare σ taken as independent could promise up to √8 times too
/// much for a sum of them. So each σ is widened by √(Σ_j |ρ_ij|) over its row of correlations: the diagonal
/// covariance then exceeds the full one in every direction (diagonal dominance, Gershgorin). What is given up
/// is what the calibration knew of combinations; the marks of the survey themselves have to tell these.
/// Principal distance, point and distortion are replaced, body, lens and focal length where the record has
/// them; all else of the group is kept. The record must be of the frame as the group's photographs have it:
/// see `turned`.
survey::CameraGroup withConstants(survey::CameraGroup group, const LensRecord& record);

/// The record for the upright pictures of a body that was held turned (EXIF orientation 3, 6 or 8; others
/// change nothing): the principal point and p1, p2 turn with the frame.
LensRecord turned(const LensRecord& record, int orientation);

/// One record as a JSON text, documented in core/calibrate/FORMAT.md, and back. The reader names what is
/// wrong: a missing or unknown key, a number that is none, a covariance that is not one.
std::string toJson(const LensRecord& record);
Result<LensRecord> fromJson(const std::string& text);

/// The same as a file; written whole or not at all.
Result<void> saveLens(const LensRecord& record, const std::filesystem::path& file);
Result<LensRecord> loadLens(const std::filesystem::path& file);

}  // namespace trammel::calibrate
