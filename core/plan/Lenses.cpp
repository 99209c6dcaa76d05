// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/plan/Lenses.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "core/plan/Views.h"

namespace trammel::plan {
namespace {

/// Setup of a stand-off; N and blur still open.
Setup at(const Task& task, double focal, double standOff) {
    Setup s;
    s.focal_mm = focal;
    s.standOff_mm = standOff;
    s.magnification = magnification(focal, standOff);
    s.principal_px = imageDistance(focal, s.magnification) / task.sensor.pitch_mm();
    const Box box = wholeBox(task);
    const bool tall = box.high.y() - box.low.y() > box.high.x() - box.low.x();
    const bool tallSensor = task.sensor.height_px > task.sensor.width_px;
    s.upright = tall != tallSensor;
    return s;
}

std::vector<Vec3> cornersOf(const Box& b) {
    std::vector<Vec3> corners;
    for (const double x : {b.low.x(), b.high.x()})
        for (const double y : {b.low.y(), b.high.y()})
            for (const double z : {b.low.z(), b.high.z()}) corners.emplace_back(x, y, z);
    return corners;
}

/// Where a view's camera stands, without tilt.
camera::Pose poseOfView(const Task& task, const Setup& setup, const PlannedView& view) {
    render::SceneCamera c;
    c.view = view.view;
    c.standOff_mm = setup.standOff_mm;
    c.aim = aimOf(task);
    c.azimuth = view.azimuth;
    c.offAxis = kOblique_deg * 3.14159265358979323846 / 180.0;
    c.roll = view.roll;
    return render::poseOf(c);
}

bool fits(const Task& task, double focal, double standOff) {
    const Setup s = at(task, focal, standOff);
    if (!(s.magnification > 0)) return false;
    double w = task.sensor.width_px, h = task.sensor.height_px;
    if (s.upright) std::swap(w, h);
    const auto shows = [&](const PlannedView& v, const Box& box) {
        const camera::Pose pose = poseOfView(task, s, v);
        for (const Vec3& x : cornersOf(box)) {
            const Vec3 p = pose.R * x + pose.t;
            if (p.z() < 0.2 * standOff) return false;  // nearly at the lens
            if (std::abs(s.principal_px * p.x() / p.z()) > (0.5 - kMargin) * w) return false;
            if (std::abs(s.principal_px * p.y() / p.z()) > (0.5 - kMargin) * h) return false;
        }
        return true;
    };
    const auto& views = plannedViews();
    return std::all_of(views.begin(), views.end(), [&](const PlannedView& v) {
        const bool withLengths = v.view == survey::View::Top || v.view == survey::View::Oblique;
        return shows(v, withLengths ? wholeBox(task) : partBox(task));
    });
}

/// The shortest stand-off that shows everything: it only gets easier farther away.
double shortestThatShows(const Task& task, double focal) {
    double low = focal, high = 2 * focal;
    while (!fits(task, focal, high)) {
        low = high;
        high *= 1.5;
        if (high > 1e7) return high;
    }
    for (int i = 0; i < 60; ++i) {
        const double middle = 0.5 * (low + high);
        (fits(task, focal, middle) ? high : low) = middle;
    }
    return high;
}

/// Object distance u at which u + v reaches the lens's closest focus, counted from the image plane. A lens
/// that focuses nearer than a thin one can (four focal lengths) has its elements shift; it sets no limit
/// here.
double closestObject(double focal, double closest) {
    const double root = closest * closest - 4 * closest * focal;
    return root < 0 ? 2 * focal : 0.5 * (closest + std::sqrt(root));
}

/// Up to a number that can be set with a tape.
double settable(double standOff) {
    const double step = standOff < 1000 ? 10 : standOff < 3000 ? 50 : 100;
    return step * std::ceil(standOff / step - 1e-9);
}

double blurAt(const Task& task, const Setup& s, double N, double distance) {
    const double c = blurCircle(s.focal_mm, N, s.focus_mm, s.focus_mm - distance);
    return blurSigma(c, effectiveFNumber(N, s.magnification), task.sensor.pitch_mm()) /
           task.sensor.pitch_mm();
}

/// Nearest and furthest place of the part in each of the views.
std::vector<std::pair<std::string, DepthOfField>> depths(const Task& task, const Setup& setup,
                                                         const std::vector<std::string>& views) {
    std::vector<std::pair<std::string, DepthOfField>> out;
    for (const PlannedView& v : plannedViews()) {
        if (std::find(views.begin(), views.end(), v.name) == views.end()) continue;
        const camera::Pose pose = poseOfView(task, setup, v);
        DepthOfField range{1e300, 0.0};
        for (const Vec3& x : cornersOf(partBox(task))) {
            const double z = (pose.R * x + pose.t).z();
            range.near_mm = std::min(range.near_mm, z);
            range.far_mm = std::max(range.far_mm, z);
        }
        out.emplace_back(v.name, range);
    }
    return out;
}

}  // namespace

double heightShift(double standOff, double radius, double height) {
    return radius * std::abs(height) / (standOff - height);
}

double blurFactor(double blur_px) { return std::max(1.0, blur_px / kSharp_px); }

LensUse refocused(const Task& task, const Lens& lens, LensUse use, const std::vector<std::string>& views) {
    Setup& s = use.setup;
    const auto ranges = depths(task, s, views);
    use.nearest_mm = 1e300;
    use.furthest_mm = 0.0;
    for (const auto& [name, range] : ranges) {
        use.nearest_mm = std::min(use.nearest_mm, range.near_mm);
        use.furthest_mm = std::max(use.furthest_mm, range.far_mm);
    }
    s.focus_mm = focusBetween(use.nearest_mm, use.furthest_mm);
    double least = 1e300;
    for (const double N : stopsWithin(lens.widest, lens.narrowest)) {
        std::map<std::string, double> blurs;
        double sum = 0.0, worst = 0.0;
        for (const auto& [name, range] : ranges) {
            const double blur = std::max(blurAt(task, s, N, range.near_mm), blurAt(task, s, N, range.far_mm));
            blurs[name] = blur;
            worst = std::max(worst, blur);
            // Where nothing is worse for it, the sharper one: a share of the blur itself decides.
            sum += std::pow(blurFactor(blur), 2) + 1e-3 * blur * blur;
        }
        if (sum >= least) continue;
        least = sum;
        s.fNumber = N;
        s.blur_px = worst;
        use.blur_px = blurs;
    }
    const double pitch = task.sensor.pitch_mm();
    use.sharp = depthOfField(s.focal_mm, s.fNumber, s.focus_mm, 2 * pitch);
    use.airy_px = airyDisc(effectiveFNumber(s.fNumber, s.magnification)) / pitch;
    return use;
}

namespace {

LensUse useAt(const Task& task, const Lens& lens, double focal, double standOff,
              const std::vector<std::string>& views) {
    LensUse use;
    use.setup = at(task, focal, standOff);
    const Setup& s = use.setup;
    use.pixel_mm = standOff / s.principal_px;
    const double w = task.sensor.width_px, h = task.sensor.height_px;
    use.fieldX_mm = (s.upright ? h : w) * use.pixel_mm;
    use.fieldY_mm = (s.upright ? w : h) * use.pixel_mm;
    const Box part = partBox(task);
    const Vec3 aim = aimOf(task);
    const double radius = std::max((part.low - aim).head<2>().norm(), (part.high - aim).head<2>().norm());
    use.uncorrected_mm =
        std::max(heightShift(standOff, radius, task.highest()), heightShift(standOff, radius, task.lowest()));
    return refocused(task, lens, use, views);
}

/// What a mark's σ comes to on the part, for the mean view, over the σ of the task.
double markOnPart(const LensUse& use) {
    double sum = 0.0;
    for (const auto& [name, blur] : use.blur_px) sum += std::pow(use.pixel_mm * blurFactor(blur), 2);
    return std::sqrt(sum / static_cast<double>(use.blur_px.size()));
}

}  // namespace

Result<LensUse> useLens(const Task& task, const Lens& lens, double focal,
                        const std::vector<std::string>& views) {
    const double room = task.room_mm - kBehind_mm;
    const double focusable = lens.closest_mm ? closestObject(focal, *lens.closest_mm) : 0.0;
    const double showing = shortestThatShows(task, focal);
    const auto refuse = [&](const std::string& what, const std::string& remedy) {
        return Error{ErrorCode::Refused, what, lens.title(), remedy};
    };
    if (settable(focusable) > room)
        return refuse(
            fmt::format("focuses no nearer than {:.2f} m from the part, and the room leaves {:.2f} m",
                        focusable / 1000, std::max(room, 0.0) / 1000),
            "use an extension ring, a shorter lens or a longer room");
    if (settable(showing) > room)
        return refuse(fmt::format("shows the part with its margin only from {:.2f} m, and the room leaves "
                                  "{:.2f} m",
                                  settable(showing) / 1000, std::max(room, 0.0) / 1000),
                      "use a shorter lens, a longer room, or photograph the part in pieces");
    const double shortest = std::max(focusable, showing);
    LensUse best = useAt(task, lens, focal, settable(shortest), views);
    for (double standOff = 1.06 * shortest; settable(standOff) <= room && standOff < 4 * shortest;
         standOff *= 1.06) {
        const LensUse other = useAt(task, lens, focal, settable(standOff), views);
        if (markOnPart(other) < 0.98 * markOnPart(best)) best = other;
    }
    return best;
}

}  // namespace trammel::plan
