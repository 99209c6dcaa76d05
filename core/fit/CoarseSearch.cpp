// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/fit/CoarseSearch.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "core/fit/Light.h"
#include "core/math/Statistics.h"

namespace trammel::fit {
namespace {

constexpr double kGrid = 0.5;           // px between hypotheses
constexpr double kFlat = 1e-6;          // of light per px: what rounding leaves of a flat surface
constexpr double kLeastSupport = 0.22;  // below this nothing edge-like runs along the whole stroke
constexpr double kSureOdds = 3.5;       // a rival must be e^3.5 = 33 times less likely
constexpr double kBrokenRival = 0.55;   // share of its own way along which a rival must show
constexpr double kFaintRival = 0.35;    // share of the chosen edge's support below which a rival is texture

/// As lightAt, well inside the picture.
double bilinearInside(const photo::LinearImage& image, const Vec2& p) {
    const int x = static_cast<int>(p.x()), y = static_cast<int>(p.y());
    const double u = p.x() - x, v = p.y() - y;
    const float* at = image.data.data() + static_cast<std::size_t>(y) * image.width + x;
    const float* below = at + image.width;
    return (1 - v) * ((1 - u) * at[0] + u * at[1]) + v * ((1 - u) * below[0] + u * below[1]);
}

bool within(const photo::LinearImage& image, const Vec2& p) {
    return p.x() >= 0.0 && p.y() >= 0.0 && p.x() <= image.width - 1 && p.y() <= image.height - 1;
}

/// Derivative of a Gaussian of 1 px sampled at half pixels, scaled so that a ramp of 1/px gives 1.
std::array<double, 13> derivativeKernel() {
    std::array<double, 13> k{};
    double gain = 0.0;
    for (int i = -6; i <= 6; ++i) {
        const double x = i * Profiles::kStep;
        k[i + 6] = x * std::exp(-0.5 * x * x);
        gain += k[i + 6] * x;
    }
    for (double& v : k) v /= gain;
    return k;
}

/// All grid members of a family: their supports, and neighbours by index arithmetic.
struct Grid {
    std::vector<int> count;  // per coefficient
    std::vector<float> score;
    std::size_t size() const {
        std::size_t n = 1;
        for (int c : count) n *= static_cast<std::size_t>(c);
        return n;
    }
    std::vector<int> indices(std::size_t i) const {
        std::vector<int> out(count.size());
        for (std::size_t k = 0; k < count.size(); ++k) {
            out[k] = static_cast<int>(i % count[k]);
            i /= count[k];
        }
        return out;
    }
};

/// True when no neighbour within two grid steps has a larger score of the same sign.
bool isExtreme(const Grid& grid, std::size_t i) {
    const double sign = grid.score[i] < 0 ? -1.0 : 1.0, own = sign * grid.score[i];
    std::size_t apart = 1, rest = i;
    for (const int count : grid.count) {  // most fail at a next neighbour already
        const int column = static_cast<int>(rest % count);
        if (column > 0 && sign * grid.score[i - apart] > own) return false;
        if (column + 1 < count && sign * grid.score[i + apart] > own) return false;
        rest /= count;
        apart *= static_cast<std::size_t>(count);
    }
    const std::vector<int> at = grid.indices(i);
    std::vector<int> step(at.size(), -2);
    while (true) {
        std::size_t j = 0, stride = 1;
        bool inside = true;
        for (std::size_t k = 0; k < at.size(); ++k) {
            const int c = at[k] + step[k];
            inside = inside && c >= 0 && c < grid.count[k];
            j += static_cast<std::size_t>(std::max(c, 0)) * stride;
            stride *= static_cast<std::size_t>(grid.count[k]);
        }
        if (inside && j != i) {
            const double other = sign * grid.score[j];
            if (other > own || (other == own && j < i)) return false;
        }
        std::size_t k = 0;
        while (k < step.size() && ++step[k] > 2) step[k++] = -2;
        if (k == step.size()) return true;
    }
}

/// Adds one profile's votes to the members that differ in the first coefficient only. Their places on the
/// profile are base, base ± by, base ± 2·by … samples from its middle.
void vote(const float* middle, int half, double base, double by, float* score, int count) {
    const auto nearest = [](double x) {
        return x < 0.0 ? -static_cast<int>(0.5 - x) : static_cast<int>(x + 0.5);
    };
    if (by == 1.0) {  // neighbours meet neighbouring samples
        const int from = nearest(base) - count / 2;
        const int begin = std::max(0, -half - from), end = std::min(count, half + 1 - from);
        for (int j = begin; j < end; ++j) score[j] += middle[from + j];
        return;
    }
    for (int j = 0; j < count; ++j) {
        const int index = nearest(base + (j - count / 2) * by);
        if (index >= -half && index <= half) score[j] += middle[index];
    }
}

Grid scoreAll(const Profiles& profiles, const Family& family) {
    static_assert(kGrid == Profiles::kStep);  // coefficients count samples
    Grid grid;
    for (double r : family.reach) grid.count.push_back(2 * static_cast<int>(std::ceil(r / kGrid)) + 1);
    grid.score.assign(grid.size(), 0.0f);
    // Root of the steepness, on the grid of the profiles' own samples: looked up, not interpolated.
    const int per = profiles.perProfile, half = per / 2;
    std::vector<float> root(profiles.steep.size());
    for (std::size_t i = 0; i < root.size(); ++i) {
        const double r = profiles.steep[i] / profiles.typical;
        root[i] = static_cast<float>(std::copysign(std::sqrt(std::min(std::abs(r), 1.0)), r));
    }
    const std::size_t shapes = family.shapes.size(),
                      stride = std::max<std::size_t>(1, profiles.s.size() / 64);
    int used = 0;
    std::vector<double> value(shapes);
    for (std::size_t p = 0; p < profiles.s.size(); p += stride, ++used) {
        double base = 0.0;
        for (std::size_t k = 0; k < shapes; ++k) {
            value[k] = family.shapes[k](profiles.s[p]);
            if (k > 0) base -= (grid.count[k] / 2) * value[k];
        }
        const float* middle = root.data() + p * per + half;
        std::vector<int> at(shapes, 0);
        for (std::size_t i = 0; i < grid.score.size(); i += grid.count[0]) {
            vote(middle, half, base, value[0], grid.score.data() + i, grid.count[0]);
            for (std::size_t k = 1; k < shapes; ++k) {
                base += value[k];
                if (++at[k] < grid.count[k]) break;
                base -= grid.count[k] * value[k];
                at[k] = 0;
            }
        }
    }
    for (float& v : grid.score) v /= static_cast<float>(std::max(used, 1));
    return grid;
}

/// Share of the way along which a rival shows, of the part where it runs apart from the other edge. A curve
/// that follows one edge here and another one there is none of its own: between the two it shows nowhere.
double ownShare(const Profiles& profiles, const Family& family, const Candidate& other,
                const Candidate& rival) {
    constexpr double kApart = 1.5, kSteep = 0.3;  // px; of what is typical
    const double sign = rival.support < 0 ? -1.0 : 1.0;
    int apart = 0, shows = 0;
    for (std::size_t p = 0; p < profiles.s.size(); ++p) {
        const double d = rival.offset(family, profiles.s[p]);
        if (std::abs(other.offset(family, profiles.s[p]) - d) < kApart) continue;
        ++apart;
        shows += sign * profiles.at(p, d) > kSteep * profiles.typical ? 1 : 0;
    }
    return apart > 0 ? static_cast<double>(shows) / apart : 0.0;
}

/// Support of a rival from the profiles where it is an edge of its own, not the flank of another one: there
/// the steepness does not grow from the rival's place towards the other.
double ownSupport(const Profiles& profiles, const Family& family, const std::vector<Candidate>& others,
                  const Candidate& rival) {
    const double sign = rival.support < 0 ? -1.0 : 1.0;
    double sum = 0.0;
    for (std::size_t p = 0; p < profiles.s.size(); ++p) {
        const double d = rival.offset(family, profiles.s[p]), own = sign * profiles.at(p, d);
        const bool flank = std::any_of(others.begin(), others.end(), [&](const Candidate& other) {
            const double gap = other.offset(family, profiles.s[p]) - d;
            return std::abs(gap) < 1.0 || own < sign * profiles.at(p, d + std::copysign(1.0, gap));
        });
        if (flank) continue;
        const double share = own / profiles.typical;
        sum += std::copysign(std::sqrt(std::min(std::abs(share), 1.0)), share);
    }
    return sum / static_cast<double>(profiles.s.size());
}

/// Those that are edges of their own beside stronger ones: not the same line once more, and not one that
/// crosses over from line to line. Two at least; the order stays.
std::vector<Candidate> ownLines(const std::vector<Candidate>& all, const Family& family,
                                const Profiles& profiles) {
    std::vector<std::size_t> order(all.size());
    for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
        return std::abs(all[a].support) > std::abs(all[b].support);
    });
    std::vector<bool> keep(all.size(), false);
    std::vector<Candidate> kept;
    for (const std::size_t i : order) {
        if (ownSupport(profiles, family, kept, all[i]) < kFaintRival * std::abs(all.front().support))
            continue;
        keep[i] = true;
        kept.push_back(all[i]);
    }
    if (kept.size() < 2) return {all[0], all[1]};
    kept.clear();
    for (std::size_t i = 0; i < all.size(); ++i)
        if (keep[i]) kept.push_back(all[i]);
    return kept;
}

}  // namespace

Family parabolas(double length, double reach) {
    const auto at = [length](double s) { return 2.0 * s / length - 1.0; };
    return {{[at](double s) { return 0.5 * at(s) * (at(s) - 1.0); },
             [at](double s) { return 1.0 - at(s) * at(s); },
             [at](double s) { return 0.5 * at(s) * (at(s) + 1.0); }},
            {reach, reach, reach}};
}

double rmsDistance(const Family& family, const Candidate& a, const Candidate& b, const Profiles& profiles) {
    double sum = 0.0;
    for (double s : profiles.s) sum += std::pow(a.offset(family, s) - b.offset(family, s), 2);
    return std::sqrt(sum / static_cast<double>(profiles.s.size()));
}

double Profiles::at(std::size_t profile, double d) const {
    const double f = (d + reach) / kStep;
    const int i = static_cast<int>(std::floor(f));
    if (i < 0 || i + 1 >= perProfile) return 0.0;
    const float* row = steep.data() + profile * perProfile;
    return row[i] + (f - i) * (row[i + 1] - row[i]);
}

Profiles sampleProfiles(const photo::LinearImage& image, const Guide& guide, double reach_px) {
    static const std::array<double, 13> kernel = derivativeKernel();
    Profiles out;
    const int half = static_cast<int>(std::ceil(reach_px / Profiles::kStep));
    out.reach = half * Profiles::kStep;
    out.perProfile = 2 * half + 1;
    out.wanted = static_cast<int>(std::clamp(guide.length(), 16.0, 256.0));
    std::vector<double> light(out.perProfile + 12), steep(out.perProfile);
    std::vector<double> peaks;
    for (int i = 0; i < out.wanted; ++i) {
        const double s = guide.length() * (i + 0.5) / out.wanted;
        const Vec2 foot = guide.point(s), normal = guide.normal(s);
        if (!within(image, foot - out.reach * normal) || !within(image, foot + out.reach * normal)) continue;
        const auto place = [&](std::size_t k) -> Vec2 {
            return foot + (static_cast<int>(k) - half - 6) * Profiles::kStep * normal;
        };
        const auto inside = [&](const Vec2& p) {
            return p.x() >= 0 && p.y() >= 0 && p.x() < image.width - 1 && p.y() < image.height - 1;
        };
        if (inside(place(0)) && inside(place(light.size() - 1)))
            for (std::size_t k = 0; k < light.size(); ++k) light[k] = bilinearInside(image, place(k));
        else
            for (std::size_t k = 0; k < light.size(); ++k) light[k] = lightAt(image, place(k));
        std::fill(steep.begin(), steep.end(), 0.0);
        for (std::size_t j = 0; j < kernel.size(); ++j)  // this way round the inner loop is vectorised
            for (std::size_t k = 0; k < steep.size(); ++k) steep[k] += kernel[j] * light[k + j];
        double peak = 0.0;
        for (const double g : steep) {
            out.steep.push_back(static_cast<float>(g));
            peak = std::max(peak, std::abs(g));
        }
        out.s.push_back(s);
        peaks.push_back(peak);
    }
    if (!peaks.empty()) {
        std::nth_element(peaks.begin(), peaks.begin() + peaks.size() / 2, peaks.end());
        out.typical = peaks[peaks.size() / 2];
    }
    return out;
}

double Candidate::offset(const Family& family, double s) const {
    double d = 0.0;
    for (std::size_t k = 0; k < coefficients.size(); ++k) d += coefficients[k] * family.shapes[k](s);
    return d;
}

std::vector<Candidate> searchEdges(const Profiles& profiles, const Family& family,
                                   const std::vector<double>& hand, double handSigma_px) {
    std::vector<Candidate> out;
    if (profiles.s.empty() || !(profiles.typical > kFlat)) return out;
    const Grid grid = scoreAll(profiles, family);
    double best = 0.0;
    for (float v : grid.score) best = std::max(best, std::abs(static_cast<double>(v)));
    if (best < kLeastSupport) return out;
    for (std::size_t i = 0; i < grid.score.size(); ++i) {
        if (std::abs(grid.score[i]) < std::max(kLeastSupport, 0.25 * best) || !isExtreme(grid, i)) continue;
        Candidate c;
        const std::vector<int> at = grid.indices(i);
        for (std::size_t k = 0; k < at.size(); ++k)
            c.coefficients.push_back((at[k] - grid.count[k] / 2) * kGrid);
        c.support = grid.score[i];
        for (double s : hand) c.misfit += std::pow(c.offset(family, s) / handSigma_px, 2);
        c.odds = 1.5 * std::log(std::abs(c.support) / best) - 0.5 * c.misfit;
        out.push_back(c);
    }
    std::sort(out.begin(), out.end(), [](const Candidate& a, const Candidate& b) { return a.odds > b.odds; });
    return out;
}

std::vector<Candidate> plausibleEdges(const std::vector<Candidate>& candidates, const Family& family,
                                      const Profiles& profiles, std::size_t handPoints) {
    if (candidates.empty()) return {};
    const Candidate& first = candidates.front();
    std::vector<Candidate> out = {first};
    const double far = stats::chiSquareQuantile(0.999, static_cast<double>(handPoints));
    for (std::size_t i = 1; i < candidates.size(); ++i) {
        const Candidate& rival = candidates[i];
        // A rival is out of the running only if it is much less likely and the hand could not mean it at all.
        if (first.odds - rival.odds > kSureOdds && rival.misfit >= far) continue;
        const double apart = rmsDistance(family, first, rival, profiles);
        const bool sameSign = (first.support > 0) == (rival.support > 0);
        if (sameSign && apart < 1.2) continue;
        if (ownSupport(profiles, family, {first}, rival) < kFaintRival * std::abs(first.support)) continue;
        if (family.shapes.size() > 2 && ownShare(profiles, family, first, rival) < kBrokenRival) continue;
        out.push_back(rival);
    }
    return out.size() > 1 ? ownLines(out, family, profiles) : out;
}

std::vector<Local> traceEdge(const Profiles& profiles, const Family& family, const Candidate& candidate,
                             double window_px) {
    std::vector<Local> out;
    const double sign = candidate.support < 0 ? -1.0 : 1.0;
    for (std::size_t p = 0; p < profiles.s.size(); ++p) {
        const double centre = candidate.offset(family, profiles.s[p]);
        double best = 0.0, at = 0.0;
        for (double d = centre - window_px; d <= centre + window_px; d += 0.25) {
            const double g = sign * profiles.at(p, d);
            if (g > best) {
                best = g;
                at = d;
            }
        }
        if (best < 0.2 * profiles.typical * std::abs(candidate.support)) continue;
        const double h = Profiles::kStep;
        const double left = sign * profiles.at(p, at - h), right = sign * profiles.at(p, at + h);
        const double bend = left - 2 * best + right;
        if (bend < 0) at += std::clamp(0.5 * h * (left - right) / bend, -h, h);
        out.push_back({profiles.s[p], at});
    }
    return out;
}

}  // namespace trammel::fit
