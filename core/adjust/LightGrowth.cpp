// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/LightGrowth.h"

#include <fmt/core.h>

#include <cmath>

namespace trammel::adjust {

double typicalGrowth(const survey::Survey& survey, const Id& group) {
    double sum = 0.0, count = 0.0;
    for (const survey::Mark& m : survey.marks) {
        const survey::Station* station = find(survey.stations, m.station);
        if (m.excluded || !station || station->group != group) continue;
        for (const survey::MarkPoint& p : m.points) {
            if (p.growth_px.isZero()) continue;
            // A corner's two edges both move.
            sum += p.growth_px.squaredNorm() / (m.points.size() == 1 ? 2.0 : 1.0);
            count += 1.0;
        }
    }
    return std::sqrt(sum / std::max(count, 1.0));
}

std::vector<LightGrowth> lightGrowths(const Network& n, const estimate::CovarianceFactor& covariance,
                                      double inflation) {
    std::vector<LightGrowth> out;
    const survey::Survey& s = n.survey();
    for (std::size_t i = 0; i < s.groups.size(); ++i) {
        const int column = n.columns().groups[i][9];
        if (column < 0) continue;
        LightGrowth g;
        g.group = s.groups[i].id;
        g.share = n.state().groups[i].growth;
        g.plusMinus = 2.0 * inflation * std::sqrt(std::max(0.0, covariance.variance({{column, 1.0}})));
        g.perUnit_px = typicalGrowth(s, g.group);
        if (std::abs(g.share) > g.plusMinus)
            g.sentence = fmt::format(
                "In the photographs of {} {} by {:.2f} ± {:.2f} of the blur: fitted edges lie about {:.2f} "
                "px towards the {}. The dimensions are corrected for it.",
                describe(s, g.group), g.share > 0 ? "light grows over dark" : "dark grows over light",
                std::abs(g.share), g.plusMinus, std::abs(g.share) * g.perUnit_px,
                g.share > 0 ? "dark" : "light");
        out.push_back(std::move(g));
    }
    return out;
}

}  // namespace trammel::adjust
