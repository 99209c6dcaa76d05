// SPDX-License-Identifier: GPL-3.0-or-later
// How long a trail of some 5 000 px takes, step by step, held against reading every pixel of the picture
// once.
#include "core/fit/Trail.h"

#include <fmt/core.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstring>
#include <string>

#include "core/fit/Split.h"
#include "core/render/Random.h"

namespace {

using namespace trammel;
using Clock = std::chrono::steady_clock;

double since(Clock::time_point start) {
    return std::chrono::duration<double, std::milli>(Clock::now() - start).count();
}

/// A plate with rounded corners and a wavy long side, `length` px round.
photo::LinearImage picture(double length, double& around) {
    const double half = length / 8.0, radius = 40.0;
    photo::LinearImage image;
    image.width = image.height = static_cast<int>(2.0 * half + 200.0);
    image.data.resize(static_cast<std::size_t>(image.width) * static_cast<std::size_t>(image.height));
    render::Random random(7);
    const double middle = 0.5 * image.width;
    for (int y = 0; y < image.height; ++y)
        for (int x = 0; x < image.width; ++x) {
            double px = x - middle, py = y - middle;
            py += 6.0 * std::sin(px / 45.0);
            const double qx = std::abs(px) - half + radius, qy = std::abs(py) - half + radius;
            const double d =
                std::hypot(std::max(qx, 0.0), std::max(qy, 0.0)) + std::min(0.0, std::max(qx, qy)) - radius;
            image.data[static_cast<std::size_t>(y) * static_cast<std::size_t>(image.width) +
                       static_cast<std::size_t>(x)] =
                static_cast<float>(0.05 + 0.2 * std::erfc(-d / 1.4) + 0.006 * random.normal());
        }
    around = 8.0 * half;
    return image;
}

}  // namespace

int main(int argc, char** argv) {
    double length = 5000.0;
    int repeat = 5;
    for (int i = 1; i + 1 < argc; ++i) {
        if (std::strcmp(argv[i], "--length") == 0) length = std::max(400.0, std::stod(argv[i + 1]));
        if (std::strcmp(argv[i], "--repeat") == 0) repeat = std::max(1, std::stoi(argv[i + 1]));
    }
    double around = 0.0;
    const photo::LinearImage image = picture(length, around);
    const double half = around / 8.0, c = 0.5 * image.width;
    const auto wavy = [&](double x, double side) {
        return Vec2(c + x, c + side * half - 6.0 * std::sin(x / 45.0));
    };
    const std::vector<Vec2> clicks = {{c - half, c}, wavy(-0.4 * half, -1), wavy(0.5 * half, -1),
                                      {c + half, c}, wavy(0.3 * half, 1),   wavy(-0.5 * half, 1)};
    double read = 1e300, way = 1e300, trailed = 1e300, split = 1e300;
    std::size_t pieces = 0;
    double found = 0.0, sum = 0.0;
    for (int k = 0; k < repeat; ++k) {
        auto start = Clock::now();
        for (const float v : image.data) sum += std::sqrt(static_cast<double>(v < 0 ? 0 : v));
        read = std::min(read, since(start));
        start = Clock::now();
        const fit::EdgeFollower fresh(image);
        const auto path = fit::followClicks(fresh, clicks, {true});
        way = std::min(way, since(start));
        start = Clock::now();
        const fit::EdgeFollower again(image);
        const auto trail = fit::followTrail(image, again, clicks, {true});
        trailed = std::min(trailed, since(start));
        if (!path || !trail) {
            fmt::print("no trail: {}\n", path ? trail.error().sentence() : path.error().sentence());
            return 1;
        }
        found = trail->length_px;
        start = Clock::now();
        const auto parts = fit::splitTrail(image, *trail);
        split = std::min(split, since(start));
        pieces = parts ? parts->size() : 0;
    }
    fmt::print("trail of {:.0f} px in {} x {} px (least of {}; checksum {:.0f})\n", found, image.width,
               image.height, repeat, sum);
    const auto row = [&](const char* name, double ms) {
        fmt::print("  {:<34}{:8.1f} ms{:8.2f} of a reading\n", name, ms, ms / read);
    };
    row("every pixel read once", read);
    row("way in whole pixels", way);
    row("way and points to a fraction", trailed);
    row("split into pieces", split);
    fmt::print("  {} pieces\n", pieces);
    return 0;
}
