// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/Limits.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "core/adjust/LightGrowth.h"

namespace trammel::adjust {
namespace {

/// Relative ± (k = 2) of a principal distance above which the photographs alone are said not to tell it.
constexpr double kVagueDistance = 0.05;
constexpr double kVagueHeight_mm = 1.0;
constexpr double kVagueCrop_px = 50.0;
/// Share of the prior's σ above which the observations hardly tell a growth of light.
constexpr double kHardlyTold = 0.6;
/// A step within this many of its σ without the depths may as well go the other way (0.1 % of the normal).
constexpr double kSideTold = 3.1;
constexpr std::size_t kNamed = 3;  ///< marks named one by one

struct Teller {
    const Network& n;
    const estimate::CovarianceFactor& covariance;
    double inflation;
    std::vector<std::string> out{};

    double plusMinus(int column) const {
        return 2.0 * inflation * std::sqrt(std::max(0.0, covariance.variance({{column, 1.0}})));
    }
    std::string named(const survey::Id& id) const { return describe(n.survey(), id); }

    /// The dimensions whose doubt comes for a good part from this unknown.
    std::string leaningOn(int column) const {
        const std::string names = leaners(column);
        return names.empty() ? "the dimensions do not need it" : "it weakens " + names;
    }

    std::string leaners(int column) const {
        constexpr double kGoodPart = 0.1;  // of the variance
        const VecX reach = covariance.times({{column, 1.0}});
        std::string names;
        for (const survey::Dimension& d : n.survey().dimensions) {
            const auto term = resolve(n.survey(), d.quantity, d.objects, d.id);
            if (!term) continue;
            const estimate::Gradient g = evaluate(*term, n.state(), n.columns()).gradient;
            double shared = 0.0;
            for (const auto& [c, by] : g) shared += by * reach[c];
            const double variance = covariance.variance(g);
            if (variance > 0 && shared * shared > kGoodPart * variance * reach[column])
                names += (names.empty() ? "" : ", ") + (d.name.empty() ? d.id : d.name);
        }
        return names;
    }

    void growths(const std::vector<LightGrowth>& found) {
        for (const LightGrowth& g : found) {
            const survey::CameraGroup& group = *find(n.survey().groups, g.group);
            const auto at = static_cast<std::size_t>(&group - n.survey().groups.data());
            const bool prior = group.lightGrowth.mode == survey::ConstantMode::Prior;
            if (prior && g.plusMinus < kHardlyTold * 2.0 * inflation * group.lightGrowth.sigma) continue;
            const std::string names = leaners(n.columns().groups[at][9]);
            if (names.empty()) continue;
            out.push_back(fmt::format(
                "How far light grows over dark in the photographs of {} is known to ± {:.2f} of the blur "
                "only ({:.2f} px at every fitted edge); it weakens {}. Measure the width of something light "
                "and of something dark (a tongue and a slot or hole) with the caliper.",
                named(g.group), g.plusMinus, g.plusMinus * g.perUnit_px, names));
        }
    }

    /// No ± covers what nobody asked for: how far the camera's curve departs from the one that fits assume.
    void untoldGrowth() {
        const survey::Survey& s = n.survey();
        for (const survey::CameraGroup& group : s.groups) {
            const double perUnit = typicalGrowth(s, group.id);
            if (perUnit <= 0.0 || !(group.lightGrowth == survey::Constant{})) continue;
            double scale = 0.0;  // px/mm of the photograph that shows the part smallest
            for (std::size_t i = 0; i < s.stations.size(); ++i)
                if (s.stations[i].group == group.id && !s.stations[i].excluded) {
                    const double here = std::exp(n.state().stations[i].lnScale);
                    scale = scale > 0.0 ? std::min(scale, here) : here;
                }
            if (scale <= 0.0) continue;
            out.push_back(fmt::format(
                "Fits take {} to follow the standard tone curve (sRGB), with no white at its "
                "ceiling. Where it does not, widths of light things come out up to {:.2f} mm too large and "
                "those of dark things, holes too, as much too small, or the other way about, and no ± says "
                "so: trammel adjust --growth finds out, with a caliper width of something light or dark.",
                named(group.id), 2.0 * 2.0 * survey::kGrowthSigma * perUnit / scale));
        }
    }

    void cameras() {
        const survey::Survey& s = n.survey();
        for (std::size_t g = 0; g < s.groups.size(); ++g) {
            const int column = n.columns().groups[g][0];
            if (column < 0) continue;
            const double doubt = plusMinus(column);
            if (doubt > kVagueDistance)
                out.push_back(fmt::format(
                    "The photographs cannot tell the principal distance of {} ({:.0f} px ± {:.0f} %), "
                    "and so not how far the camera stood; {}.",
                    named(s.groups[g].id), std::exp(-n.state().groups[g].lnKappa), 100 * doubt,
                    leaningOn(column)));
        }
        for (std::size_t i = 0; i < s.stations.size(); ++i) {
            const auto& c = n.columns().stations[i];
            double doubt = 0.0;
            for (const int column : {c[6], c[7]})
                if (column >= 0) doubt = std::max(doubt, plusMinus(column));
            if (doubt > kVagueCrop_px)
                out.push_back(fmt::format(
                    "Where the picture of {} lay in the full frame is known to ± {:.0f} px only; the "
                    "lens's distortion there is as doubtful.",
                    named(s.stations[i].id), doubt));
        }
    }

    void heights() {
        const survey::Survey& s = n.survey();
        for (std::size_t l = 0; l < s.levels.size(); ++l) {
            const int column = n.columns().levels[l];
            if (column < 0) continue;
            const double doubt = plusMinus(column);
            if (doubt > kVagueHeight_mm)
                out.push_back(
                    fmt::format("The height of {} is known to ± {:.1f} mm only: measure its depth from "
                                "another level, or mark it in a side view.",
                                named(s.levels[l].id), doubt));
        }
    }

    /// Depths have no sign: where nothing else tells which of two things lies higher, the start decided.
    /// Three depths that close a triangle, with nothing else, hide that from each other: not seen through
    /// here.
    void sides() {
        std::vector<const NetworkReading*> said;
        for (const NetworkReading& r : n.readings()) {
            const auto same = [&](const NetworkReading* o) { return betweenTheSame(r, *o); };
            if (!isDepth(r) || std::any_of(said.begin(), said.end(), same)) continue;
            said.push_back(&r);
            const QuantityValue depth = evaluate(r.term, n.state(), n.columns());
            const double variance = covariance.variance(depth.gradient);
            if (variance <= 0) continue;
            double rest = 1 / variance;  // of the information; less what the depths between both say
            for (const NetworkReading& o : n.readings())
                if (isDepth(o) && same(&o)) rest -= 1 / (o.measured.sigma * o.measured.sigma);
            const double told = rest > 0 ? depth.value * std::sqrt(rest) : 0.0;  // in σ of the rest
            if (told < kSideTold * inflation) out.push_back(untoldSide(r));
        }
    }

    std::string untoldSide(const NetworkReading& r) const {
        const survey::Reading& reading =
            *find(n.survey().readings, n.owners()[static_cast<std::size_t>(r.owner)].object);
        const auto height = [&](const QuantityTerm::Object& o) {
            return evaluate({survey::Quantity::Height, {o}}, n.state(), n.columns()).value;
        };
        return fmt::format(
            "Nothing tells whether {} lies above or below {}: a depth has no sign, and the photographs do "
            "not "
            "show the side. It was taken to lie {}: look whether it does, then give its height above the "
            "datum, with its sign, in place of the depth, or mark it in a side view.",
            named(reading.objects.back()), named(reading.objects.front()),
            height(r.term.objects.back()) > height(r.term.objects.front()) ? "above" : "below");
    }

    bool isDepth(const NetworkReading& r) const {
        return r.term.quantity == survey::Quantity::Depth &&
               n.owners()[static_cast<std::size_t>(r.owner)].active && r.measured.sigma > 0;
    }

    static bool betweenTheSame(const NetworkReading& a, const NetworkReading& b) {
        const auto equal = [](const QuantityTerm::Object& x, const QuantityTerm::Object& y) {
            return x.kind == y.kind && x.index == y.index;
        };
        const auto &p = a.term.objects, &q = b.term.objects;
        return (equal(p.front(), q.front()) && equal(p.back(), q.back())) ||
               (equal(p.front(), q.back()) && equal(p.back(), q.front()));
    }

    void marks(const std::vector<ObservationResult>& observations) {
        std::string names;
        std::size_t count = 0;
        for (const ObservationResult& o : observations) {
            if (o.controlled || o.check || !find(n.survey().marks, o.object)) continue;
            if (count++ < kNamed) names += (names.empty() ? "" : ", ") + o.description;
        }
        if (count == 0) return;
        out.push_back(
            fmt::format("Nothing else speaks of some marks ({}{}): an error there would not show. Mark the "
                        "same features in "
                        "another photograph, or take a reading of them.",
                        names, count > kNamed ? fmt::format(" and {} more", count - kNamed) : ""));
    }
};

}  // namespace

std::vector<std::string> limits(const Network& network, const estimate::CovarianceFactor& covariance,
                                const std::vector<ObservationResult>& observations,
                                const std::vector<LightGrowth>& lightGrowths, double inflation) {
    Teller t{network, covariance, inflation};
    t.cameras();
    t.growths(lightGrowths);
    t.untoldGrowth();
    t.heights();
    t.sides();
    t.marks(observations);
    return std::move(t.out);
}

}  // namespace trammel::adjust
