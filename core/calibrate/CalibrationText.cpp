// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/calibrate/CalibrationText.h"

#include <fmt/core.h>

namespace trammel::calibrate {
namespace {

std::string table(const LensCalibration& c) {
    const camera::Constants& k = c.record.constants;
    const double values[8] = {k.c, k.pp.x(), k.pp.y(), k.k1, k.k2, k.k3, k.p1, k.p2};
    std::string out;
    for (std::size_t n = 0; n < 8; ++n) {
        const bool px = n < 3;
        if (!c.calibration.open[n])
            out += fmt::format("{:<20} held at zero\n", kConstantNames[n]);
        else if (px)
            out += fmt::format("{:<20} {:12.3f} ± {:.3f} px\n", kConstantNames[n], values[n],
                               2.0 * c.record.sigma(static_cast<LensConstant>(n)));
        else
            out += fmt::format("{:<20} {:12.6f} ± {:.6f}\n", kConstantNames[n], values[n],
                               2.0 * c.record.sigma(static_cast<LensConstant>(n)));
    }
    if (c.record.growth.sigma > 0.0)
        out += fmt::format(
            "{:<20} {:12.3f} ± {:.3f} px for each px of blur: so far edges "
            "lie towards their light side,\n{:<20} for the camera's tone curve is not the "
            "standard one (sRGB)\n",
            "edges to the light", c.record.growth.value, 2.0 * c.record.growth.sigma, "");
    return out;
}

/// The frame as cells: how many corners lie in each, a dot for none.
std::string coveragePicture(const Coverage& c) {
    std::string out;
    for (int y = 0; y < c.down; ++y) {
        out += "  ";
        for (int x = 0; x < c.across; ++x) {
            const int n = c.counts[static_cast<std::size_t>(y * c.across + x)];
            out += n == 0 ? "   ." : fmt::format("{:4}", n);
        }
        out += "\n";
    }
    return out;
}

}  // namespace

std::string calibrationText(const LensCalibration& c) {
    const Calibration& k = c.calibration;
    std::string out = fmt::format("Constants of the lens, ± with k = 2, frame of {} × {} px\n",
                                  c.record.width, c.record.height);
    out += table(c);
    out += fmt::format("\nRMS of a corner {:.3f} px over {} corners of {} photographs\n", k.rms_px, k.corners,
                       k.photographs);
    for (const PhotographResult& p : k.frames)
        if (p.used)
            out += fmt::format("  {:<24} {:.3f} px, {} of {} corners\n", p.name, p.rms_px,
                               p.corners.size() - static_cast<std::size_t>(p.dropped), p.corners.size());
        else
            out += fmt::format("  {:<24} not used\n", p.name);
    out += "\nCorners in each part of the frame\n" + coveragePicture(k.coverage);
    if (!k.remarks.empty()) out += "\n";
    for (const std::string& s : k.remarks) out += s + "\n";
    if (!k.advice.empty()) out += "\n" + k.advice + "\n";
    return out;
}

std::string verdict(const LensCalibration& c) {
    const Calibration& k = c.calibration;
    std::string out =
        fmt::format("Principal distance {:.1f} ± {:.1f} px; a corner scatters by {:.3f} px (RMS) ",
                    k.constants.c, 2.0 * k.sigma(kDistance), k.rms_px);
    out += k.photographs == static_cast<int>(k.frames.size())
               ? fmt::format("in {} photographs.", k.photographs)
               : fmt::format("in {} of {} photographs.", k.photographs, k.frames.size());
    if (!k.remarks.empty())
        out += fmt::format(" {} remark{} on the page.", k.remarks.size(), k.remarks.size() == 1 ? "" : "s");
    return out;
}

std::string recordText(const LensRecord& r) {
    const auto told = [](const std::string& s, const char* otherwise) { return s.empty() ? otherwise : s; };
    std::string s = fmt::format("{}, {}", told(r.body, "unknown body"), told(r.lens, "unknown lens"));
    if (r.focal_mm > 0.0) s += fmt::format(", {:.4g} mm", r.focal_mm);
    if (r.focus_m > 0.0) s += fmt::format(", focused at {:.3g} m", r.focus_m);
    s += fmt::format(", {} × {} px", r.width, r.height);
    if (!r.date.empty()) s += ", " + r.date;
    return s +
           fmt::format(
               "\n    principal distance {:.1f} ± {:.1f} px, k1 {:+.5g} ± {:.2g} (k = 2), {} photographs, "
               "RMS {:.3f} px\n",
               r.constants.c, 2 * r.sigma(kDistance), r.constants.k1, 2 * r.sigma(kK1), r.photographs,
               r.rms_px);
}

}  // namespace trammel::calibrate
