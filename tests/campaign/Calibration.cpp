// SPDX-License-Identifier: GPL-3.0-or-later
// Lens constants from boards of squares against truth. Many draws of simulated corners: how often the ± (k =
// 2) covers each constant, and how far the calibrated model puts points of the frame from where the true one
// has them (root of the mean square over the frame, after the best turn and the best common scale: the pose
// of a photograph takes up the one, its stand-off and reference lengths the other). Then a set of rendered
// photographs from picture to constants.
#include <unistd.h>

#include <fmt/core.h>

#include <Eigen/Dense>
#include <array>
#include <cmath>
#include <filesystem>
#include <vector>

#include "Campaign.h"
#include "RenderedBoards.h"
#include "SimulatedBoards.h"
#include "core/calibrate/CalibratePhotographs.h"

namespace trammel::campaign {
namespace {

std::array<double, 8> valuesOf(const camera::Constants& k) {
    return {k.c, k.pp.x(), k.pp.y(), k.k1, k.k2, k.k3, k.p1, k.p2};
}

/// RMS over the frame of the distance between both models' images of the same direction, px; a small turn of
/// the camera about three axes and a common scale are taken out.
double displacement(const camera::Constants& found, const tests::Lens& lens) {
    std::vector<Vec2> differences;
    std::vector<Eigen::Matrix<double, 2, 4>> rows;
    for (int a = 0; a <= 14; ++a)
        for (int b = 0; b <= 10; ++b) {
            const Vec2 px(a / 14.0 * (lens.width - 1), b / 10.0 * (lens.height - 1));
            const auto xy = camera::undistort(lens.truth, px);
            if (!xy) continue;
            differences.push_back(found.c * camera::distort(found, *xy) + found.pp - px);
            const double x = xy->x(), y = xy->y();
            Eigen::Matrix<double, 2, 4> row;
            row << x * y, -(1 + x * x), y, x, 1 + y * y, -x * y, -x, y;
            rows.push_back(lens.truth.c * row);
        }
    Eigen::Matrix4d n = Eigen::Matrix4d::Zero();
    Eigen::Vector4d g = Eigen::Vector4d::Zero();
    for (std::size_t k = 0; k < rows.size(); ++k) {
        n += rows[k].transpose() * rows[k];
        g += rows[k].transpose() * differences[k];
    }
    const Eigen::Vector4d t = n.ldlt().solve(g);
    double sum = 0.0;
    for (std::size_t k = 0; k < rows.size(); ++k) sum += (differences[k] - rows[k] * t).squaredNorm();
    return std::sqrt(sum / static_cast<double>(rows.size()));
}

struct Kind {
    const char* name;
    tests::Lens lens;
    calibrate::Board board;
    int photographs;
    double sigma_px;
};

std::vector<Kind> kinds() {
    return {{"wide, 10 photographs",
             {{2800.0, Vec2(1510.0, 985.0), -0.12, 0.1, 0.0, 3e-4, -2e-4}, 3000, 2000},
             {12, 9, 20.0, 20.0},
             10,
             0.05},
            {"long lens, 12 photographs",
             {{33000.0, Vec2(3020.0, 1980.0), 0.3, 0.0, 0.0, 0.0, 0.0}, 6000, 4000},
             {14, 10, 15.0, 15.0},
             12,
             0.05},
            {"few and rough",
             {{4000.0, Vec2(1990.0, 1490.0), -0.06, 0.02, 0.0, 0.0, 0.0}, 4000, 3000},
             {9, 7, 25.0, 25.0},
             6,
             0.15}};
}

bool simulated(const Kind& kind, int draws) {
    std::array<int, 8> covered{}, told{};
    double squared = 0.0, worst = 0.0, factor = 0.0;
    int done = 0;
    std::string refused;
    for (int d = 0; d < draws; ++d) {
        render::Random random(1000 + static_cast<std::uint64_t>(d));
        const auto poses = tests::goodPoses(kind.board, kind.lens, kind.photographs, random);
        const auto frames = tests::simulate(kind.board, kind.lens, poses, kind.sigma_px, random);
        calibrate::CalibrateOptions options;
        options.width = kind.lens.width;
        options.height = kind.lens.height;
        const auto c = calibrate::calibrate(kind.board, frames, options);
        if (!c) {
            refused = c.error().sentence();
            continue;
        }
        ++done;
        const auto truth = valuesOf(kind.lens.truth), found = valuesOf(c->constants);
        for (std::size_t n = 0; n < 8; ++n) {
            if (!c->open[n]) continue;
            ++told[n];
            covered[n] +=
                std::abs(found[n] - truth[n]) <= 2.0 * c->sigma(static_cast<calibrate::LensConstant>(n));
        }
        const double off = displacement(c->constants, kind.lens);
        squared += off * off;
        worst = std::max(worst, off);
        factor += c->factor;
    }
    fmt::print("{:<26} {:4} of {:4} draws, factor {:.3f}, frame RMS {:.4f} px, worst {:.4f}; ± covers",
               kind.name, done, draws, factor / std::max(done, 1), std::sqrt(squared / std::max(done, 1)),
               worst);
    int all = 0, of = 0;
    for (std::size_t n = 0; n < 8; ++n) {
        if (told[n] > 0)
            fmt::print(" {:.1f}", 100.0 * covered[n] / told[n]);
        else
            fmt::print(" -");
        all += covered[n];
        of += told[n];
    }
    const double share = 100.0 * all / std::max(of, 1);
    // Constants of one draw are correlated: as if half of them were independent.
    const double room = 3.0 * 100.0 * std::sqrt(0.95 * 0.05 / std::max(1.0, 0.5 * of));
    const bool good =
        done == draws && share >= 95.0 - std::max(2.0, room) && share <= 95.0 + std::max(2.0, room);
    fmt::print("; all {:.1f} %  {}\n", share, good ? "met" : "MISSED");
    if (!refused.empty()) fmt::print("  {}\n", refused);
    return good;
}

/// Pictures of a coded board, larger than the frame on some, to constants.
bool rendered() {
    const auto folder = std::filesystem::temp_directory_path() /
                        ("trammel-campaign-calibration-" + std::to_string(::getpid()));
    const tests::Lens lens{{1500.0, Vec2(602.0, 396.0), -0.15, 0.12, 0.0, 0.0, 0.0}, 1200, 800};
    calibrate::Board board{14, 10, 10.0, 10.0};
    board.code = calibrate::BoardCode::Dots;
    const auto files = tests::renderBoard(board, lens, 10, folder);
    if (!files) {
        fmt::print("{}\n", files.error().sentence());
        return false;
    }
    const auto c = calibrate::calibratePhotographs(*files, board);
    std::filesystem::remove_all(folder);
    if (!c) {
        fmt::print("rendered: {}\n", c.error().sentence());
        return false;
    }
    const auto truth = valuesOf(lens.truth), found = valuesOf(c->record.constants);
    int covered = 0, told = 0;
    for (std::size_t n = 0; n < 8; ++n) {
        if (!c->calibration.open[n]) continue;
        ++told;
        const double sigma = c->record.sigma(static_cast<calibrate::LensConstant>(n));
        covered += std::abs(found[n] - truth[n]) <= 2.0 * sigma;
        fmt::print("  {:<20} {:12.5f} truth {:12.5f} ± {:.5f}\n", calibrate::kConstantNames[n], found[n],
                   truth[n], 2.0 * sigma);
    }
    const double off = displacement(c->record.constants, lens);
    const bool good = off <= 0.03 && covered + 1 >= told;
    fmt::print(
        "rendered coded board, {} photographs, {} corners: RMS {:.4f} px, frame RMS {:.4f} px, ± covers {} "
        "of {}  {}\n",
        c->calibration.photographs, c->calibration.corners, c->calibration.rms_px, off, covered, told,
        good ? "met" : "MISSED");
    for (const std::string& s : c->calibration.remarks) fmt::print("  {}\n", s);
    return good;
}

}  // namespace

int calibration(const Settings& settings) {
    bool good = true;
    for (const Kind& kind : kinds()) good = simulated(kind, settings.draws) && good;
    good = rendered() && good;
    return good ? 0 : 1;
}

}  // namespace trammel::campaign
