// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "core/calibrate/LensRecord.h"
#include "core/calibrate/RadialCurve.h"
#include "core/photo/Exif.h"

namespace trammel::calibrate {

/// What the open lens database (lensfun, data CC BY-SA 3.0) says of the lens of a photograph. Others measured
/// another specimen, mostly focused far away: good enough to see straight edges straight and as a prior that
/// the adjustment may refute, no substitute for a calibration.
struct DatabaseLens {
    std::string camera, lens, model;  ///< as the database has them; model: "cubic", "quintic", "quartic"
    std::vector<std::string> others;  ///< entries whose names fit as well
    double focalLength_mm = 0.0;
    double cropFactor = 0.0,
           measuredCrop = 0.0;  ///< of this camera; of the one that the entry was measured on
    Conversion conversion;
    /// Standard uncertainties of c (relative) and of k1. Common practice, no source: specimens of one lens
    /// are taken to differ by 30 % of its distortion and by 1/2000 of the radius in the corners; k2 and k3
    /// are taken as they are, because k1 alone can bend the picture by as much.
    double cSigmaRelative = 0.0, k1Sigma = 0.0;
    double cornerDoubt_px = 0.0;  ///< what k1Sigma is in the corners

    /// As a record: c, principal point and k1 with these uncertainties, the rest held. The principal point is
    /// not the database's: the middle ± 1 % of the long side (common practice, no source).
    LensRecord record(const photo::Exif& exif, int width, int height) const;

    /// What this entry is and how far to trust it, in one or two sentences.
    std::string sentence() const;
};

class LensDatabase {
  public:
    /// Loads the XML files of a folder; the default is where the library's package puts them, and whatever
    /// updates the library itself looks for. FileMissing with the package's name when there are none.
    static Result<LensDatabase> load(const std::filesystem::path& folder = {});

    /// The lens of a photograph whose full, uncropped frame has this size, by maker, camera, name of the lens
    /// and focal length. NotFound where the file names no lens or the database has no distortion for it.
    Result<DatabaseLens> find(const photo::Exif& exif, int width, int height) const;

    int lenses() const;
    /// The library's own handle (lfDatabase), for tests that ask it directly.
    const void* handle() const { return database_.get(); }

  private:
    LensDatabase() = default;
    std::shared_ptr<void> database_;
};

}  // namespace trammel::calibrate
