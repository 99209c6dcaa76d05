// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/calibrate/CalibrationPage.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

namespace trammel::calibrate {
namespace {

constexpr sheet::Colour kOrange{0.84, 0.37, 0.0};  // told from black and blue by colour-blind eyes as well
constexpr sheet::Colour kBlue{0.0, 0.32, 0.6};
constexpr double kLeft = 15.0, kWide = 180.0;

/// Enlargement of the residuals: a typical one becomes about 3 mm, rounded to 1, 2, 5 times a power of ten.
double enlargement(double rms_px, double mmPerPx) {
    const double wanted = 3.0 / std::max(rms_px * mmPerPx, 1e-9);
    const double power = std::pow(10.0, std::floor(std::log10(wanted)));
    for (const double step : {5.0, 2.0})
        if (step * power <= wanted) return step * power;
    return power;
}

/// Cells of the frame tinted by the share that the cell with most corners has; those without stay white.
void drawCoverage(sheet::Sheet& page, const Coverage& c, const Vec2& corner, const Vec2& size) {
    const int most = c.counts.empty() ? 0 : *std::max_element(c.counts.begin(), c.counts.end());
    for (int y = 0; y < c.down; ++y)
        for (int x = 0; x < c.across; ++x) {
            const int n = c.counts[static_cast<std::size_t>(y * c.across + x)];
            if (n == 0) continue;
            const double depth = 0.06 + 0.16 * n / most;
            const Vec2 cell(size.x() / c.across, -size.y() / c.down);
            const Vec2 at = corner + Vec2(x, y).cwiseProduct(cell);
            page.add(sheet::Area{{at, at + Vec2(cell.x(), 0), at + cell, at + Vec2(0, cell.y())},
                                 {1.0 - depth, 1.0 - 0.5 * depth, 1.0}});
        }
}

void drawResiduals(sheet::Sheet& page, const LensCalibration& c, double top, double height) {
    const double scale = height / c.record.height;  // mm a px
    const double width = scale * c.record.width;
    const auto at = [&](const Vec2& px) {
        return Vec2(kLeft + (px.x() + 0.5) * scale, top - (px.y() + 0.5) * scale);
    };
    drawCoverage(page, c.calibration.coverage, {kLeft, top}, {width, height});
    page.add(sheet::Polyline{
        {{kLeft, top}, {kLeft + width, top}, {kLeft + width, top - height}, {kLeft, top - height}},
        true,
        {0.25}});
    const double times = enlargement(c.calibration.rms_px, scale);
    for (const PhotographResult& p : c.calibration.frames)
        for (const CornerResidual& r : p.corners) {
            const Vec2 foot = at(r.px);
            Vec2 v = times * scale * Vec2(r.v.x(), -r.v.y());
            if (v.norm() > 15.0) v *= 15.0 / v.norm();
            const sheet::Colour colour = r.dropped ? kOrange : kBlue;
            page.add(sheet::Polyline{{foot, foot + v}, false, {0.18, colour}});
            page.add(sheet::Arc{foot, 0.35, 0.0, 2.0 * M_PI, {0.13, colour}});
        }
    page.add(
        sheet::Text{{kLeft, top - height - 4.5},
                    fmt::format("Residuals {:g} times enlarged; orange: left out; tinted: where corners lie, "
                                "white: where none do",
                                times),
                    2.5});
}

/// Which lens, at which focal length and focus, photographed when; what the files did not tell is said so.
std::string titleOf(const LensRecord& r) {
    const auto orNot = [](const std::string& s, const char* what) {
        return s.empty() ? fmt::format("{} not told by the files", what) : s;
    };
    std::string out = orNot(r.body, "body") + ", " + orNot(r.lens, "lens");
    if (r.focal_mm > 0.0) out += fmt::format(", {:g} mm", r.focal_mm);
    if (r.focus_m > 0.0) out += fmt::format(", focused at {:g} m", r.focus_m);
    return out + ", " + (r.date.empty() ? "date not told" : "photographed " + r.date);
}

}  // namespace

sheet::Sheet calibrationPage(const LensCalibration& c) {
    sheet::Sheet page{sheet::kA4, {}};
    double y = page.paper.height_mm - 20.0;
    const auto line = [&](const std::string& words, double height = 2.5, bool bold = false) {
        for (const std::string& part : sheet::brokenToWidth(words, height, kWide)) {
            if (y < 12.0) return;
            page.add(sheet::Text{{kLeft, y}, part, height, sheet::Anchor::Left, 0.0, bold});
            y -= 1.7 * height;
        }
    };
    line("Calibration of a lens", 5.0, true);
    line(titleOf(c.record));
    y -= 1.0;
    const double height = std::min(110.0, kWide * c.record.height / c.record.width);
    drawResiduals(page, c, y, height);
    y -= height + 12.0;
    const camera::Constants& k = c.record.constants;
    const double values[8] = {k.c, k.pp.x(), k.pp.y(), k.k1, k.k2, k.k3, k.p1, k.p2};
    for (std::size_t n = 0; n < 8; ++n)
        line(c.calibration.open[n]
                 ? fmt::format("{}: {:.{}f} ± {:.{}f}{}", kConstantNames[n], values[n], n < 3 ? 3 : 6,
                               2.0 * c.record.sigma(static_cast<LensConstant>(n)), n < 3 ? 3 : 6,
                               n < 3 ? " px" : "")
                 : fmt::format("{}: held at zero", kConstantNames[n]));
    line(fmt::format("RMS of a corner {:.3f} px over {} corners of {} photographs; ± with k = 2",
                     c.calibration.rms_px, c.calibration.corners, c.calibration.photographs));
    y -= 2.0;
    std::string frames;
    for (const PhotographResult& p : c.calibration.frames)
        if (p.used)
            frames += fmt::format("{}{} {:.3f}", frames.empty() ? "RMS by photograph, px: " : ", ", p.name,
                                  p.rms_px);
    line(frames, 1.8);
    y -= 2.0;
    for (const std::string& s : c.calibration.remarks) line(s, 1.8);
    y -= 2.0;
    if (!c.calibration.advice.empty()) line(c.calibration.advice, 2.5, true);
    return page;
}

}  // namespace trammel::calibrate
