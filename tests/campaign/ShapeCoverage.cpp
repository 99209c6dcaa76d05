// SPDX-License-Identifier: GPL-3.0-or-later
#include "ShapeCoverage.h"

#include <fmt/core.h>

#include <chrono>
#include <cmath>
#include <functional>
#include <map>
#include <thread>

#include "KolmogorovSmirnov.h"
#include "Shapes.h"
#include "core/adjust/Adjust.h"
#include "core/math/Statistics.h"
#include "core/survey/Names.h"

namespace trammel::campaign {
namespace {

struct Tally {
    std::map<std::string, Count> kinds;
    std::vector<double> levels;  ///< probability that χ² stays below each survey's sum
    int failed = 0, withSuspects = 0, failedHigh = 0;

    void add(const Tally& o) {
        for (const auto& [name, count] : o.kinds) kinds[name].add(count);
        levels.insert(levels.end(), o.levels.begin(), o.levels.end());
        failed += o.failed, withSuspects += o.withSuspects, failedHigh += o.failedHigh;
    }
};

/// One survey. The sum of squares is that of all observations: with some set aside it would be no χ².
void one(const Drawn& drawn, Tally& tally) {
    const auto r = adjust::adjust(drawn.survey);
    adjust::Options all;
    all.findSuspects = all.withCovariance = false;
    const bool aside = r && !r->suspects.empty();
    const auto whole = aside ? adjust::adjust(drawn.survey, all) : r;
    if (!r || !whole) {
        ++tally.failed;
        return;
    }
    tally.withSuspects += aside;
    tally.failedHigh += whole->global.varianceFactor > whole->global.high;
    const double dof = whole->global.degreesOfFreedom;
    tally.levels.push_back(1.0 - stats::chiSquareUpperTail(whole->global.varianceFactor * dof, dof));
    for (const survey::Dimension& d : wantedDimensions(drawn.survey)) {
        const auto m = r->measure(d);
        const auto t = drawn.truth.value(d.quantity, d.objects);
        if (m && t && m->plusMinus > 0)
            tally.kinds[std::string(survey::quantityName(d.quantity))].add(m->value - *t, m->plusMinus);
    }
}

Tally run(const Shape& shape, int draws) {
    constexpr int kThreads = 2;
    std::vector<Tally> parts(kThreads);
    std::vector<std::thread> threads;
    for (int t = 0; t < kThreads; ++t)
        threads.emplace_back([&shape, &parts, t, draws] {
            for (int seed = 1 + t; seed <= draws; seed += kThreads)
                one(draw(shape, static_cast<std::uint64_t>(seed)), parts[static_cast<std::size_t>(t)]);
        });
    for (std::thread& thread : threads) thread.join();
    Tally sum;
    for (const Tally& part : parts) sum.add(part);
    return sum;
}

/// Bounds of a share, %: as promised, and as much wider as three standard deviations of chance make them when
/// all values of one draw hang together. Few draws may well cover everything.
bool inside(double share, double low, double high, int draws) {
    const double room = std::max(0.0, 300.0 * std::sqrt(0.954 * 0.046 / draws) - 1.5);
    return share >= low - room && share <= high + room;
}

bool print(const Shape& shape, const Tally& t, int draws, double seconds) {
    bool good = t.failed == 0;
    const double d = test::kolmogorovSmirnov(t.levels);
    const double p = test::kolmogorovSmirnovTail(d, static_cast<double>(t.levels.size()));
    good = good && p > 0.001;
    fmt::print(
        "{}: {} draws ({:.1f} ms each), {} failed, {:.1f} % with suspects, {:.1f} % above the global test\n",
        shape.name, draws, 1000 * seconds / draws, t.failed, 100.0 * t.withSuspects / draws,
        100.0 * t.failedHigh / draws);
    fmt::print("  sum of squares against chi-square: distance {:.4f}, probability {:.3f}{}\n", d, p,
               p > 0.001 ? "" : "  <- not chi-square");
    for (const auto& [name, c] : t.kinds) {
        const bool fine = inside(c.share(), 92.0, 98.0, draws);
        good = good && fine;
        fmt::print("  {:<10} {:>7} values, ± covers {:5.1f} %, normalised error {:.3f}{}\n", name, c.total,
                   c.share(), std::sqrt(c.normalised / c.total), fine ? "" : "  <- outside the bounds");
    }
    return good;
}

}  // namespace

std::vector<survey::Dimension> wantedDimensions(const survey::Survey& s) {
    std::vector<survey::Dimension> all = s.dimensions;
    const auto add = [&all](survey::Quantity q, std::vector<survey::Id> objects) {
        survey::Dimension d;
        d.quantity = q;
        d.objects = std::move(objects);
        all.push_back(d);
    };
    std::map<survey::Id, survey::Id> lastEdge;
    for (const survey::Feature& f : s.features) {
        if (f.kind == survey::FeatureKind::Edge) {
            if (lastEdge.contains(f.level)) add(survey::Quantity::Angle, {lastEdge[f.level], f.id});
            lastEdge[f.level] = f.id;
            continue;
        }
        if (f.kind == survey::FeatureKind::Arc) add(survey::Quantity::Radius, {f.id});
        if (f.kind == survey::FeatureKind::Hole) add(survey::Quantity::Diameter, {f.id});
        for (const auto q : {survey::Quantity::OffsetX, survey::Quantity::OffsetY})
            if (f.id != s.datum.origin && !(q == survey::Quantity::OffsetY && f.id == s.datum.direction))
                add(q, {s.datum.origin, f.id});
    }
    for (const survey::Level& l : s.levels)
        if (l.id != s.datum.level) add(survey::Quantity::Height, {l.id});
    return all;
}

bool shapeCoverage(int draws) {
    Count overall;
    bool good = true;
    for (const Shape& shape : shapes()) {
        const auto begin = std::chrono::steady_clock::now();
        const Tally t = run(shape, draws);
        const std::chrono::duration<double> took = std::chrono::steady_clock::now() - begin;
        good = print(shape, t, draws, took.count()) && good;
        for (const auto& [name, count] : t.kinds) overall.add(count);
    }
    const bool fine = inside(overall.share(), 94.0, 96.0, draws);
    fmt::print("all shapes: {} values, ± covers {:.2f} %, normalised error {:.3f}{}\n", overall.total,
               overall.share(), std::sqrt(overall.normalised / std::max(overall.total, 1)),
               fine ? "" : "  <- outside the bounds");
    return good && fine;
}

}  // namespace trammel::campaign
