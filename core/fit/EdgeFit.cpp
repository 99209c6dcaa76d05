// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/fit/EdgeFit.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "core/fit/Choose.h"
#include "core/fit/CurveFit.h"
#include "core/fit/Scatter.h"

namespace trammel::fit {
namespace {

constexpr double kShortest = 8.0;  // px, of a stroke
constexpr double kLeastStretch = 6.0;

/// Robust parabola through traced places: end offsets and sag of the guide that follows them. The sag is kept
/// only where a long edge shows it clearly (lens distortion bends long edges by a pixel or so).
LineGuide followed(const LineGuide& guide, const std::vector<Local>& places) {
    const double length = guide.length();
    auto solve = [&](bool bent, double& sagSigma) {
        Vec3 x = Vec3::Zero();
        std::vector<double> w(places.size(), 1.0);
        for (int pass = 0; pass < 12; ++pass) {
            Mat3 n = Mat3::Zero();
            Vec3 g = Vec3::Zero();
            for (std::size_t i = 0; i < places.size(); ++i) {
                const double t = places[i].s / length;
                const Vec3 row(1 - t, t, bent ? 4 * t * (1 - t) : 0.0);
                n += w[i] * row * row.transpose();
                g += w[i] * places[i].d * row;
            }
            if (!bent) n(2, 2) = 1.0;
            x = n.ldlt().solve(g);
            std::vector<double> r(places.size());
            for (std::size_t i = 0; i < r.size(); ++i) {
                const double t = places[i].s / length;
                r[i] = std::abs(places[i].d -
                                (x(0) * (1 - t) + x(1) * t + (bent ? x(2) * 4 * t * (1 - t) : 0.0)));
            }
            std::vector<double> sorted = r;
            std::nth_element(sorted.begin(), sorted.begin() + sorted.size() / 2, sorted.end());
            const double sigma = std::max(1.4826 * sorted[sorted.size() / 2], 0.05);
            for (std::size_t i = 0; i < r.size(); ++i) w[i] = 1.0 / (1.0 + std::pow(r[i] / (2 * sigma), 2));
            sagSigma = sigma * std::sqrt(n.inverse()(2, 2));
        }
        return x;
    };
    double sagSigma = 1.0;
    const Vec3 bent = solve(true, sagSigma);
    const bool keep = length > 100.0 && std::abs(bent(2)) > std::max(0.15, 5.0 * sagSigma) &&
                      std::abs(bent(2)) < 0.01 * length;
    double unused = 0.0;
    const Vec3 x = keep ? bent : solve(false, unused);
    const Vec2 a = guide.point(0.0, x(0)), b = guide.point(length, x(1));
    return LineGuide(a, b, guide.sag() + (keep ? x(2) : 0.0));
}

/// The guide moved onto the fitted stretches.
LineGuide centred(const LineGuide& guide, const CurveFit& curve) {
    std::vector<Local> places;
    for (const Stretch& s : curve.stretches)
        for (const double part : {-0.4, 0.4}) {
            const double along = part * s.length();
            places.push_back({s.middle() + along, s.fit.offset + s.fit.slope * along});
        }
    const double length = guide.length();
    Mat2 n = Mat2::Zero();
    Vec2 g = Vec2::Zero();
    for (const Local& p : places) {
        const Vec2 row(1 - p.s / length, p.s / length);
        n += row * row.transpose();
        g += p.d * row;
    }
    const Vec2 x = n.ldlt().solve(g);
    return LineGuide(guide.point(0.0, x(0)), guide.point(length, x(1)), guide.sag());
}

/// Stretches that leave the common line by far are another edge (a notch, a crossing print).
void dropOffLine(CurveFit& curve) {
    while (curve.stretches.size() > 2) {
        std::vector<double> d;
        for (const Stretch& s : curve.stretches) d.push_back(s.fit.offset);
        std::vector<double> sorted = d;
        std::nth_element(sorted.begin(), sorted.begin() + sorted.size() / 2, sorted.end());
        const double middle = sorted[sorted.size() / 2];
        std::size_t worst = 0;
        for (std::size_t i = 0; i < d.size(); ++i)
            if (std::abs(d[i] - middle) > std::abs(d[worst] - middle)) worst = i;
        if (std::abs(d[worst] - middle) < std::max(0.6, 6.0 * curve.stretches[worst].fit.offsetSigma)) return;
        const Stretch gone = curve.stretches[worst];
        std::erase_if(curve.bins, [&](const StripBin& b) { return b.s >= gone.s0 && b.s < gone.s1; });
        curve.stretches.erase(curve.stretches.begin() + static_cast<std::ptrdiff_t>(worst));
    }
}

Result<LineGuide> findEdge(const photo::LinearImage& image, const Vec2& from, const Vec2& to,
                           const FitOptions& o, double& sign, std::vector<Rival>* rivals) {
    if (!from.allFinite() || !to.allFinite())
        return Error{ErrorCode::BadValue, "the stroke's coordinates are not finite", "", "draw it again"};
    const double length = (to - from).norm();
    if (length < kShortest)
        return refuse("the stroke is too short to tell an edge", "draw it longer along the edge");
    if (image.width < 8 || image.height < 8 ||
        image.data.size() < static_cast<std::size_t>(image.width) * image.height)
        return refuse("the picture is too small", "use the original photograph");
    const LineGuide stroke(from, to);
    const Profiles profiles = sampleProfiles(image, stroke, o.searchRadius_px + 2.0);
    if (static_cast<double>(profiles.s.size()) < 0.6 * profiles.wanted)
        return refuse("the stroke leaves the picture", "keep it and its surroundings inside");
    Family family;
    family.shapes = {[length](double s) { return 1.0 - s / length; },
                     [length](double s) { return s / length; }};
    family.reach = {o.searchRadius_px, o.searchRadius_px};
    const std::vector<double> ends = {0.0, length};
    const Result<Candidate> chosen = meantEdge({stroke, family, profiles, ends}, o, rivals);
    if (!chosen) return chosen.error();
    sign = chosen->support < 0 ? -1.0 : 1.0;
    const std::vector<Local> places = traceEdge(profiles, family, *chosen, 1.5);
    if (places.size() < std::max<std::size_t>(6, profiles.s.size() / 3))
        return refuse("the edge shows along too little of the stroke", "draw it where the edge is clear");
    return followed(stroke, places);
}

}  // namespace

Result<Fit> fitEdge(const photo::LinearImage& image, const Vec2& from, const Vec2& to,
                    const FitOptions& options, std::vector<Rival>* rivals) {
    double sign = 1.0;
    Result<LineGuide> found = findEdge(image, from, to, options, sign, rivals);
    if (!found) return found.error();
    LineGuide guide = *found;
    CurveOptions co;
    co.stretches =
        std::clamp(static_cast<int>(guide.length() / kLeastStretch), 2, std::max(2, options.stretches));
    co.sign = sign;
    co.binLength = std::clamp(guide.length() / 24.0, 2.0, 8.0);
    CurveFit curve;
    for (int pass = 0; pass < 2; ++pass) {
        curve = fitAlong(image, guide, co);
        dropOffLine(curve);
        if (const auto no = refusal(curve, std::max<std::size_t>(2, (co.stretches + 1) / 2))) return *no;
        if (pass == 0) {
            guide = centred(guide, curve);
            co.blurStart = curve.blur;
        }
    }
    const double length = guide.length();
    std::vector<std::function<double(double)>> shapes = {[](double) { return 1.0; },
                                                         [length](double s) { return s / length - 0.5; }};
    if (guide.sag() != 0.0) shapes.push_back([length](double s) { return std::pow(s / length - 0.5, 2); });
    const Scatter scatter = scatterOf(curve.bins, shapes);
    Fit out = fitOf(curve, guide, scatter, co.binLength);
    for (const FitPoint& p : out.points)
        if (p.sigma_px > 0.7)
            return refuse("the edge is too faint for its noise", "mark a longer or clearer piece");
    return out;
}

}  // namespace trammel::fit
