// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/fit/EdgePath.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>

namespace trammel::fit {
namespace {

constexpr double kLeastSteep = 0.003;   // root of light per px: half an 8-bit code
constexpr double kAboveNoise = 5.0;     // of a foothold
constexpr double kWayAboveNoise = 3.0;  // through noise alone the best way gathers about 1.5 a step
constexpr double kBare = 0.05;          // an edge this faint costs as much as none
constexpr double kFlipCost = 12.0;      // px of a clear edge, for the light side to change
constexpr int kUnit = 16;               // costs per px of a clear edge
constexpr int kRun = 16;                // px
constexpr double kGapShare = 0.15;      // of the clicks' steepness
constexpr std::size_t kMostVisited = 6'000'000;

/// Gaussian of 1 px and its derivative at whole pixels, the derivative scaled so that a ramp of 1/px gives 1.
struct Kernels {
    std::array<double, 7> smooth{}, slope{};
    Kernels() {
        double total = 0.0, gain = 0.0;
        for (int i = -3; i <= 3; ++i) {
            smooth[static_cast<std::size_t>(i + 3)] = std::exp(-0.5 * i * i);
            slope[static_cast<std::size_t>(i + 3)] = i * std::exp(-0.5 * i * i);
            total += std::exp(-0.5 * i * i);
            gain += i * i * std::exp(-0.5 * i * i);
        }
        for (double& v : smooth) v /= total;
        for (double& v : slope) v /= gain;
    }
};

}  // namespace

GradientField::GradientField(const photo::LinearImage& image)
    : image_(image),
      width_(image.width),
      height_(image.height),
      across_((image.width + kSquare - 1) / kSquare),
      squares_(static_cast<std::size_t>(across_) *
               static_cast<std::size_t>((image.height + kSquare - 1) / kSquare)) {}

GradientField::Gradient GradientField::at(int x, int y) const {
    const Square& s = square(x / kSquare, y / kSquare);
    return s.data[static_cast<std::size_t>((y % kSquare) * kSquare + x % kSquare)];
}

const GradientField::Square& GradientField::square(int i, int j) const {
    std::unique_ptr<Square>& kept = squares_[static_cast<std::size_t>(j * across_ + i)];
    if (kept) return *kept;
    static const Kernels kernels;
    constexpr int kWide = kSquare + 6;
    std::array<float, static_cast<std::size_t>(kWide) * kWide> root{};
    for (int y = 0; y < kWide; ++y)
        for (int x = 0; x < kWide; ++x) {
            const int px = std::clamp(i * kSquare + x - 3, 0, width_ - 1);
            const int py = std::clamp(j * kSquare + y - 3, 0, height_ - 1);
            root[static_cast<std::size_t>(y * kWide + x)] = std::sqrt(std::max(0.0f, image_.at(px, py)));
        }
    std::array<float, static_cast<std::size_t>(kWide) * kSquare> smooth{}, slope{};  // along rows
    for (int y = 0; y < kWide; ++y)
        for (int x = 0; x < kSquare; ++x) {
            double a = 0.0, b = 0.0;
            for (int k = 0; k < 7; ++k) {
                const double v = root[static_cast<std::size_t>(y * kWide + x + k)];
                a += kernels.smooth[static_cast<std::size_t>(k)] * v;
                b += kernels.slope[static_cast<std::size_t>(k)] * v;
            }
            smooth[static_cast<std::size_t>(y * kSquare + x)] = static_cast<float>(a);
            slope[static_cast<std::size_t>(y * kSquare + x)] = static_cast<float>(b);
        }
    kept = std::make_unique<Square>();
    kept->data.resize(static_cast<std::size_t>(kSquare) * kSquare);
    for (int y = 0; y < kSquare; ++y)
        for (int x = 0; x < kSquare; ++x) {
            double gx = 0.0, gy = 0.0;
            for (int k = 0; k < 7; ++k) {
                const std::size_t at = static_cast<std::size_t>((y + k) * kSquare + x);
                gx += kernels.smooth[static_cast<std::size_t>(k)] * slope[at];
                gy += kernels.slope[static_cast<std::size_t>(k)] * smooth[at];
            }
            kept->data[static_cast<std::size_t>(y * kSquare + x)] = {static_cast<float>(gx),
                                                                     static_cast<float>(gy)};
        }
    std::vector<float> sizes;
    for (const Gradient& g : kept->data) sizes.push_back(std::hypot(g.x, g.y));
    const std::size_t quiet = 3 * sizes.size() / 10;
    std::nth_element(sizes.begin(), sizes.begin() + static_cast<long>(quiet), sizes.end());
    kept->noise = sizes[quiet] / 0.845;  // quantile 0.3 of Rayleigh's distribution
    return *kept;
}

std::optional<Foothold> EdgeFollower::foothold(const Vec2& click, double handSigma_px) const {
    const double reach = std::clamp(3.0 * handSigma_px, 3.0, 12.0);
    const int x0 = static_cast<int>(std::lround(click.x())), y0 = static_cast<int>(std::lround(click.y()));
    const int r = static_cast<int>(std::ceil(reach));
    Foothold best;
    double most = 0.0;
    for (int y = y0 - r; y <= y0 + r; ++y)
        for (int x = x0 - r; x <= x0 + r; ++x) {
            const double d2 = (Vec2(x, y) - click).squaredNorm();
            if (!field_.inside(x, y) || d2 > reach * reach) continue;
            const auto g = field_.at(x, y);
            const double steep = std::hypot(g.x, g.y);
            const double score = steep * std::exp(-0.25 * d2 / (handSigma_px * handSigma_px));
            if (score > most) most = score, best = {x, y, steep};
        }
    if (best.steep < std::max(kLeastSteep, kAboveNoise * field_.noiseAt(best.x, best.y))) return std::nullopt;
    return best;
}

namespace {

struct Step {
    int dx, dy, units;
    double nx, ny;  ///< to the right of the step
};

const std::array<Step, 8>& steps() {
    static const std::array<Step, 8> all = [] {
        std::array<Step, 8> out{};
        constexpr std::array<int, 8> dx = {1, 1, 0, -1, -1, -1, 0, 1}, dy = {0, 1, 1, 1, 0, -1, -1, -1};
        for (std::size_t k = 0; k < 8; ++k) {
            const double length = std::hypot(dx[k], dy[k]);
            out[k] = {dx[k], dy[k], dx[k] != 0 && dy[k] != 0 ? 23 : 16, -dy[k] / length, dx[k] / length};
        }
        return out;
    }();
    return all;
}

/// What is known of the two states of a pixel (lighter to the right, lighter to the left), in squares.
struct States {
    static constexpr int kSquare = GradientField::kSquare;
    struct State {
        std::uint32_t cost = 0xffffffffu;
        std::uint8_t from = 0xff;  ///< step that led here, or 8: the other state of this pixel
        bool done = false;
    };
    using Square = std::vector<State>;
    int across;
    std::vector<std::unique_ptr<Square>> squares;

    States(int width, int height)
        : across((width + kSquare - 1) / kSquare),
          squares(static_cast<std::size_t>(across) *
                  static_cast<std::size_t>((height + kSquare - 1) / kSquare)) {}
    State& at(int x, int y, int side) {
        auto& s = squares[static_cast<std::size_t>((y / kSquare) * across + x / kSquare)];
        if (!s) s = std::make_unique<Square>(2u * kSquare * kSquare);
        return (*s)[static_cast<std::size_t>(2 * ((y % kSquare) * kSquare + x % kSquare) + side)];
    }
};

struct Entry {
    int x, y;
    std::uint8_t side;
    std::uint32_t cost;
};

class Search {
  public:
    Search(const GradientField& field, const Foothold& a, const Foothold& b)
        : field_(field),
          a_(a),
          b_(b),
          states_(field.width(), field.height()),
          strong_(std::min(a.steep, b.steep)),
          longest_(1.5 * std::hypot(a.x - b.x, a.y - b.y) + 60.0) {}

    bool run() {
        for (const std::uint8_t side : {std::uint8_t{0}, std::uint8_t{1}}) offer({a_.x, a_.y, side, 0}, 0xff);
        for (std::uint32_t level = bound(a_.x, a_.y); waiting_ > 0; ++level) {
            auto& bucket = buckets_[level % buckets_.size()];
            while (!bucket.empty()) {
                const Entry e = bucket.back();
                bucket.pop_back();
                --waiting_;
                States::State& s = states_.at(e.x, e.y, e.side);
                if (s.done || s.cost != e.cost) continue;
                s.done = true;
                if (e.x == b_.x && e.y == b_.y) {
                    goal_ = e.side;
                    return true;
                }
                if (++visited_ > kMostVisited) return false;
                spread(e);
            }
        }
        return false;
    }

    /// From a to b; `excess` gets the gradient across each step less what would be next to nothing there.
    std::vector<Vec2> path(std::vector<double>& excess) {
        std::vector<Vec2> out;
        int x = b_.x, y = b_.y;
        std::uint8_t side = goal_;
        while (true) {
            const States::State& s = states_.at(x, y, side);
            if (s.from == 8) {
                side ^= 1;
                continue;
            }
            out.emplace_back(x, y);
            if (s.from == 0xff) break;
            const Step& step = steps()[s.from];
            excess.push_back(across(x, y, side, step) - least(x, y));
            x -= step.dx;
            y -= step.dy;
        }
        std::reverse(out.begin(), out.end());
        std::reverse(excess.begin(), excess.end());
        return out;
    }

  private:
    double least(int x, int y) const {
        return std::max({kLeastSteep, kWayAboveNoise * field_.noiseAt(x, y), kGapShare * strong_});
    }

    std::uint32_t bound(int x, int y) const {
        const int dx = std::abs(x - b_.x), dy = std::abs(y - b_.y);
        return static_cast<std::uint32_t>(16 * std::max(dx, dy) + 7 * std::min(dx, dy));
    }

    double across(int x, int y, std::uint8_t side, const Step& step) const {
        const auto g = field_.at(x, y);
        const double right = step.nx * g.x + step.ny * g.y;
        return std::max(0.0, side == 0 ? right : -right);
    }

    void offer(const Entry& e, std::uint8_t from) {
        States::State& s = states_.at(e.x, e.y, e.side);
        if (s.done || s.cost <= e.cost) return;
        s.cost = e.cost;
        s.from = from;
        buckets_[(e.cost + bound(e.x, e.y)) % buckets_.size()].push_back(e);
        ++waiting_;
    }

    void spread(const Entry& e) {
        for (std::size_t k = 0; k < 8; ++k) {
            const Step& step = steps()[k];
            const int x = e.x + step.dx, y = e.y + step.dy;
            if (!field_.inside(x, y)) continue;
            if (std::hypot(x - a_.x, y - a_.y) + std::hypot(x - b_.x, y - b_.y) > longest_) continue;
            const double share = std::min(1.0, across(x, y, e.side, step) / strong_);
            const double factor = 1.0 / (kBare + (1.0 - kBare) * share);
            offer({x, y, e.side, e.cost + static_cast<std::uint32_t>(step.units * factor)},
                  static_cast<std::uint8_t>(k));
        }
        offer({e.x, e.y, static_cast<std::uint8_t>(e.side ^ 1),
               e.cost + static_cast<std::uint32_t>(kUnit * kFlipCost)},
              8);
    }

    const GradientField& field_;
    Foothold a_, b_;
    States states_;
    double strong_, longest_;
    std::array<std::vector<Entry>, 1024> buckets_;  // the dearest step costs 23 · 20 and may lead away by 46
    std::size_t waiting_ = 0, visited_ = 0;
    std::uint8_t goal_ = 0;
};

/// Whether some stretch of the way shows next to nothing.
bool hasGap(const std::vector<double>& excess) {
    double sum = 0.0;
    for (std::size_t i = 0; i < excess.size(); ++i) {
        sum += excess[i];
        if (i >= kRun) sum -= excess[i - kRun];
        if (i + 1 >= kRun && sum < 0.0) return true;
    }
    return !excess.empty() && excess.size() < kRun && sum < 0.0;
}

}  // namespace

std::optional<std::vector<Vec2>> EdgeFollower::follow(const Foothold& a, const Foothold& b) const {
    Search search(field_, a, b);
    if (!search.run()) return std::nullopt;
    std::vector<double> excess;
    std::vector<Vec2> path = search.path(excess);
    if (hasGap(excess)) return std::nullopt;
    return path;
}

}  // namespace trammel::fit
