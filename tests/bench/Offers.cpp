// SPDX-License-Identifier: GPL-3.0-or-later
// How long it takes to offer the marks of a whole view of some 200 edges, held against reading every pixel of
// its picture once.
#include <fmt/core.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstring>
#include <string>

#include "core/fit/Propose.h"
#include "core/render/Random.h"

namespace {

using namespace trammel;
using Clock = std::chrono::steady_clock;

constexpr double kPlate = 150.0, kPitch = 260.0;  // px
constexpr double kDoubt = 0.8;                    // σ of the predictions, px

double since(Clock::time_point start) {
    return std::chrono::duration<double, std::milli>(Clock::now() - start).count();
}

/// Light square plates in rows on dark ground, a little blurred and noisy; every plate has four edges.
struct View {
    photo::LinearImage image;
    survey::Survey survey;
    std::vector<survey::Prediction> predictions;

    explicit View(int edges) {
        const int plates = (edges + 3) / 4, columns = static_cast<int>(std::ceil(std::sqrt(1.5 * plates)));
        const int rows = (plates + columns - 1) / columns;
        draw(columns, rows);
        survey.groups.push_back({});
        survey.groups[0].id = "G1";
        survey::Station st;
        st.id = "S1", st.name = "top", st.group = "G1";
        survey.stations.push_back(st);
        survey.levels.push_back({"L1", "plates"});
        for (int i = 0; i < plates; ++i) {
            const Vec2 low(kPitch * (i % columns + 0.5) - 0.5 * kPlate,
                           kPitch * (i / columns + 0.5) - 0.5 * kPlate);
            for (int side = 0; side < 4 && static_cast<int>(predictions.size()) < edges; ++side)
                add(low, side);
        }
    }

  private:
    void draw(int columns, int rows) {
        photo::Image stored;
        stored.width = static_cast<int>(columns * kPitch);
        stored.height = static_cast<int>(rows * kPitch);
        stored.channels = 3;
        render::Random random(3);
        const auto band = [](double x) {
            const double from = std::abs(std::remainder(x - 0.5 * kPitch, kPitch)) - 0.5 * kPlate;
            return 0.5 * std::erfc(from / 1.3);
        };
        std::vector<double> across, down;
        for (int x = 0; x < stored.width; ++x) across.push_back(band(x));
        for (int y = 0; y < stored.height; ++y) down.push_back(band(y));
        for (const double y : down)
            for (const double x : across) {
                const double light = std::max(0.004, 0.06 + 0.4 * x * y + 0.005 * random.normal());
                const double code = 1.055 * std::pow(light, 1.0 / 2.4) - 0.055;  // IEC 61966-2-1
                stored.data.insert(stored.data.end(), 3,
                                   static_cast<std::uint8_t>(std::lround(255.0 * code)));
            }
        image = photo::linearLuminance(std::move(stored));
    }

    void add(const Vec2& low, int side) {
        survey::Prediction p;
        p.station = "S1", p.feature = "F" + std::to_string(predictions.size() + 1);
        for (int i = 0; i <= 4; ++i) {
            const double t = kPlate * (0.08 + 0.84 * i / 4);
            const Vec2 at = side == 0   ? Vec2(t, 0)
                            : side == 1 ? Vec2(kPlate, t)
                            : side == 2 ? Vec2(t, kPlate)
                                        : Vec2(0, t);
            p.points.push_back({low + at + Vec2(0.6, -0.5), kDoubt});
        }
        p.covariance = MatX::Constant(5, 5, kDoubt * kDoubt);
        survey.features.push_back({p.feature, p.feature, survey::FeatureKind::Edge, "L1"});
        predictions.push_back(std::move(p));
    }
};

}  // namespace

int main(int argc, char** argv) {
    int edges = 200, repeat = 5;
    for (int i = 1; i + 1 < argc; ++i) {
        if (std::strcmp(argv[i], "--edges") == 0) edges = std::max(4, std::stoi(argv[i + 1]));
        if (std::strcmp(argv[i], "--repeat") == 0) repeat = std::max(1, std::stoi(argv[i + 1]));
    }
    const View view(edges);
    double best = INFINITY, reading = INFINITY, sum = 0.0;
    int sure = 0;
    for (int k = 0; k < repeat; ++k) {
        auto start = Clock::now();
        for (const float v : view.image.data) sum += std::sqrt(v);
        reading = std::min(reading, since(start));
        start = Clock::now();
        const auto offers =
            fit::proposeMarks(view.survey, "S1", view.predictions,
                              [&](const survey::Station&) { return Result<photo::LinearImage>(view.image); });
        best = std::min(best, since(start));
        sure = offers ? static_cast<int>(
                            std::count_if(offers->begin(), offers->end(),
                                          [](const auto& o) { return o.standing == fit::Standing::Sure; }))
                      : 0;
    }
    fmt::print(
        "{} edges in {} × {} px: {} sure, {:.0f} ms ({:.2f} ms an edge); {:.1f} times as long as the root "
        "of every pixel (mean {:.3f})\n",
        edges, view.image.width, view.image.height, sure, best, best / edges, best / reading,
        sum / static_cast<double>(view.image.data.size()) / repeat);
    return sure >= edges * 9 / 10 ? 0 : 1;
}
