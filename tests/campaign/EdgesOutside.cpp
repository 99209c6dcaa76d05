// SPDX-License-Identifier: GPL-3.0-or-later
// The same pictures measured by OpenCV's corner refinement, ellipse fit and line segment detector, and their
// blur by the slanted-edge method of ISO 12233.
#include <SlantedEdge.h>
#include <TemporaryFolder.h>
#include <fmt/core.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <numbers>
#include <opencv2/imgproc.hpp>
#include <optional>

#include "Campaign.h"
#include "EdgesDraw.h"

namespace trammel::campaign {
namespace {

using namespace edges;

cv::Mat greyOf(const photo::Image& image) {
    const cv::Mat pixels(image.height, image.width, CV_8UC3, const_cast<std::uint8_t*>(image.data.data()));
    cv::Mat grey;
    cv::cvtColor(pixels, grey, cv::COLOR_RGB2GRAY);
    return grey;
}

/// Corner, as many would do it: a window of 17 × 17 about the click.
std::optional<VecX> cornerSubPix(const Draw& d, const cv::Mat& grey) {
    std::vector<cv::Point2f> c = {{static_cast<float>(d.clicks[0].x()), static_cast<float>(d.clicks[0].y())}};
    cv::cornerSubPix(grey, c, {8, 8}, {-1, -1}, {cv::TermCriteria::EPS + cv::TermCriteria::COUNT, 100, 1e-4});
    return VecX(Vec2(c[0].x, c[0].y) - d.shape.at);
}

/// Canny's pixels near the clicked rim, each moved along its gradient to the steepest place (parabola through
/// three), and an ellipse through them.
std::optional<VecX> ellipseFit(const Draw& d, const cv::Mat& grey) {
    cv::Mat smooth, gx, gy, edges;
    cv::GaussianBlur(grey, smooth, {0, 0}, 1.0);
    cv::Sobel(smooth, gx, CV_32F, 1, 0);
    cv::Sobel(smooth, gy, CV_32F, 0, 1);
    cv::Mat size;
    cv::magnitude(gx, gy, size);
    double most = 0.0;
    cv::minMaxLoc(size, nullptr, &most);
    cv::Canny(smooth, edges, 0.25 * most, 0.5 * most, 3, true);
    std::vector<cv::Point2f> clicks, points;
    for (const Vec2& p : d.clicks) clicks.emplace_back(static_cast<float>(p.x()), static_cast<float>(p.y()));
    cv::Point2f middle;
    float radius = 0.0F;
    for (const auto& p : clicks) middle += p * (1.0F / static_cast<float>(clicks.size()));
    for (const auto& p : clicks)
        radius += static_cast<float>(cv::norm(p - middle)) / static_cast<float>(clicks.size());
    const auto at = [&](float x, float y) {
        cv::Mat patch;
        cv::getRectSubPix(size, {1, 1}, {x, y}, patch);
        return patch.at<float>(0);
    };
    for (int y = 2; y < grey.rows - 2; ++y)
        for (int x = 2; x < grey.cols - 2; ++x) {
            if (!edges.at<std::uint8_t>(y, x)) continue;
            const cv::Point2f p(static_cast<float>(x), static_cast<float>(y));
            if (std::abs(cv::norm(p - middle) - radius) > 5.0) continue;
            const cv::Point2f g(gx.at<float>(y, x), gy.at<float>(y, x)),
                n = g * (1.0F / static_cast<float>(cv::norm(g)));
            const float a = at(p.x - n.x, p.y - n.y), b = at(p.x, p.y), c = at(p.x + n.x, p.y + n.y);
            const float bend = a - 2 * b + c;
            if (bend >= 0) continue;
            points.push_back(p + n * std::clamp(0.5F * (a - c) / bend, -1.0F, 1.0F));
        }
    if (points.size() < 12) return std::nullopt;
    const cv::RotatedRect e = cv::fitEllipse(points);
    return VecX(Vec3(e.center.x - d.shape.at.x(), e.center.y - d.shape.at.y(),
                     0.5 * (e.size.width + e.size.height) - 2.0 * d.shape.radius));
}

/// The longest segment along the stroke, its distance from the edge's middle.
std::optional<VecX> segment(const Draw& d, const cv::Mat& grey) {
    const auto detector = cv::createLineSegmentDetector(cv::LSD_REFINE_ADV);
    std::vector<cv::Vec4f> lines;
    detector->detect(grey, lines);
    const Vec2 n = d.shape.normal(), light = d.darkInside ? Vec2(-n) : n;
    const Vec2 stroke = (d.clicks[1] - d.clicks[0]).normalized(), middle = 0.5 * (d.clicks[0] + d.clicks[1]);
    double longest = 20.0;
    std::optional<VecX> out;
    for (const cv::Vec4f& l : lines) {
        const Vec2 a(l[0], l[1]), b(l[2], l[3]), along = (b - a).normalized();
        const double length = (b - a).norm(), cross = stroke.x() * along.y() - stroke.y() * along.x();
        const Vec2 across(-along.y(), along.x());
        if (length < longest || std::abs(cross) > 0.1 || std::abs(across.dot(middle - a)) > 6.0) continue;
        longest = length;
        const double miss = across.dot(a - d.shape.at);
        out = VecX::Constant(1, miss * (across.dot(light) < 0 ? -1.0 : 1.0));
    }
    return out;
}

struct Method {
    std::string name;
    std::vector<double> errors{};  ///< all coordinates
    double bias = 0.0, time = 0.0;
    int tried = 0, none = 0;
    void add(const std::optional<VecX>& e, Eigen::Index from, Eigen::Index n) {
        ++tried;
        if (!e) {
            ++none;
            return;
        }
        for (Eigen::Index k = from; k < from + n; ++k) errors.push_back((*e)(k));
    }
    double rms() const {
        double sum = 0.0;
        for (const double e : errors) sum += e * e;
        return std::sqrt(sum / std::max<std::size_t>(errors.size(), 1));
    }
    double mean() const {
        double sum = 0.0;
        for (const double e : errors) sum += e;
        return sum / static_cast<double>(std::max<std::size_t>(errors.size(), 1));
    }
    double median() const {
        std::vector<double> v;
        for (const double e : errors) v.push_back(std::abs(e));
        if (v.empty()) return 0.0;
        std::nth_element(v.begin(), v.begin() + static_cast<std::ptrdiff_t>(v.size() / 2), v.end());
        return v[v.size() / 2];
    }
    void print() const {
        fmt::print("  {:<34} {:8.4f} {:8.4f} {:8.4f} {:5} of {:<5} {:8.2f} ms\n", name, mean(), rms(),
                   median(), tried - none, tried, 1e3 * time / std::max(tried, 1));
    }
};

using Theirs = std::optional<VecX> (*)(const Draw&, const cv::Mat&);

/// Both on the same pictures, errors of those where both found something; ours no worse in RMS and median.
bool beside(const char* what, Kind kind, Theirs theirs, const char* name, int draws, unsigned seed) {
    const test::TemporaryFolder scratch;
    std::mt19937 random(seed);
    DrawOptions o;
    o.kind = kind;
    o.withBound = false;
    const bool hole = kind == Kind::Hole;
    std::vector<Method> ours = {{fmt::format("ours{}", hole ? ", centre" : "")}},
                        other = {{fmt::format("{}{}", name, hole ? ", centre" : "")}};
    if (hole) ours.push_back({"ours, diameter"}), other.push_back({fmt::format("{}, diameter", name)});
    for (int k = 0; k < draws; ++k) {
        const Draw d = draw(random, o, scratch.path());
        const auto t0 = std::chrono::steady_clock::now();
        const auto a = fitted(d);
        const auto t1 = std::chrono::steady_clock::now();
        const std::optional<VecX> b = theirs(d, greyOf(d.picture));
        const auto t2 = std::chrono::steady_clock::now();
        const bool both = a && b;
        for (std::size_t q = 0; q < ours.size(); ++q) {
            const Eigen::Index from = q == 0 ? 0 : 2, n = kind == Kind::Edge || q == 1 ? 1 : 2;
            ours[q].add(both ? std::optional<VecX>(a->error) : std::nullopt, from, n);
            other[q].add(both ? b : std::nullopt, from, n);
            ours[q].time += std::chrono::duration<double>(t1 - t0).count();
            other[q].time += std::chrono::duration<double>(t2 - t1).count();
        }
    }
    fmt::print("{}\n  {:<34} {:>8} {:>8} {:>8} {:>11} {:>11}\n", what, "", "bias", "RMS", "median", "by both",
               "time");
    bool good = true;
    for (std::size_t q = 0; q < ours.size(); ++q) {
        ours[q].print();
        other[q].print();
        const bool better = ours[q].rms() <= other[q].rms() && ours[q].median() <= other[q].median();
        if (!better) fmt::print("  FAILED: worse than {}\n", name);
        good = good && better;
    }
    return good;
}

/// Blur of nearly upright grey edges: ours, ISO 12233's, the truth.
bool blurs(int draws) {
    const test::TemporaryFolder scratch;
    std::mt19937 random(9);
    std::uniform_real_distribution<double> uniform(0.0, 1.0);
    double ours = 0, iso = 0, apart = 0, oursSquare = 0, isoSquare = 0;
    int n = 0, covered = 0;
    for (int k = 0; k < draws; ++k) {
        Draw d;
        d.shape.blur = 0.5 + 2.0 * uniform(random);
        d.shape.angle = (3.0 + 6.0 * uniform(random)) * std::numbers::pi / 180.0;
        d.shape.at = Vec2(64.0 + uniform(random), 100.0);
        d.surfaces = drawSurfaces(random, 0.4, 0.0);
        d.darkInside = luminance(d.surfaces.second) < luminance(d.surfaces.first);
        d.camera = {0.004, 0, false, static_cast<unsigned>(random())};
        d.picture = take(shareOf(d.shape, 128, 200), d.surfaces, d.camera, scratch.path());
        const Vec2 along(-d.shape.normal().y(), d.shape.normal().x());
        d.clicks = {d.shape.at - 80 * along, d.shape.at + 80 * along};
        const auto a = fitted(d);
        const auto b = test::slantedEdge(photo::linearLuminance(d.picture), 10, 118, 20, 180);
        if (!a || !b) continue;
        ++n;
        const double ea = a->blur - d.shape.blur, eb = b->blur_px - d.shape.blur;
        ours += ea;
        iso += eb;
        oursSquare += ea * ea;
        isoSquare += eb * eb;
        apart = std::max(apart, std::abs(ea - eb));
        covered += std::abs(ea) <= 2.0 * a->blurSigma;
    }
    fmt::print(
        "blur of {} of {} slanted edges, error against truth (px)\n  ours      bias {:7.4f} RMS {:.4f}, ± "
        "covers "
        "{:.0f} %\n  ISO 12233 bias {:7.4f} RMS {:.4f}\n  farthest apart {:.4f}\n",
        n, draws, ours / n, std::sqrt(oursSquare / n), 100.0 * covered / n, iso / n, std::sqrt(isoSquare / n),
        apart);
    return n > 0.95 * draws && std::abs(ours - iso) / n < 0.03 && oursSquare <= isoSquare;
}

}  // namespace

int edgesOutside(const Settings& settings) {
    bool good =
        beside("edges of 200 px (px)", Kind::Edge, segment, "line segment detector", settings.draws, 11);
    good =
        beside("holes of 20 px (px)", Kind::Hole, ellipseFit, "ellipse through Canny", settings.draws, 12) &&
        good;
    good = beside("corners (px)", Kind::Corner, cornerSubPix, "cornerSubPix", settings.draws, 13) && good;
    return blurs(settings.draws) && good ? 0 : 1;
}

}  // namespace trammel::campaign
