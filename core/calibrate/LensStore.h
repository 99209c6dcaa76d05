// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <filesystem>
#include <string>
#include <vector>

#include "core/calibrate/LensRecord.h"
#include "core/survey/Edit.h"

namespace trammel::calibrate {

/// Lens records kept in one folder, a file each (FORMAT.md), named after body, lens, focal length, focus and
/// date: a record of the same five replaces the old one, whole or not at all.
class LensStore {
  public:
    explicit LensStore(std::filesystem::path folder) : folder_(std::move(folder)) {}
    const std::filesystem::path& folder() const { return folder_; }

    struct Kept {
        std::filesystem::path file;
        LensRecord record;
    };
    struct Contents {
        std::vector<Kept> lenses;    ///< newest first
        std::vector<Error> damaged;  ///< files that are no lens records, by name; they are left alone
    };
    /// What is in the folder; nothing where it does not exist.
    Contents all() const;

    /// Makes the folder where needed. Returns the file's place.
    Result<std::filesystem::path> keep(const LensRecord& record) const;
    /// Removes a file that `all` named. Refused for one that lies elsewhere or is none of a lens.
    Result<void> remove(const std::filesystem::path& file) const;

  private:
    std::filesystem::path folder_;
};

/// Where records are kept by the rules of desktops (XDG base directories): under $XDG_DATA_HOME, or else
/// under
/// ~/.local/share. Empty where neither is told as a whole path.
std::filesystem::path lensFolder(const char* xdgDataHome, const char* home);
/// By the environment of this process.
std::filesystem::path usersLensFolder();

/// What photographs tell of their lens, as a survey has it.
struct LensInUse {
    std::string body, lens;                ///< as EXIF has them; body with its serial number behind " no. "
    double focal_mm = 0.0, focus_m = 0.0;  ///< 0 unknown
    int width = 0, height = 0;             ///< px of the full frame, upright
    int orientation = 1;                   ///< EXIF's, 1..8
};
/// Of a camera group and its first photograph. A survey does not know the focus: give what EXIF says.
LensInUse lensOf(const survey::Survey& survey, const survey::Id& group, double focus_m = 0.0);

/// A record that may serve.
struct LensMatch {
    LensStore::Kept kept;
    LensRecord record;      ///< turned as the photograph is, its σ widened for what differs
    bool sameBody = false;  ///< by its serial number
    bool sameLens = false;  ///< by its name; false where the photographs name none
    bool sameFocus = false;
    double zoomDifference = 0.0, focusChange = 0.0;  ///< relative: of the focal lengths, of c by focus
    std::string sentence;                            ///< when it was made, and what differs
};

/// Records for this lens on this body, or another of its model, with the same frame, and a focal length
/// within 3 %; best first: named lens, same body, then zoom, focus, date. Photographs that name no lens (one
/// without contacts) get the records of their body, and the sentence says whose. What differs is paid for in σ:
/// - zoom: c moves with the focal length, with the whole change as σ, k1 by twice that of its value;
/// - focus: c moves by (1 + m) of both magnifications m as a lens that moves as a whole does, with the whole
///   change as σ (a lens that focuses inside may not move at all); k1 by five times the change of its value;
///   where one focus is unknown, 3 % of c and 15 % of k1 (common practice, no source);
/// - another body of the model: the principal point by 0.5 % of the long side (common practice, no source).
std::vector<LensMatch> matching(const LensStore::Contents& contents, const LensInUse& wanted);

/// Sets the group's constants as one act.
Result<survey::Edit> useLens(const survey::Survey& survey, const survey::Id& group, const LensRecord& record);

/// Magnification of a lens of this focal length that is sharp at `focus_m`, counted from the sensor (thin
/// lens: focus = f (1 + m)² / m); 0 where it is not told or nearer than the lens can image (4 f).
double magnificationAt(double focal_mm, double focus_m);

}  // namespace trammel::calibrate
