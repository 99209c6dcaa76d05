// SPDX-License-Identifier: GPL-3.0-or-later
#include "EdgesScene.h"

#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <numbers>
#include <stdexcept>

#include "core/photo/Decode.h"
#include "core/photo/Encode.h"

namespace trammel::campaign::edges {
namespace {

constexpr double kPi = std::numbers::pi;

double phi(double z) { return 0.5 * std::erfc(-z / std::numbers::sqrt2); }

// IEC 61966-2-1.
double toCode(double v) {
    v = std::clamp(v, 0.0, 1.0);
    return v <= 0.0031308 ? 12.92 * v : 1.055 * std::pow(v, 1.0 / 2.4) - 0.055;
}
double slopeOfLight(double v) { return v <= 0.0031308 ? 1.0 / 12.92 : 2.4 / 1.055 * std::pow(v, 1.4 / 2.4); }

/// Disc seen through the blur at distance r: chords of the disc across the line of sight, each in closed
/// form, weighted by the Gaussian; with v = R sin θ the integrand is smooth and the trapezoid rule exact.
double blurredDisc(double r, double radius, double blur) {
    const int n = 240;
    double sum = 0.0;
    for (int i = 1; i < n; ++i) {
        const double theta = -kPi / 2 + kPi * i / n, v = radius * std::sin(theta),
                     w = radius * std::cos(theta);
        const double z = v / blur;
        if (std::abs(z) > 8.0) continue;
        sum += std::exp(-0.5 * z * z) * (phi((r + w) / blur) - phi((r - w) / blur)) * w;
    }
    return sum * kPi / n / (blur * std::sqrt(2.0 * kPi));
}

/// Wedge |v| < t·u in axes along and across its axis: its cross-sections weighted by the Gaussian (Simpson).
double blurredWedge(double u, double v, double t, double blur) {
    const double low = std::max(0.0, u - 8.0 * blur), high = u + 8.0 * blur;
    if (high <= low) return 0.0;
    const int n = 96;
    const double h = (high - low) / n;
    double sum = 0.0;
    for (int i = 0; i <= n; ++i) {
        const double q = low + i * h, z = (u - q) / blur;
        const double f = std::exp(-0.5 * z * z) * (phi((v + t * q) / blur) - phi((v - t * q) / blur));
        sum += (i == 0 || i == n ? 1.0 : i % 2 ? 4.0 : 2.0) * f;
    }
    return sum * h / 3.0 / (blur * std::sqrt(2.0 * kPi));
}

/// The blurred boundary at any place.
class Blurred {
  public:
    explicit Blurred(const Shape& s) : s_(s) {
        if (s.kind != Kind::Hole) return;
        table_.resize(static_cast<std::size_t>((s.radius + 8.0 * s.blur + 3.0) / kStep) + 4);
        for (std::size_t i = 0; i < table_.size(); ++i)
            table_[i] = blurredDisc((static_cast<double>(i) - 1.0) * kStep, s.radius, s.blur);
    }
    double at(const Vec2& p) const {
        const Vec2 q = p - s_.at;
        if (s_.kind == Kind::Edge) return phi(s_.normal().dot(q) / s_.blur);
        if (s_.kind == Kind::Hole) return radial(q.norm());
        const Vec2 axis = s_.normal();
        const double u = axis.dot(q), v = axis.x() * q.y() - axis.y() * q.x();
        if (q.norm() > 8.0 * s_.blur) {  // one side only
            if (u <= 0.0) return phi(-s_.clear(p) / s_.blur);
            return phi((u * std::sin(s_.half) - std::abs(v) * std::cos(s_.half)) / s_.blur);
        }
        return blurredWedge(u, v, std::tan(s_.half), s_.blur);
    }

  private:
    static constexpr double kStep = 0.05;
    /// Catmull–Rom through the table: error of the order of 1e-6.
    double radial(double r) const {
        const double f = r / kStep + 1.0;
        const std::size_t i = static_cast<std::size_t>(f);
        if (i + 2 >= table_.size()) return 0.0;
        const double u = f - static_cast<double>(i), a = table_[i - 1], b = table_[i], c = table_[i + 1],
                     d = table_[i + 2];
        return b + 0.5 * u * (c - a + u * (2 * a - 5 * b + 4 * c - d + u * (3 * (b - c) + d - a)));
    }
    const Shape& s_;
    std::vector<double> table_;
};

}  // namespace

double Shape::clear(const Vec2& p) const {
    const Vec2 q = p - at;
    if (kind == Kind::Edge) return std::abs(normal().dot(q));
    if (kind == Kind::Hole) return std::abs(q.norm() - radius);
    double nearest = 1e300;
    for (const double side : {-1.0, 1.0}) {
        const Vec2 along(std::cos(angle + side * half), std::sin(angle + side * half));
        const double s = std::max(0.0, along.dot(q));
        nearest = std::min(nearest, (q - s * along).norm());
    }
    return nearest;
}

int Shape::unknowns() const { return kind == Kind::Edge ? 3 : kind == Kind::Hole ? 4 : 5; }

Shape Shape::moved(int unknown, double step) const {
    Shape out = *this;
    if (unknown == unknowns() - 1) {
        out.blur += step;
        return out;
    }
    if (kind == Kind::Edge) {
        if (unknown == 0)
            out.at += step * normal();
        else
            out.angle += 0.01 * step;
        return out;
    }
    if (unknown < 2)
        out.at(unknown) += step;
    else if (kind == Kind::Hole)
        out.radius += step;
    else if (unknown == 2)
        out.angle += 0.02 * step;
    else
        out.half += 0.02 * step;
    return out;
}

Share shareOf(const Shape& shape, int width, int height, int n) {
    const Blurred blurred(shape);
    const double reach = 5.5 * shape.blur + 1.0;
    Share out{width, height, std::vector<double>(static_cast<std::size_t>(width) * height)};
    for (int y = 0; y < height; ++y)
        for (int x = 0; x < width; ++x) {
            double& share = out.of[static_cast<std::size_t>(y) * width + x];
            if (shape.clear(Vec2(x, y)) > reach) {
                share = std::round(blurred.at(Vec2(x, y)));
                continue;
            }
            double sum = 0.0;
            for (int j = 0; j < n; ++j)
                for (int i = 0; i < n; ++i)
                    sum += blurred.at(Vec2(x + (i + 0.5) / n - 0.5, y + (j + 0.5) / n - 0.5));
            share = sum / (n * n);
        }
    return out;
}

double luminance(const Vec3& rgb) { return 0.2126 * rgb.x() + 0.7152 * rgb.y() + 0.0722 * rgb.z(); }

Surfaces drawSurfaces(std::mt19937& random, double contrast, double colourful) {
    std::uniform_real_distribution<double> uniform(0.0, 1.0);
    const double dark = 0.03 + uniform(random) * (0.92 - 0.03 - contrast);
    const bool swap = uniform(random) < 0.5;
    const auto coloured = [&](double light) {
        while (true) {
            Vec3 rgb;
            for (int k = 0; k < 3; ++k) rgb(k) = std::exp(colourful * (2.0 * uniform(random) - 1.0));
            rgb *= light / luminance(rgb);
            if (rgb.minCoeff() > 0.005 && rgb.maxCoeff() < 0.95) return rgb;
            colourful *= 0.98;  // bright surfaces have little colour
        }
    };
    const Vec3 a = coloured(dark), b = coloured(dark + contrast);
    return swap ? Surfaces{b, a} : Surfaces{a, b};
}

photo::Image take(const Share& share, const Surfaces& surfaces, const Camera& camera,
                  const std::filesystem::path& scratch) {
    photo::Image image{share.width, share.height, 3, {}};
    image.data.resize(share.of.size() * 3);
    std::mt19937 random(camera.seed);
    std::normal_distribution<double> gauss;
    for (std::size_t i = 0; i < share.of.size(); ++i) {
        const Vec3 light = surfaces.mixed(share.of[i]);
        for (int k = 0; k < 3; ++k) {
            const double code = 255.0 * (toCode(light(k)) + camera.noise * gauss(random));
            image.data[3 * i + static_cast<std::size_t>(k)] =
                static_cast<std::uint8_t>(std::lround(std::clamp(code, 0.0, 255.0)));
        }
    }
    if (camera.quality <= 0) return image;
    const auto file = scratch / "picture.jpg";
    if (!photo::encodeJpeg(image, file, camera.quality,
                           camera.halved ? photo::Chroma::Halved : photo::Chroma::Full))
        throw std::runtime_error("a picture could not be stored and read");
    auto back = photo::decode(file);
    if (!back) throw std::runtime_error("a picture could not be stored and read");
    return *back;
}

MatX bound(const Shape& shape, const Surfaces& surfaces, double noise, int width, int height,
           const std::function<bool(const Vec2&)>& seen) {
    const int n = shape.unknowns();
    const double step = 0.05, contrast = luminance(surfaces.second) - luminance(surfaces.first);
    const Share middle = shareOf(shape, width, height, 3);
    std::vector<Share> plus, minus;
    for (int k = 0; k < n; ++k) {
        plus.push_back(shareOf(shape.moved(k, step), width, height, 3));
        minus.push_back(shareOf(shape.moved(k, -step), width, height, 3));
    }
    MatX information = MatX::Zero(n + 2, n + 2);
    VecX j(n + 2);
    const double code2 = noise * noise + 1.0 / (12.0 * 255.0 * 255.0);
    for (int y = 0; y < height; ++y)
        for (int x = 0; x < width; ++x) {
            if (!seen(Vec2(x, y))) continue;
            const double share = middle.at(x, y);
            const Vec3 light = surfaces.mixed(share),
                       slope(slopeOfLight(light.x()), slopeOfLight(light.y()), slopeOfLight(light.z()));
            const Vec3 passed(0.2126 * slope.x(), 0.7152 * slope.y(), 0.0722 * slope.z());
            for (int k = 0; k < n; ++k) {
                const std::size_t u = static_cast<std::size_t>(k);
                j(k) = contrast * (plus[u].at(x, y) - minus[u].at(x, y)) / (2.0 * step);
            }
            j(n) = 1.0 - share;
            j(n + 1) = share;
            information += j * j.transpose() / (passed.squaredNorm() * code2);
        }
    return information.inverse().topLeftCorner(n, n);
}

}  // namespace trammel::campaign::edges
