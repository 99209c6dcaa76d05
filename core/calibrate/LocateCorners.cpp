// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/calibrate/LocateCorners.h"

#include <Eigen/Cholesky>
#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <map>
#include <opencv2/imgproc.hpp>
#include <tuple>
#include <utility>

#include "core/fit/CurveFit.h"
#include "core/fit/Light.h"
#include "core/fit/Scatter.h"

namespace trammel::calibrate {
namespace {

using Key = std::pair<int, int>;
using Places = std::map<Key, Vec2>;

constexpr double kShortest = 8.0;  // px, of a side clear of its corners
constexpr double kFloor = 0.004;   // px: no side is straighter, no print sharper

/// Sub-pixel places by the gradient's orthogonality (Förstner; cv::cornerSubPix) in the full picture.
std::vector<SeenCorner> refined(const photo::LinearImage& image, std::vector<SeenCorner> corners) {
    if (image.codes.empty() || corners.empty()) return corners;
    const photo::Image& codes = image.codes;
    const cv::Mat pixels(codes.height, codes.width, codes.channels == 3 ? CV_8UC3 : CV_8UC1,
                         const_cast<std::uint8_t*>(codes.data.data()));
    cv::Mat grey;
    if (codes.channels == 3)
        cv::cvtColor(pixels, grey, cv::COLOR_RGB2GRAY);
    else
        grey = pixels;
    double side = 1e9;
    for (std::size_t k = 1; k < corners.size(); ++k)
        side = std::min(side, (corners[k].px - corners[k - 1].px).norm());
    const int half = std::clamp(static_cast<int>(side / 4.0), 2, 11);
    std::vector<cv::Point2f> px;
    for (const SeenCorner& c : corners)
        px.emplace_back(static_cast<float>(c.px.x()), static_cast<float>(c.px.y()));
    cv::cornerSubPix(grey, px, {half, half}, {-1, -1},
                     {cv::TermCriteria::EPS | cv::TermCriteria::COUNT, 50, 1e-3});
    for (std::size_t k = 0; k < corners.size(); ++k) {
        const Vec2 now(px[k].x, px[k].y);
        if ((now - corners[k].px).norm() < half) corners[k].px = now;
    }
    return corners;
}

/// The guide moved onto the fitted stretches: both ends by a line through them.
fit::LineGuide centred(const fit::LineGuide& guide, const fit::CurveFit& curve) {
    const double length = guide.length();
    Mat2 n = Mat2::Identity() * 1e-9;
    Vec2 g = Vec2::Zero();
    for (const fit::Stretch& s : curve.stretches)
        for (const double part : {-0.4, 0.4}) {
            const double t = (s.middle() + part * s.length()) / length;
            const Vec2 row(1 - t, t);
            n += row * row.transpose();
            g += (s.fit.offset + s.fit.slope * part * s.length()) * row;
        }
    const Vec2 x = n.ldlt().solve(g);
    return {guide.point(0.0, x(0)), guide.point(length, x(1))};
}

std::optional<Side> fitSide(const photo::LinearImage& image, const Vec2& a, const Vec2& b) {
    const double whole = (b - a).norm();
    const Vec2 along = (b - a) / whole;
    const double clear = std::min(6.0, 0.25 * whole);
    const Vec2 from = a + clear * along, to = b - clear * along;
    if ((to - from).norm() < kShortest) return std::nullopt;
    for (const Vec2& end : {from, to})
        if (end.x() < 4 || end.y() < 4 || end.x() > image.width - 5 || end.y() > image.height - 5)
            return std::nullopt;
    const Vec2 right(-along.y(), along.x());
    const double off = std::min(0.25 * whole, 12.0);
    double step = 0.0;
    for (const double t : {0.3, 0.5, 0.7}) {
        const Vec2 p = a + t * (b - a);
        step += fit::lightAt(image, p + off * right) - fit::lightAt(image, p - off * right);
    }
    fit::CurveOptions options;
    options.sign = step > 0 ? 1.0 : -1.0;
    fit::LineGuide guide(from, to);
    options.stretches = std::clamp(static_cast<int>(guide.length() / 6.0), 2, 5);
    options.binLength = std::clamp(guide.length() / 24.0, 2.0, 8.0);
    fit::CurveFit curve;
    for (int pass = 0; pass < 2; ++pass) {
        curve = fit::fitAlong(image, guide, options);
        fit::dropStrays(curve);
        if (fit::refusal(curve, 2)) return std::nullopt;
        double most = 0.0;
        for (const fit::Stretch& s : curve.stretches) most = std::max(most, std::abs(s.fit.offset));
        if (most > 2.5) return std::nullopt;  // another edge
        if (most < 0.4) break;
        guide = centred(guide, curve);
        options.blurStart = curve.blur;
    }
    const double length = guide.length();
    const fit::Scatter scatter = fit::scatterOf(
        curve.bins, {[](double) { return 1.0; }, [length](double s) { return s / length - 0.5; }});
    const fit::Fit fit = fit::fitOf(curve, guide, scatter, options.binLength);
    Side out;
    for (const fit::FitPoint& p : fit.points) {
        if (p.sigma_px > 0.7) return std::nullopt;
        out.points.push_back({p.px, std::max(p.sigma_px, kFloor)});
    }
    out.toLight = options.sign * right;
    out.blur_px = std::hypot(fit.blur_px, std::sqrt(1.0 / 12.0));
    return out;
}

/// Straightens px of the picture: as a camera without distortion would have them.
struct Straight {
    std::optional<camera::Constants> lens;
    Vec2 ideal(const Vec2& px) const {
        if (!lens) return px;
        const auto xy = camera::undistort(*lens, px);
        return xy ? Vec2(lens->c * *xy + lens->pp) : px;
    }
    Vec2 picture(const Vec2& ideal) const {
        return lens ? Vec2(lens->c * camera::distort(*lens, (ideal - lens->pp) / lens->c) + lens->pp) : ideal;
    }
    /// d picture / d ideal.
    Mat2 slope(const Vec2& ideal) const {
        Mat2 j = Mat2::Identity();
        if (lens) camera::distort(*lens, (ideal - lens->pp) / lens->c, &j);
        return j;
    }
};

struct CommonLine {
    Vec2 across;
    double offset, slope, variance;  ///< at the place it was asked for: d = offset + slope · s
};

/// The line that two opposite sides share near a corner at p0 (straightened), along `e`. What moves them
/// apart is an unknown.
std::optional<CommonLine> lineOf(const Side& before, const Side& after, const Straight& straight,
                                 const Vec2& p0, const Vec2& e) {
    const Vec2 across(-e.y(), e.x());
    Mat3 n = Mat3::Zero();
    Vec3 g = Vec3::Zero();
    std::vector<std::tuple<Vec3, double, double>> all;
    for (const Side* side : {&before, &after})
        for (const fit::FitPoint& p : side->points) {
            const Vec2 d = straight.ideal(p.px) - p0;
            const Vec3 row(1.0, d.dot(e), side == &before ? -1.0 : 1.0);
            const double w = 1.0 / (p.sigma_px * p.sigma_px);
            n += w * row * row.transpose();
            g += w * d.dot(across) * row;
            all.emplace_back(row, d.dot(across), w);
        }
    if (all.size() < 4) return std::nullopt;
    const Mat3 q = n.inverse();
    const Vec3 x = q * g;
    if (!x.allFinite() || std::abs(x(0)) > 2.0) return std::nullopt;
    double chi2 = 0.0;
    for (const auto& [row, d, w] : all) chi2 += w * std::pow(d - row.dot(x), 2);
    const double freedom = static_cast<double>(all.size()) - 3.0;
    if (freedom > 0 && chi2 > 16.0 * freedom + 16.0) return std::nullopt;
    return CommonLine{across, x(0), x(1), std::max(q(0, 0), kFloor * kFloor)};
}

}  // namespace

LocatedBoard locateSides(const photo::LinearImage& image, const std::vector<SeenCorner>& seen) {
    LocatedBoard out;
    out.coarse = refined(image, seen);
    Places at;
    for (const SeenCorner& c : out.coarse) at[{c.i, c.j}] = c.px;
    // Beyond an outer corner the side runs on to the rim by most of a square.
    const auto end = [&](int i, int j, int di, int dj) -> std::optional<Vec2> {
        if (const auto found = at.find({i + di, j + dj}); found != at.end()) return found->second;
        const auto own = at.find({i, j}), opposite = at.find({i - di, j - dj});
        if (own == at.end() || opposite == at.end()) return std::nullopt;
        return own->second + 0.85 * (own->second - opposite->second);
    };
    const auto add = [&](int i, int j, bool down, const Vec2& a, const Vec2& b) {
        ++out.tried;
        if (auto side = fitSide(image, a, b)) {
            side->i = i;
            side->j = j;
            side->down = down;
            out.sides.push_back(std::move(*side));
        }
    };
    for (const auto& [key, px] : at) {
        const auto [i, j] = key;
        for (const bool down : {false, true}) {
            const int di = down ? 0 : 1, dj = down ? 1 : 0;
            if (const auto b = end(i, j, di, dj)) add(i, j, down, px, *b);
            if (!at.count({i - di, j - dj}))
                if (const auto a = end(i, j, -di, -dj)) add(i - di, j - dj, down, *a, px);
        }
    }
    return out;
}

std::vector<LocatedCorner> cornersOf(const LocatedBoard& located,
                                     const std::optional<camera::Constants>& lens) {
    const Straight straight{lens};
    std::map<std::tuple<int, int, bool>, const Side*> sides;
    for (const Side& s : located.sides) sides[{s.i, s.j, s.down}] = &s;
    const auto side = [&](int i, int j, bool down) -> const Side* {
        const auto found = sides.find({i, j, down});
        return found == sides.end() ? nullptr : found->second;
    };
    std::vector<LocatedCorner> out;
    for (const SeenCorner& c : located.coarse) {
        LocatedCorner corner{{c.i, c.j, c.px, kCoarseSigma * kCoarseSigma * Mat2::Identity()}, false};
        const Vec2 p0 = straight.ideal(c.px);
        std::optional<CommonLine> lines[2];
        for (const bool down : {false, true}) {
            const Side *before = side(c.i - (down ? 0 : 1), c.j - (down ? 1 : 0), down),
                       *after = side(c.i, c.j, down);
            if (!before || !after || before->points.empty() || after->points.empty()) continue;
            const Vec2 e =
                (straight.ideal(after->points.back().px) - straight.ideal(before->points.front().px))
                    .normalized();
            lines[down ? 1 : 0] = lineOf(*before, *after, straight, p0, e);
        }
        if (lines[0] && lines[1]) {
            // (across − slope · along) · x = offset for both.
            Mat2 m;
            Vec2 offset;
            for (int n = 0; n < 2; ++n) {
                const CommonLine& l = *lines[n];
                const Vec2 along(l.across.y(), -l.across.x());
                m.row(n) = (l.across - l.slope * along).transpose();
                offset(n) = l.offset;
            }
            if (std::abs(m.determinant()) > 0.2) {
                const Mat2 inverse = m.inverse();
                const Vec2 at = p0 + inverse * offset;
                const Mat2 turn = straight.slope(at) * inverse;
                corner.corner.px = straight.picture(at);
                corner.corner.covariance =
                    turn * Vec2(lines[0]->variance, lines[1]->variance).asDiagonal() * turn.transpose();
                corner.fitted = true;
            }
        }
        out.push_back(corner);
    }
    return out;
}

std::vector<SideShift> shiftsOf(const LocatedBoard& located, const std::vector<LocatedCorner>& corners,
                                const std::optional<camera::Constants>& lens) {
    const Straight straight{lens};
    Places at;
    for (const LocatedCorner& c : corners)
        if (c.fitted) at[{c.corner.i, c.corner.j}] = straight.ideal(c.corner.px);
    std::vector<SideShift> out;
    for (const Side& s : located.sides) {
        const auto a = at.find({s.i, s.j}), b = at.find({s.i + (s.down ? 0 : 1), s.j + (s.down ? 1 : 0)});
        if (a == at.end() || b == at.end()) continue;
        const Vec2 along = (b->second - a->second).normalized();
        Vec2 across(-along.y(), along.x());
        if (across.dot(s.toLight) < 0) across = -across;
        double sum = 0.0, weight = 0.0;
        for (const fit::FitPoint& p : s.points) {
            const double w = 1.0 / (p.sigma_px * p.sigma_px);
            sum += w * across.dot(straight.ideal(p.px) - a->second);
            weight += w;
        }
        out.push_back({sum / weight, std::sqrt(1.0 / weight), s.blur_px, (b->second - a->second).norm()});
    }
    return out;
}

survey::Measured growthOf(const std::vector<SideShift>& shifts) {
    if (shifts.size() < 40) return {};
    Mat2 n = Mat2::Zero();
    Vec2 g = Vec2::Zero();
    double yy = 0.0;
    for (const SideShift& s : shifts) {
        const Vec2 row(s.blur_px, s.length_px);
        n += row * row.transpose();
        g += s.shift_px * row;
        yy += s.shift_px * s.shift_px;
    }
    const Mat2 q = n.inverse();
    const Vec2 x = q * g;
    // Neighbouring sides share corners, and a row shares its print: counted as a quarter of their number.
    const double freedom = std::max(1.0, 0.25 * static_cast<double>(shifts.size()) - 2.0);
    const double variance = std::max(0.0, yy - g.dot(x)) / static_cast<double>(shifts.size());
    const double sigma = std::sqrt(q(0, 0) * variance * static_cast<double>(shifts.size()) / freedom);
    if (!std::isfinite(x(0)) || !std::isfinite(sigma) || !(sigma > 0.0)) return {};
    return {x(0), sigma};
}

}  // namespace trammel::calibrate
