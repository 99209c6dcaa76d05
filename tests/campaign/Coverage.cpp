// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "Campaign.h"
#include "ShapeCoverage.h"
#include "core/adjust/Adjust.h"
#include "core/survey/Names.h"

namespace trammel::campaign {
namespace {

bool run(const Sample& sample, bool fitted, int draws) {
    std::map<std::string, Count> kinds;
    Count overall;
    int failed = 0, iterations = 0;
    for (int seed = 1; seed <= draws; ++seed) {
        const survey::Survey s = sample.observer.draw(marks(fitted, static_cast<std::uint64_t>(seed)));
        const auto r = adjust::adjust(s);
        if (!r) {
            fmt::print("draw {}: {}\n", seed, r.error().sentence());
            ++failed;
            continue;
        }
        iterations = std::max(iterations, r->iterations);
        for (const survey::Dimension& d : wantedDimensions(s)) {
            const auto m = r->measure(d);
            const auto t = sample.truth.value(d.quantity, d.objects);
            if (!m || !t || !(m->plusMinus > 0)) continue;
            kinds[std::string(survey::quantityName(d.quantity))].add(m->value - *t, m->plusMinus);
            overall.add(m->value - *t, m->plusMinus);
        }
    }
    fmt::print("{} marks, {} draws, {} failed, at most {} iterations\n", fitted ? "fitted" : "hand", draws,
               failed, iterations);
    // 200 draws leave about ±1 % of chance in a kind; a short form is given room for its fewer draws.
    const double room = draws >= 200 ? 0.0 : 4.0;
    bool good = failed == 0;
    kinds["overall"] = overall;
    for (const auto& [name, c] : kinds) {
        // The share alone cannot tell a ± that is far too wide: the normalised error must be near 1 as well.
        const double normalised = std::sqrt(c.normalised / std::max(c.total, 1));
        const bool inside = c.share() >= 93.0 - room && c.share() <= std::min(97.0 + room, 99.0) &&
                            normalised > 0.85 - room / 40 && normalised < 1.15 + room / 40;
        good = good && inside;
        fmt::print("  {:<10} {:>7} values, ± covers {:5.1f} %, normalised error {:.3f}{}\n", name, c.total,
                   c.share(), std::sqrt(c.normalised / std::max(c.total, 1)),
                   inside ? "" : "  <- outside the bounds");
    }
    return good;
}

}  // namespace

int coverage(const Settings& settings) {
    const Sample sample(settings.scene);
    fmt::print("Coverage of the ± (k = 2) against truth; 95.4 % expected\n");
    const int ofSample = std::min(settings.draws, 200);
    const bool hand = run(sample, false, ofSample);
    const bool fitted = run(sample, true, ofSample);
    return shapeCoverage(settings.draws) && hand && fitted ? 0 : 1;
}

}  // namespace trammel::campaign
