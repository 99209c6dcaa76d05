// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/calibrate/CalibratePhotographs.h"

#include <fmt/core.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <thread>
#include <utility>

#include "core/calibrate/LocateCorners.h"
#include "core/photo/Decode.h"
#include "core/photo/Exif.h"
#include "core/photo/Orientation.h"
#include "core/photo/PrincipalDistance.h"
#include "core/storage/ImportPhotograph.h"

namespace trammel::calibrate {
namespace {

/// What was read from one file; px of the frame as stored.
struct Taken {
    std::string name;
    photo::Exif exif;
    int width = 0, height = 0;  ///< as stored
    LocatedBoard located;
    std::optional<Error> unread;   ///< the file
    std::optional<Error> unfound;  ///< the board
};

/// Turn from the upright picture back to the frame as stored, about the middle.
Mat2 backTurn(int orientation) {
    Mat2 turn = Mat2::Identity();
    if (orientation == 3) turn << -1, 0, 0, -1;
    if (orientation == 6) turn << 0, 1, -1, 0;
    if (orientation == 8) turn << 0, -1, 1, 0;
    return turn;
}

void turnBack(LocatedBoard& located, int orientation, int width, int height) {
    const Mat2 turn = backTurn(orientation);
    const Vec2 stored(0.5 * (width - 1), 0.5 * (height - 1));
    const Vec2 upright = photo::swapsSides(orientation) ? Vec2(stored.y(), stored.x()) : stored;
    const auto back = [&](Vec2& px) { px = stored + turn * (px - upright); };
    for (SeenCorner& c : located.coarse) back(c.px);
    for (Side& s : located.sides) {
        for (fit::FitPoint& p : s.points) back(p.px);
        s.toLight = turn * s.toLight;
    }
}

Taken take(const std::filesystem::path& file, const Board& board) {
    Taken out;
    out.name = file.filename().string();
    const auto fail = [&](Error e) {
        if (e.object.empty()) e.object = out.name;
        return e;
    };
    if (auto exif = photo::readExif(file)) out.exif = *exif;
    auto image = photo::decode(file);
    if (!image) {
        out.unread = fail(image.error());
        return out;
    }
    const bool turned = photo::swapsSides(out.exif.orientation);
    out.width = turned ? image->height : image->width;
    out.height = turned ? image->width : image->height;
    if (photo::isMirrored(out.exif.orientation)) {
        out.unfound = Error{ErrorCode::Refused, "the picture is stored mirrored", out.name,
                            "take it again without flipping"};
        return out;
    }
    const auto seen = findBoard(*image, board);
    if (!seen) {
        out.unfound = fail(seen.error());
        return out;
    }
    out.located = locateSides(photo::linearLuminance(std::move(*image)), *seen);
    turnBack(out.located, out.exif.orientation, out.width, out.height);
    return out;
}

std::vector<Taken> takeAll(const std::vector<std::filesystem::path>& files, const Board& board, int threads,
                           const Progress* progress) {
    std::vector<Taken> out(files.size());
    std::atomic<std::size_t> next{0}, done{0};
    const auto work = [&] {
        for (std::size_t k = next++; k < files.size(); k = next++) {
            if (progress && progress->cancelled()) return;
            try {
                out[k] = take(files[k], board);
            } catch (const std::exception&) {  // room for its pixels, or a picture that OpenCV chokes on
                out[k].name = files[k].filename().string();
                out[k].unread = Error{ErrorCode::FileDamaged, "could not be worked on", files[k].string(),
                                      "leave it out, or take a smaller copy of it"};
            }
            if (progress)
                progress->report(0.9 * static_cast<double>(++done) / static_cast<double>(files.size()));
        }
    };
    std::vector<std::thread> pool;
    for (int t = 1; t < threads; ++t) pool.emplace_back(work);
    work();
    for (std::thread& t : pool) t.join();
    return out;
}

/// One camera, lens and focal length, as far as the files tell, and one size.
std::optional<Error> mixed(const std::vector<Taken>& all) {
    const Taken& first = all.front();
    for (const Taken& t : all) {
        const auto differs = [&](const std::string& what) {
            return Error{ErrorCode::Refused, fmt::format("{} than {}", what, first.name), t.name,
                         "calibrate each body, lens, zoom and size by itself"};
        };
        if (t.width != first.width || t.height != first.height)
            return differs(fmt::format("the picture of {} × {} px has another size", t.width, t.height));
        if (storage::bodyName(t.exif) != storage::bodyName(first.exif))
            return differs("the photograph is of another camera");
        if (storage::lensName(t.exif) != storage::lensName(first.exif))
            return differs("the photograph is of another lens");
        const double f = t.exif.focalLength_mm.value_or(0.0), g = first.exif.focalLength_mm.value_or(0.0);
        if (std::abs(f - g) > 1e-6 * std::max(f, g))
            return differs(fmt::format("the focal length of {} mm is another", f));
    }
    return std::nullopt;
}

/// Added to the corners' variances such that a corner's σ is what it scatters by: print and lens model have
/// their own share that no fit to a clear edge shows, the same for well and for hardly fitted ones.
double addedVariance(const Calibration& c, const std::vector<BoardFrame>& frames, double already) {
    std::vector<double> formal;
    for (const BoardFrame& f : frames)
        for (const BoardCorner& k : f.corners) formal.push_back(0.5 * k.covariance.trace() - already);
    if (formal.empty()) return 0.0;
    const auto middle = formal.begin() + static_cast<std::ptrdiff_t>(formal.size() / 2);
    std::nth_element(formal.begin(), middle, formal.end());
    const double unknowns = 6.0 * c.photographs + 12.0;
    const double freedom = std::max(0.1, 1.0 - unknowns / std::max(1.0, 2.0 * c.corners));
    return std::max(0.0, 0.5 * c.rms_px * c.rms_px / freedom - *middle);
}

std::string dateOf(const std::vector<Taken>& all) {
    std::string first;
    for (const Taken& t : all) {
        const std::string& d = t.exif.dateTimeOriginal;
        if (d.size() < 10 || d[4] != ':' || d[7] != ':') continue;
        const std::string day = d.substr(0, 4) + "-" + d.substr(5, 2) + "-" + d.substr(8, 2);
        if (first.empty() || day < first) first = day;
    }
    return first;
}

LensRecord recordOf(const Calibration& c, const std::vector<Taken>& all, const PhotographOptions& options) {
    LensRecord out;
    const photo::Exif& exif = all.front().exif;
    out.body = storage::bodyName(exif);
    out.lens = storage::lensName(exif);
    out.focal_mm = exif.focalLength_mm.value_or(0.0);
    out.focus_m = options.focus_m > 0.0 ? options.focus_m : exif.subjectDistance_m.value_or(0.0);
    out.width = all.front().width;
    out.height = all.front().height;
    out.constants = c.constants;
    out.covariance = c.covariance;
    out.date = dateOf(all);
    out.photographs = c.photographs;
    out.rms_px = c.rms_px;
    return out;
}

std::vector<BoardFrame> framesOf(const std::vector<Taken>& all, bool coarse,
                                 const std::optional<camera::Constants>& lens, double added) {
    std::vector<BoardFrame> out;
    for (const Taken& t : all) {
        BoardFrame frame{t.name, {}};
        if (coarse) {
            for (const SeenCorner& c : t.located.coarse)
                frame.corners.push_back({c.i, c.j, c.px, kCoarseSigma * kCoarseSigma * Mat2::Identity()});
        } else {
            for (const LocatedCorner& c : cornersOf(t.located, lens)) {
                frame.corners.push_back(c.corner);
                frame.corners.back().covariance += added * Mat2::Identity();
            }
        }
        out.push_back(std::move(frame));
    }
    return out;
}

}  // namespace

Result<LensCalibration> calibratePhotographs(const std::vector<std::filesystem::path>& files,
                                             const Board& board, const PhotographOptions& options,
                                             const Progress* progress) {
    if (const auto no = unusable(board)) return *no;
    if (files.empty())
        return Error{ErrorCode::BadValue, "no photographs are named", "calibration", "name eight or more"};
    const std::vector<Taken> all = takeAll(files, board, options.threads, progress);
    if (progress && progress->cancelled())
        return Error{ErrorCode::Cancelled, "the calibration was stopped", "", ""};
    const Taken* without = nullptr;
    std::size_t found = 0;
    for (const Taken& t : all) {
        if (t.unread) return *t.unread;
        if (t.unfound && !without) without = &t;
        found += !t.unfound;
    }
    if (const auto no = mixed(all)) return *no;
    if (found < 3 && without)
        return Error{ErrorCode::Refused,
                     fmt::format("the board is found in {} of {} photographs; {}: {}", found, all.size(),
                                 without->unfound->object, without->unfound->what),
                     "calibration", without->unfound->remedy};
    CalibrateOptions how;
    how.uneven = options.uneven;
    how.width = all.front().width;
    how.height = all.front().height;
    if (const auto prior = photo::principalDistancePrior(all.front().exif, how.width, how.height))
        how.expected_px = prior->c_px;
    Result<Calibration> c = calibrate(board, framesOf(all, true, std::nullopt, 0.0), how);
    double added = 0.0;
    for (int pass = 0; c && pass < 3; ++pass) {
        how.expected_px = c->constants.c;
        const auto lens = c->constants;
        const auto frames = framesOf(all, false, lens, added);
        c = calibrate(board, frames, how);
        if (c && pass < 2) added = addedVariance(*c, frames, added);
    }
    if (!c) return c.error();
    for (std::size_t k = 0; k < all.size(); ++k)
        if (all[k].unfound) {
            const std::string was = std::exchange(c->frames[k].why, all[k].unfound->sentence());
            std::replace(c->remarks.begin(), c->remarks.end(), was, c->frames[k].why);
        }
    LensCalibration out{*std::move(c), {}};
    out.record = recordOf(out.calibration, all, options);
    std::vector<SideShift> shifts;
    for (const Taken& t : all) {
        const auto own =
            shiftsOf(t.located, cornersOf(t.located, out.record.constants), out.record.constants);
        shifts.insert(shifts.end(), own.begin(), own.end());
    }
    out.record.growth = growthOf(shifts);
    if (out.record.body.empty())
        out.calibration.remarks.push_back(
            "The files do not tell the body: the lens will be offered for no photograph by "
            "itself.");
    if (progress) progress->report(1.0);
    return out;
}

}  // namespace trammel::calibrate
