// SPDX-License-Identifier: GPL-3.0-or-later
#include "RealBoards.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <opencv2/calib3d.hpp>
#include <opencv2/imgproc.hpp>

#include "core/fit/EdgeFit.h"
#include "core/photo/Decode.h"

namespace trammel::campaign {
namespace {

double median(std::vector<double> v) {
    if (v.empty()) return 0.0;
    std::nth_element(v.begin(), v.begin() + static_cast<std::ptrdiff_t>(v.size() / 2), v.end());
    return v[v.size() / 2];
}

double greyAt(const cv::Mat& grey, const Vec2& p) {
    cv::Mat patch;
    cv::getRectSubPix(grey, {1, 1}, {static_cast<float>(p.x()), static_cast<float>(p.y())}, patch, CV_32F);
    return patch.at<float>(0);
}

/// Overshoot on either side of the mean profile across the sides, over its step: sharpening shows as ringing.
double ringingOf(const cv::Mat& grey, const std::vector<SidePoint>& sides, double& light, double& dark) {
    const auto mean = [&](double d) {
        double sum = 0.0;
        for (const SidePoint& p : sides) sum += greyAt(grey, p.px + d * p.dark);
        return sum / static_cast<double>(std::max<std::size_t>(sides.size(), 1));
    };
    double lightest = 0.0, darkest = 255.0;
    light = dark = 0.0;
    for (double d = 6.0; d <= 8.0; d += 0.5) light += mean(-d) / 5.0, dark += mean(d) / 5.0;
    for (double d = 1.0; d <= 5.0; d += 0.5)
        lightest = std::max(lightest, mean(-d)), darkest = std::min(darkest, mean(d));
    return std::max({0.0, lightest - light, dark - darkest}) / std::max(light - dark, 1.0);
}

/// Each square's side by itself, between neighbouring corners a → b and clear of both.
void fitSide(Picture& out, const photo::LinearImage& light, const cv::Mat& grey, const Vec2& a, const Vec2& b,
             int line, std::vector<double>& blurs) {
    ++out.triedSides;
    const Vec2 clear = (b - a).normalized() * std::min(6.0, 0.25 * (b - a).norm());
    const auto fit = fit::fitEdge(light, a + clear, b - clear);
    if (!fit) return;
    ++out.fittedSides;
    blurs.push_back(fit->blur_px);
    Vec2 dark = Vec2(-(b - a).y(), (b - a).x()).normalized();
    const Vec2 middle = 0.5 * (a + b);
    if (greyAt(grey, middle + 4.0 * dark) > greyAt(grey, middle - 4.0 * dark)) dark = -dark;
    for (const fit::FitPoint& p : fit->points)
        out.sides.push_back({line, p.px, dark, p.sigma_px, (b - a).norm(),
                             std::hypot(fit->blur_px, std::sqrt(1.0 / 12.0)), p.growth_px});
}

/// Fits at one corner: the legs to the next corners along the row and the column (to the ones before where
/// the grid ends), and the mean with the opposite pair of legs where the grid has one.
void fitCornerAt(Picture& out, const photo::LinearImage& light, const Board& board,
                 const std::vector<cv::Point2f>& clicks, int r, int c) {
    const auto click = [&](int row, int column) {
        return vec(clicks[static_cast<std::size_t>(row * board.across + column)]);
    };
    const auto pair = [&](int dr, int dc) -> std::optional<fit::FitPoint> {
        if (r + dr < 0 || r + dr >= board.along || c + dc < 0 || c + dc >= board.across) return std::nullopt;
        const Vec2 at = click(r, c);
        const auto end = [&](const Vec2& next) {
            return Vec2(next - (next - at).normalized() * std::min(6.0, 0.25 * (next - at).norm()));
        };
        const auto fit = fit::fitCorner(light, at, end(click(r, c + dc)), end(click(r + dr, c)));
        if (!fit) return std::nullopt;
        return fit->points[0];
    };
    const int dr = r + 1 < board.along ? 1 : -1, dc = c + 1 < board.across ? 1 : -1;
    const auto one = pair(dr, dc), other = pair(-dr, -dc);
    out.ours.push_back(one ? std::optional<Vec2>(one->px) : std::nullopt);
    out.growth.push_back(one ? one->growth_px : Vec2(0.0, 0.0));
    out.opposite.push_back(one && other ? std::optional<Vec2>(0.5 * (one->px + other->px)) : std::nullopt);
}

/// Codes that were light all along, as IEC 61966-2-1 would have written them.
void encodeAsLight(photo::Image& image) {
    for (std::uint8_t& code : image.data) {
        const double light = code / 255.0;
        const double curve = light <= 0.0031308 ? 12.92 * light : 1.055 * std::pow(light, 1.0 / 2.4) - 0.055;
        code = static_cast<std::uint8_t>(std::lround(255.0 * curve));
    }
}

std::optional<Picture> measure(const Board& board, const std::filesystem::path& file) {
    auto image = photo::decode(file);
    if (!image) return std::nullopt;
    const cv::Mat pixels(image->height, image->width, image->channels == 3 ? CV_8UC3 : CV_8UC1,
                         image->data.data());
    cv::Mat grey = pixels.clone();
    if (image->channels == 3) cv::cvtColor(pixels, grey, cv::COLOR_RGB2GRAY);
    std::vector<cv::Point2f> clicks;
    if (!cv::findChessboardCorners(grey, {board.across, board.along}, clicks)) return std::nullopt;
    const Vec2 first = 0.5 * (vec(clicks[0]) + vec(clicks[static_cast<std::size_t>(board.across) + 1]));
    const Vec2 second = 0.5 * (vec(clicks[1]) + vec(clicks[static_cast<std::size_t>(board.across) + 2]));
    // The finder may begin at either end; where the colours tell the ends apart, begin at the same one.
    if (greyAt(grey, first) > greyAt(grey, second)) std::reverse(clicks.begin(), clicks.end());
    Picture out;
    out.name = file.filename().string();
    std::vector<cv::Point2f> refined = clicks;
    cv::cornerSubPix(grey, refined, {5, 5}, {-1, -1},
                     {cv::TermCriteria::EPS | cv::TermCriteria::COUNT, 50, 1e-4});
    out.theirs.assign(refined.begin(), refined.end());
    if (board.codesAreLight) encodeAsLight(*image);
    const photo::LinearImage light = photo::linearLuminance(std::move(*image));
    std::vector<double> blurs;
    for (int r = 0; r < board.along; ++r)
        for (int c = 0; c < board.across; ++c) {
            const auto at = static_cast<std::size_t>(r * board.across + c);
            if (c + 1 < board.across)
                fitSide(out, light, grey, vec(clicks[at]), vec(clicks[at + 1]), r, blurs);
            if (r + 1 < board.along)
                fitSide(out, light, grey, vec(clicks[at]),
                        vec(clicks[at + static_cast<std::size_t>(board.across)]), board.along + c, blurs);
            fitCornerAt(out, light, board, clicks, r, c);
        }
    out.blur = median(blurs);
    out.ringing = ringingOf(grey, out.sides, out.light, out.dark);
    std::vector<double> white;
    for (const SidePoint& p : out.sides) white.push_back(greyAt(grey, p.px - 7.0 * p.dark));
    cv::Scalar mean, sigma;
    cv::meanStdDev(white, mean, sigma);
    out.uneven = sigma[0];
    return out;
}

}  // namespace

Grid gridOf(const Board& board, const std::vector<Corners>& photographs) {
    std::vector<std::vector<cv::Point3f>> object;
    std::vector<std::vector<cv::Point2f>> image;
    for (const Corners& c : photographs) {
        object.emplace_back();
        image.push_back(c.px);
        for (const std::size_t n : c.number) {
            const int i = static_cast<int>(n);
            object.back().emplace_back(static_cast<float>(i % board.across),
                                       static_cast<float>(i / board.across), 0.0F);
        }
    }
    Grid out;
    std::vector<cv::Mat> turn, shift;
    if (board.camera) {
        out.camera = cv::Mat(*board.camera).clone();
        out.distortion = cv::Mat(board.distortion, true);
        for (std::size_t k = 0; k < object.size(); ++k) {
            turn.emplace_back(), shift.emplace_back();
            cv::solvePnP(object[k], image[k], out.camera, out.distortion, turn[k], shift[k]);
        }
    } else {
        cv::calibrateCamera(object, image, {640, 480}, out.camera, out.distortion, turn, shift);
    }
    std::vector<std::vector<Vec2>> places(board.size());
    double sum = 0.0, count = 0.0;
    for (std::size_t k = 0; k < object.size(); ++k) {
        std::vector<cv::Point2f> seen, rays;
        cv::projectPoints(object[k], turn[k], shift[k], out.camera, out.distortion, seen);
        double own = 0.0;
        for (std::size_t i = 0; i < seen.size(); ++i) own += (vec(seen[i]) - vec(image[k][i])).squaredNorm();
        sum += own, count += static_cast<double>(seen.size());
        out.rms.push_back(std::sqrt(own / static_cast<double>(std::max<std::size_t>(seen.size(), 1))));
        cv::undistortPoints(image[k], rays, out.camera, out.distortion);
        cv::Matx33d plane;
        cv::Rodrigues(turn[k], plane);
        for (int i = 0; i < 3; ++i) plane(i, 2) = shift[k].at<double>(i);
        plane = plane.inv();
        for (std::size_t i = 0; i < rays.size(); ++i) {
            const cv::Vec3d p = plane * cv::Vec3d(rays[i].x, rays[i].y, 1.0);
            places[photographs[k].number[i]].emplace_back(p[0] / p[2], p[1] / p[2]);
        }
    }
    out.all = std::sqrt(sum / std::max(count, 1.0));
    double scatter = 0.0, freedom = 0.0;
    for (const auto& of : places) {
        Vec2 mean = Vec2::Zero();
        for (const Vec2& p : of) mean += p / static_cast<double>(of.size());
        for (const Vec2& p : of) scatter += (p - mean).squaredNorm();
        if (!of.empty()) freedom += static_cast<double>(of.size()) - 1.0;
    }
    out.spread = std::sqrt(scatter / std::max(freedom, 1.0));
    return out;
}

std::vector<Picture> measureAll(const Board& board, int most) {
    std::vector<Picture> pictures;
    for (int i = 1; i <= board.numbers && static_cast<int>(pictures.size()) < most; ++i) {
        const auto file = board.folder / fmt::format(fmt::runtime(board.pattern), i);
        if (!std::filesystem::exists(file)) continue;
        if (auto p = measure(board, file))
            pictures.push_back(std::move(*p));
        else
            fmt::print("  {}: no board found\n", file.filename().string());
    }
    return pictures;
}

}  // namespace trammel::campaign
