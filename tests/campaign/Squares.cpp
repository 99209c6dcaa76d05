// SPDX-License-Identifier: GPL-3.0-or-later
// Real photographs: a board of 30 mm squares with published intrinsics (BoofCV example data, CC BY 4.0), read
// from the folder that TRAMMEL_REFERENCE names. One long row is the only reference length.
#include <fmt/core.h>

#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <map>
#include <opencv2/calib3d.hpp>
#include <opencv2/imgproc.hpp>
#include <utility>
#include <vector>

#include "Campaign.h"
#include "core/adjust/Adjust.h"
#include "core/adjust/Report.h"
#include "core/photo/Decode.h"

namespace trammel::campaign {
namespace {

// 5 × 7 squares of 30 mm: 4 × 6 inner corners.
constexpr int kAcross = 4, kAlong = 6;
constexpr double kPitch = 30.0;
/// intrinsic.yaml of the data set.
constexpr double kFx = 701.0116882676376, kFy = 698.6537946928421, kCx = 308.4551818095542,
                 kCy = 246.84300560315452, kK1 = -0.25559248570886445, kK2 = 0.09997127476560613;

struct Frame {
    std::string name;
    std::vector<Vec2> corners;  // row by row
};

std::vector<Frame> findCorners(const std::filesystem::path& folder) {
    std::vector<Frame> frames;
    for (int i = 1; i <= 13; ++i) {
        const std::string name = fmt::format("frame{:02}.jpg", i);
        auto image = photo::decode(folder / name);
        if (!image) {
            fmt::print("{}\n", image.error().sentence());
            continue;
        }
        const cv::Mat pixels(image->height, image->width, image->channels == 3 ? CV_8UC3 : CV_8UC1,
                             image->data.data());
        cv::Mat grey = pixels;
        if (image->channels == 3) cv::cvtColor(pixels, grey, cv::COLOR_RGB2GRAY);
        std::vector<cv::Point2f> found;
        if (!cv::findChessboardCorners(grey, {kAcross, kAlong}, found)) continue;
        cv::cornerSubPix(grey, found, {5, 5}, {-1, -1},
                         {cv::TermCriteria::EPS | cv::TermCriteria::COUNT, 50, 1e-4});
        Frame frame{name, {}};
        // The published camera has pixels a third of a per cent out of square; our model has square ones.
        for (const auto& p : found) frame.corners.emplace_back(p.x, (p.y - kCy) * kFx / kFy + kCy);
        frames.push_back(frame);
    }
    return frames;
}

survey::Survey surveyOf(const std::vector<Frame>& frames) {
    survey::Survey s;
    s.title = "board of squares";
    survey::CameraGroup g;
    g.id = "G1";
    g.principalDistance = {kFx, 0.0, survey::ConstantMode::Fixed};
    g.principalX.value = kCx;
    g.principalY.value = kCy;
    g.k1.value = kK1;
    g.k2.value = kK2;
    s.groups = {g};
    s.levels = {{"L1", "board"}};
    for (int i = 0; i < kAcross * kAlong; ++i)
        s.features.push_back({fmt::format("F{}", i + 1), "", survey::FeatureKind::Corner, "L1"});
    int mark = 0;
    for (std::size_t f = 0; f < frames.size(); ++f) {
        survey::Station st;
        st.id = fmt::format("S{}", f + 1);
        st.name = frames[f].name;
        st.view = survey::View::Oblique;
        st.group = "G1";
        st.photo.width = 640;
        st.photo.height = 480;
        s.stations.push_back(st);
        for (std::size_t i = 0; i < frames[f].corners.size(); ++i) {
            survey::Mark m;
            m.id = fmt::format("M{}", ++mark);
            m.station = st.id;
            m.feature = s.features[i].id;
            m.points = {{frames[f].corners[i], 0.1}};
            s.marks.push_back(m);
        }
    }
    survey::Reading row;
    row.id = "R1";
    row.name = "first long row";
    row.objects = {"F1", fmt::format("F{}", 1 + kAcross * (kAlong - 1))};
    row.measured = {kPitch * (kAlong - 1), 0.05};
    row.reference = true;
    s.readings = {row};
    s.datum = {"L1", "F1", fmt::format("F{}", kAcross)};
    return s;
}

struct Errors {
    double sum = 0.0, worst = 0.0;
    int count = 0, covered = 0;
    void add(double error) {
        sum += error * error;
        worst = std::max(worst, std::abs(error));
        ++count;
    }
    double rms() const { return std::sqrt(sum / std::max(count, 1)); }
};

/// Visits each pair of neighbouring corners.
template <class Visit>
void neighbours(Visit visit) {
    for (int r = 0; r < kAlong; ++r)
        for (int c = 0; c < kAcross; ++c) {
            if (c + 1 < kAcross) visit(r * kAcross + c, r * kAcross + c + 1);
            if (r + 1 < kAlong) visit(r * kAcross + c, (r + 1) * kAcross + c);
        }
}

/// Each photograph by itself: px over the px of its long row.
Errors oneScale(const std::vector<Frame>& frames) {
    Errors e;
    for (const Frame& f : frames) {
        const double scale =
            (f.corners[kAcross * (kAlong - 1)] - f.corners[0]).norm() / (kPitch * (kAlong - 1));
        neighbours([&](int a, int b) {
            e.add((f.corners[static_cast<std::size_t>(a)] - f.corners[static_cast<std::size_t>(b)]).norm() /
                      scale -
                  kPitch);
        });
    }
    return e;
}

}  // namespace

int squares(const Settings&) {
    const char* reference = std::getenv("TRAMMEL_REFERENCE");
    const std::filesystem::path folder =
        reference ? std::filesystem::path(reference) / "calibration" / "boofcv-chess-30mm" : "";
    if (!reference || !std::filesystem::exists(folder)) {
        fmt::print("Skipped: real photographs need the folder that TRAMMEL_REFERENCE names.\n");
        return 77;  // ctest's mark of a skipped test
    }
    const std::vector<Frame> frames = findCorners(folder);
    fmt::print("Board of 30 mm squares: corners found in {} of 13 photographs\n", frames.size());
    const survey::Survey s = surveyOf(frames);
    const auto r = adjust::adjust(s);
    if (!r) {
        fmt::print("{}\n", r.error().sentence());
        return 1;
    }
    Errors ours;
    double plusMinus = 0.0;
    std::map<int, std::vector<std::pair<double, double>>> lines;  // spacings between the same two grid lines
    neighbours([&](int a, int b) {
        survey::Dimension d;
        d.objects = {s.features[static_cast<std::size_t>(a)].id, s.features[static_cast<std::size_t>(b)].id};
        const auto m = r->measure(d);
        if (!m) return;
        ours.add(m->value - kPitch);
        ours.covered += std::abs(m->value - kPitch) <= m->plusMinus;
        plusMinus += m->plusMinus;
        lines[b - a == 1 ? a % kAcross : kAcross + a / kAcross].emplace_back(m->value, m->plusMinus);
    });
    // A printed board is no gauge: all rows show the same uneven columns. What the ± promises is tested on
    // the spread of one pair of grid lines over the board, where the print's error is common.
    Errors repeat;
    for (const auto& [line, values] : lines) {
        double mean = 0.0;
        for (const auto& v : values) mean += v.first / static_cast<double>(values.size());
        for (const auto& v : values) {
            repeat.add(v.first - mean);
            repeat.covered += std::abs(v.first - mean) <= v.second;
        }
    }
    const Errors plain = oneScale(frames);
    fmt::print(
        "  adjusted               RMS {:.3f} mm, worst {:.3f} mm over {} spacings; ± {:.3f} mm covers {:.0f} "
        "%\n",
        ours.rms(), ours.worst, ours.count, plusMinus / std::max(ours.count, 1),
        100.0 * ours.covered / std::max(ours.count, 1));
    fmt::print(
        "  same, about the mean of each pair of grid lines: RMS {:.3f} mm, worst {:.3f} mm; ± covers {:.0f} "
        "%\n",
        repeat.rms(), repeat.worst, 100.0 * repeat.covered / std::max(repeat.count, 1));
    fmt::print("  one scale a photograph RMS {:.3f} mm, worst {:.3f} mm over {} spacings\n", plain.rms(),
               plain.worst, plain.count);
    fmt::print("  residuals {:.2f} px RMS, {} suspects of {} observations, condition number {:.1e}\n",
               0.1 * std::sqrt(r->global.varianceFactor), r->suspects.size(), r->observations.size(),
               r->conditionNumber);
    const bool covers = 100.0 * repeat.covered >= 93.0 * repeat.count;
    return ours.count > 0 && covers && ours.rms() < 0.1 * plain.rms() ? 0 : 1;
}

}  // namespace trammel::campaign
