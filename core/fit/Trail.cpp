// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/fit/Trail.h"
#include "core/fit/CurveFit.h"
#include "core/fit/Light.h"

#include <fmt/core.h>

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>

namespace trammel::fit {
namespace {

constexpr int kTaps = 6;  // half of the kernel, half pixels
constexpr double kProfileStep = 0.5;
constexpr std::array<double, 3> kWindow = {3.0, 2.0, 1.5};  // px about the way, pass by pass
constexpr double kFaintShare = 0.25;                        // of the steepness round about
constexpr int kAround = 40;                                 // points to either side that make "round about"
constexpr int kBeside = 4;                                  // points to either side that tell the direction
constexpr double kGap_px = 16.0;
constexpr double kLeastSigma_px = 0.02;
// Neighbouring profiles share pixels, so that points scatter less about each other than about the edge.
constexpr double kSharedPixels = 1.4142;

/// The way in pixels, and between which clicks each lies.
struct Way {
    std::vector<Vec2> px;
    std::vector<std::size_t> leg;
};

Result<Way> wayAlong(const EdgeFollower& follower, const std::vector<Vec2>& clicks, const TrailOptions& o) {
    if (clicks.size() < (o.closed ? 3u : 2u))
        return refuse(o.closed ? "a closed trail needs three clicks" : "a trail needs two clicks",
                      "click along the edge");
    std::vector<Foothold> holds;
    for (std::size_t i = 0; i < clicks.size(); ++i) {
        const Vec2& c = clicks[i];
        if (!c.allFinite())
            return Error{ErrorCode::BadValue, fmt::format("click {} is not a place", i + 1), "",
                         "click again"};
        if (c.x() < 0 || c.y() < 0 || c.x() > follower.field().width() - 1 ||
            c.y() > follower.field().height() - 1)
            return refuse(fmt::format("click {} lies outside the picture", i + 1), "click inside it");
        const auto hold = follower.foothold(c, o.handSigma_px);
        if (!hold)
            return refuse(fmt::format("no edge shows near click {}", i + 1), "click nearer to the edge");
        holds.push_back(*hold);
    }
    Way way;
    const std::size_t legs = o.closed ? clicks.size() : clicks.size() - 1;
    for (std::size_t i = 0; i < legs; ++i) {
        const std::size_t j = (i + 1) % clicks.size();
        const auto part = follower.follow(holds[i], holds[j]);
        if (!part)
            return refuse(fmt::format("no edge leads from click {} to click {}", i + 1, j + 1),
                          "click in between, along the edge");
        for (std::size_t k = way.px.empty() ? 0 : 1; k < part->size(); ++k) {
            way.px.push_back((*part)[k]);
            way.leg.push_back(i);
        }
    }
    if (o.closed && way.px.size() > 1) {
        way.px.pop_back();
        way.leg.pop_back();
    }
    return way;
}

/// Neighbours by number, round and round where the trail is closed.
struct Ring {
    std::size_t size;
    bool closed;
    std::size_t at(std::size_t i, long by) const {
        const long n = static_cast<long>(size), k = static_cast<long>(i) + by;
        if (closed) return static_cast<std::size_t>((k % n + n) % n);
        return static_cast<std::size_t>(std::clamp(k, 0L, n - 1));
    }
};

struct Place {
    Vec2 px = Vec2::Zero(), along = Vec2::UnitX();
    double steep = 0.0;  ///< signed, along the right of travel
    std::size_t leg = 0;
    bool good = true;
};

/// Even steps along the way smoothed over seven pixels, which takes the staircase out.
std::vector<Place> evenPlaces(const Way& way, const TrailOptions& o) {
    const Ring ring{way.px.size(), o.closed};
    std::vector<Vec2> smooth(way.px.size());
    for (std::size_t i = 0; i < smooth.size(); ++i) {
        // At an open end the window shrinks on both sides: else the end would be drawn inwards.
        long reach = 3;
        if (!o.closed)
            reach = std::min({reach, static_cast<long>(i), static_cast<long>(smooth.size() - 1 - i)});
        Vec2 sum = Vec2::Zero();
        for (long k = -reach; k <= reach; ++k) sum += way.px[ring.at(i, k)];
        smooth[i] = sum / static_cast<double>(2 * reach + 1);
    }
    std::vector<Place> out;
    double next = 0.0, done = 0.0;
    for (std::size_t i = 0; i + (o.closed ? 0 : 1) < smooth.size(); ++i) {
        const Vec2 &a = smooth[i], &b = smooth[(i + 1) % smooth.size()];
        const double length = (b - a).norm();
        for (; next < done + length; next += o.spacing_px)
            out.push_back({a + (b - a) * ((next - done) / length), Vec2::UnitX(), 0.0, way.leg[i], true});
        done += length;
    }
    return out;
}

void setDirections(std::vector<Place>& places, bool closed) {
    const Ring ring{places.size(), closed};
    for (std::size_t i = 0; i < places.size(); ++i) {
        Vec2 ahead = Vec2::Zero(), behind = Vec2::Zero();
        for (long k = 1; k <= kBeside; ++k) {
            ahead += places[ring.at(i, k)].px;
            behind += places[ring.at(i, -k)].px;
        }
        const Vec2 along = ahead - behind;
        if (along.norm() > 1e-9) places[i].along = along.normalized();
    }
}

/// Derivative of a Gaussian of 1 px in half pixels; a ramp of 1/px gives 1.
const std::array<double, 2 * kTaps + 1>& slopeKernel() {
    static const std::array<double, 2 * kTaps + 1> kernel = [] {
        std::array<double, 2 * kTaps + 1> k{};
        double gain = 0.0;
        for (int i = -kTaps; i <= kTaps; ++i) {
            const double x = i * kProfileStep, v = x * std::exp(-0.5 * x * x);
            k[static_cast<std::size_t>(i + kTaps)] = v;
            gain += v * x;
        }
        for (double& v : k) v /= gain;
        return k;
    }();
    return kernel;
}

/// Steepness to the right of travel at places across, −reach..reach in half pixels.
std::vector<double> steepnessAcross(const photo::LinearImage& image, const Place& p, int half) {
    const Vec2 right(-p.along.y(), p.along.x());
    std::vector<double> light(static_cast<std::size_t>(2 * (half + kTaps) + 1), 0.0);
    for (std::size_t k = 0; k < light.size(); ++k) {
        const Vec2 at = p.px + right * ((static_cast<int>(k) - half - kTaps) * kProfileStep);
        light[k] = 0.25 * lightAt(image, at - 0.7 * p.along) + 0.5 * lightAt(image, at) +
                   0.25 * lightAt(image, at + 0.7 * p.along);
    }
    const auto& kernel = slopeKernel();
    std::vector<double> out(static_cast<std::size_t>(2 * half + 1), 0.0);
    for (std::size_t k = 0; k < out.size(); ++k)
        for (std::size_t j = 0; j < kernel.size(); ++j) out[k] += kernel[j] * light[k + j];
    return out;
}

/// Light side by the majority round about, so that one glint does not turn it.
std::vector<double> sidesOf(const std::vector<Place>& places,
                            const std::vector<std::vector<double>>& profiles, bool closed) {
    std::vector<double> most(places.size());
    for (std::size_t i = 0; i < places.size(); ++i)
        for (const double v : profiles[i])
            if (std::abs(v) > std::abs(most[i])) most[i] = v;
    const Ring ring{places.size(), closed};
    std::vector<double> out(places.size());
    for (std::size_t i = 0; i < places.size(); ++i) {
        double sum = 0.0;
        for (long k = -8; k <= 8; ++k) sum += most[ring.at(i, k)];
        out[i] = sum < 0.0 ? -1.0 : 1.0;
    }
    return out;
}

/// Moves every place across to where light is steepest; a faint one is marked and left where it is.
void moveAcross(const photo::LinearImage& image, std::vector<Place>& places, double window, bool closed) {
    const int half = static_cast<int>(std::ceil(window / kProfileStep)) + 1;
    std::vector<std::vector<double>> profiles;
    for (const Place& p : places) profiles.push_back(steepnessAcross(image, p, half));
    const std::vector<double> side = sidesOf(places, profiles, closed);
    for (std::size_t i = 0; i < places.size(); ++i) {
        const auto& f = profiles[i];
        std::size_t best = 1;
        for (std::size_t k = 1; k + 1 < f.size(); ++k)
            if (side[i] * f[k] > side[i] * f[best]) best = k;
        const double g = side[i] * f[best], left = side[i] * f[best - 1], right = side[i] * f[best + 1];
        const double bend = left - 2.0 * g + right;
        places[i].steep = std::max(0.0, g);
        places[i].good = g > 0.0 && bend < 0.0 && left <= g && right <= g;
        if (!places[i].good) continue;
        const double d = (static_cast<int>(best) - half + 0.5 * (left - right) / bend) * kProfileStep;
        places[i].px += d * Vec2(-places[i].along.y(), places[i].along.x());
    }
    const Ring ring{places.size(), closed};
    std::vector<double> around;
    for (std::size_t i = 0; i < places.size(); ++i) {
        around.clear();
        for (long k = -kAround; k <= kAround; k += 4) around.push_back(places[ring.at(i, k)].steep);
        std::nth_element(around.begin(), around.begin() + static_cast<long>(around.size() / 2), around.end());
        if (places[i].steep < kFaintShare * around[around.size() / 2]) places[i].good = false;
    }
}

/// Residual of a place against the parabola through its good neighbours, across; nothing where too few are.
std::optional<double> residual(const std::vector<Place>& places, std::size_t i, bool closed) {
    const Ring ring{places.size(), closed};
    const Place& p = places[i];
    const Vec2 right(-p.along.y(), p.along.x());
    Mat3 n = Mat3::Zero();
    Vec3 g = Vec3::Zero();
    int count = 0;
    for (long k = -6; k <= 6; ++k) {
        const Place& q = places[ring.at(i, k)];
        if (!q.good) continue;
        const double s = p.along.dot(q.px - p.px) / 6.0;
        const Vec3 row(1.0, s, s * s);
        n += row * row.transpose();
        g += row * right.dot(q.px - p.px);
        ++count;
    }
    if (count < 9 || !p.good) return std::nullopt;
    return n.ldlt().solve(g).x() * count / (count - 3.0);
}

void setSigmas(const std::vector<Place>& places, bool closed, Trail& out) {
    std::vector<double> scatter;
    for (std::size_t i = 0; i < places.size(); ++i)
        if (const auto r = residual(places, i, closed)) scatter.push_back(std::abs(*r) * places[i].steep);
    double scale = 0.0;
    if (!scatter.empty()) {
        std::nth_element(scatter.begin(), scatter.begin() + static_cast<long>(scatter.size() / 2),
                         scatter.end());
        scale = 1.4826 * scatter[scatter.size() / 2];
    }
    for (const Place& p : places)
        if (p.good)
            out.points.push_back({p.px, p.along, kSharedPixels * std::max(scale / p.steep, kLeastSigma_px)});
}

}  // namespace

Result<std::vector<Vec2>> followClicks(const EdgeFollower& follower, const std::vector<Vec2>& clicks,
                                       const TrailOptions& options) {
    Result<Way> way = wayAlong(follower, clicks, options);
    if (!way) return way.error();
    return std::move(way->px);
}

Result<Trail> followTrail(const photo::LinearImage& image, const EdgeFollower& follower,
                          const std::vector<Vec2>& clicks, const TrailOptions& options) {
    if (image.width < 16 || image.height < 16)
        return refuse("the picture is too small", "use the original photograph");
    Result<Way> way = wayAlong(follower, clicks, options);
    if (!way) return way.error();
    std::vector<Place> places = evenPlaces(*way, options);
    if (places.size() < 8) return refuse("the trail is too short", "click farther along the edge");
    for (const double window : kWindow) {
        setDirections(places, options.closed);
        moveAcross(image, places, window, options.closed);
    }
    setDirections(places, options.closed);
    double bare = 0.0;
    for (std::size_t i = 0; i < places.size(); ++i) {
        bare = places[i].good ? 0.0 : bare + options.spacing_px;
        if (bare < kGap_px) continue;
        const std::size_t leg = places[i].leg, to = (leg + 1) % clicks.size();
        return refuse(fmt::format("no edge leads from click {} to click {}", leg + 1, to + 1),
                      "click in between, along the edge");
    }
    Trail out;
    out.closed = options.closed;
    out.path = std::move(way->px);
    setSigmas(places, options.closed, out);
    for (std::size_t i = 1; i < out.points.size(); ++i)
        out.length_px += (out.points[i].px - out.points[i - 1].px).norm();
    if (out.closed && !out.points.empty())
        out.length_px += (out.points.front().px - out.points.back().px).norm();
    return out;
}

}  // namespace trammel::fit
