// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/Suspects.h"

#include <fmt/core.h>

#include <cmath>
#include <numbers>

namespace trammel::adjust {
namespace {

/// Two figures that matter, never as a power of ten.
std::string about(double v) { return v >= 100 ? fmt::format("{:.0f}", v) : fmt::format("{:.2g}", v); }

Suspect accuseMark(const Network& n, const Assessment& a) {
    const survey::Mark& mark = *find(n.survey().marks, a.result.object);
    const survey::Feature* feature = find(n.survey().features, mark.feature);
    const bool corner = feature && feature->kind == survey::FeatureKind::Corner;
    const double off = corner && a.result.residual.size() == 2 ? a.result.residual.norm()
                                                               : a.result.residual.cwiseAbs().maxCoeff();
    Suspect s;
    s.estimatedError = off;
    s.sentence = fmt::format(
        "The {} lies {} px from where everything else puts it: look whether it was placed on the wrong "
        "edge or tied to the wrong feature.",
        a.result.description, about(off));
    return s;
}

Suspect accuseReading(const Network& n, const Assessment& a) {
    const survey::Reading& r = *find(n.survey().readings, a.result.object);
    Suspect s;
    s.estimatedError = a.result.residual[0];
    const bool angle = r.quantity == survey::Quantity::Angle;
    const double scale = angle ? 180.0 / std::numbers::pi : 1.0;
    s.sentence = fmt::format("The {} says {:.6g} {}, about {} {} too {} against everything else: {}.",
                             a.result.description, r.measured.value * scale, angle ? "°" : "mm",
                             about(std::abs(s.estimatedError) * scale), angle ? "°" : "mm",
                             s.estimatedError > 0 ? "large" : "small",
                             r.reference ? "check the length typed, and that it lies where it was marked"
                                         : "take it again, and check its ends and the digits typed");
    return s;
}

Suspect accusePrior(const Network& n, const Assessment& a, bool square) {
    Suspect s;
    s.estimatedError = a.result.residual.norm();
    if (square) {
        s.sentence = fmt::format(
            "{} was not taken square to the part (about {:.1f}° off): give it the view it "
            "really has, or allow a wider tilt.",
            describe(n.survey(), a.result.object), s.estimatedError * 180.0 / std::numbers::pi);
        s.sentence[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(s.sentence[0])));
    } else {
        s.sentence = fmt::format(
            "The {} disagrees with the photographs by {:.1f} times its ±: check the focal "
            "length, and that the lens was not refocused between photographs.",
            a.result.description, s.estimatedError);
    }
    return s;
}

}  // namespace

int worstDisagreement(const Network& network, const std::vector<Assessment>& assessments, double probability,
                      const std::vector<bool>& immune) {
    int worst = -1;
    double least = std::log(probability);
    for (std::size_t i = 0; i < assessments.size(); ++i) {
        if (!network.owners()[i].active || immune[i] || assessments[i].result.size == 0) continue;
        if (assessments[i].logProbability < least) {
            least = assessments[i].logProbability;
            worst = static_cast<int>(i);
        }
    }
    return worst;
}

Suspect accuse(const Network& network, int owner, const Assessment& a) {
    Suspect s;
    const Owner::Kind kind = network.owners()[at(owner)].kind;
    if (kind == Owner::Kind::Mark)
        s = accuseMark(network, a);
    else if (kind == Owner::Kind::Reading)
        s = accuseReading(network, a);
    else
        s = accusePrior(network, a, kind == Owner::Kind::SquarePrior);
    s.object = a.result.object;
    s.w = a.result.w;
    return s;
}

}  // namespace trammel::adjust
