// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/Suspects.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>

#include "core/adjust/NetworkConstants.h"
#include "core/adjust/ReadingCause.h"
#include "core/adjust/TieCause.h"

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

Suspect accuseReading(const Influence& influence, int owner, const Assessment& a) {
    const survey::Reading& r = *find(influence.network().survey().readings, a.result.object);
    Suspect s;
    s.estimatedError = a.result.residual[0];
    const bool angle = r.quantity == survey::Quantity::Angle;
    const double scale = angle ? 180.0 / std::numbers::pi : 1.0;
    const double doubt = r.measured.sigma * std::sqrt(influence.Q(owner)(0, 0));
    const ReadingGuess guess = guessReading(r.quantity, r.measured.value * scale,
                                            (r.measured.value - s.estimatedError) * scale, doubt * scale);
    if (guess.cause != Cause::Unknown) {
        s.cause = guess.cause;
        s.likelyValue = guess.value / scale;
        s.sentence = fmt::format("The {} says {:.6g} {}; {:.6g} would agree with everything else ({}).",
                                 a.result.description, r.measured.value * scale, angle ? "°" : "mm",
                                 guess.value, guess.why);
        return s;
    }
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
    } else if (a.result.description.starts_with(kConstantNames[9])) {
        s.sentence = fmt::format(
            "The {} disagrees with marks and readings by {:.1f} times its ±: look whether white is at its "
            "ceiling in the photographs or their curve was bent, and whether readings were taken over burrs.",
            a.result.description, s.estimatedError);
    } else {
        s.sentence = fmt::format(
            "The {} disagrees with the photographs by {:.1f} times its ±: check the focal "
            "length, and that the lens was not refocused between photographs.",
            a.result.description, s.estimatedError);
    }
    return s;
}

Suspect accuseCondition(const Network& n, const Assessment& a) {
    const survey::Condition& c = *find(n.survey().conditions, a.result.object);
    Suspect s;
    s.estimatedError = a.result.residual.cwiseAbs().maxCoeff();
    s.sentence = fmt::format(
        "The {} does not hold: the part misses it by {} mm where {:.2g} mm was allowed. Remove it, or look "
        "at the marks of its features.",
        a.result.description, about(s.estimatedError), c.measured.sigma);
    return s;
}

Suspect accuseMirror(const Assessment& a) {
    Suspect s;
    s.estimatedError = a.result.residual.norm();
    s.sentence = fmt::format(
        "The {} lies {} px from where everything else puts the reflected lens: look whether the mirror lay "
        "flat on the part, and whether the middle of the lens was marked.",
        a.result.description, about(s.estimatedError));
    return s;
}

Suspect accuseCrop(const Network& n, const Assessment& a) {
    Suspect s;
    s.estimatedError = a.result.residual.norm();
    s.sentence = fmt::format(
        "The picture of {} cannot have been cut from the full frame that was entered: look at the frame's "
        "size, and whether the picture was scaled.",
        describe(n.survey(), a.result.object));
    return s;
}

Suspect accuseFocus(const Assessment& a) {
    Suspect s;
    s.estimatedError = a.result.residual.norm();
    s.sentence = fmt::format(
        "The {} does not hold ({:.1f} times its ±): look whether it is one lens at one zoom, or allow it to "
        "breathe more.",
        a.result.description, s.estimatedError);
    return s;
}

}  // namespace

int worstDisagreement(const Network& network, const std::vector<Assessment>& assessments, double probability,
                      const std::vector<bool>& immune) {
    int worst = -1;
    double least = std::log(probability);
    for (std::size_t i = 0; i < assessments.size(); ++i) {
        if (!network.owners()[i].active || immune[i] || assessments[i].result.size == 0) continue;
        // Of equals the first: which one rounding puts ahead must not decide.
        if (assessments[i].logProbability < least - (worst < 0 ? 0.0 : 1e-6 * std::abs(least))) {
            least = assessments[i].logProbability;
            worst = static_cast<int>(i);
        }
    }
    return worst;
}

namespace {

Suspect accuse(const Influence& influence, int owner, const Assessment& a) {
    const Network& network = influence.network();
    Suspect s;
    const Owner::Kind kind = network.owners()[at(owner)].kind;
    if (kind == Owner::Kind::Mark)
        s = accuseMark(network, a);
    else if (kind == Owner::Kind::Reading)
        s = accuseReading(influence, owner, a);
    else if (kind == Owner::Kind::Condition)
        s = accuseCondition(network, a);
    else if (kind == Owner::Kind::Mirror)
        s = accuseMirror(a);
    else if (kind == Owner::Kind::FocusPrior)
        s = accuseFocus(a);
    else if (kind == Owner::Kind::CropPrior)
        s = accuseCrop(network, a);
    else
        s = accusePrior(network, a, kind == Owner::Kind::SquarePrior);
    s.object = a.result.object;
    s.w = a.result.w;
    return s;
}

/// An error with its unit, for any kind of owner.
std::string errorOf(const Network& n, int owner, double error) {
    const Owner& o = n.owners()[at(owner)];
    if (o.kind == Owner::Kind::Mark || o.kind == Owner::Kind::Mirror) return about(std::abs(error)) + " px";
    const survey::Reading* r = find(n.survey().readings, o.object);
    const bool angle = o.kind == Owner::Kind::SquarePrior || (r && r->quantity == survey::Quantity::Angle);
    if (angle) return about(std::abs(error) * 180.0 / std::numbers::pi) + "°";
    const bool relative = o.kind == Owner::Kind::CameraPrior || o.kind == Owner::Kind::FocusPrior ||
                          o.kind == Owner::Kind::CropPrior;
    return relative ? about(std::abs(error)) + " times its ±" : about(std::abs(error)) + " mm";
}

Suspect accuseEither(const Network& n, const SetAside& aside) {
    Suspect s;
    const ObservationResult& r = aside.seen.result;
    const Eigen::Index most = [&] {
        Eigen::Index i = 0;
        r.residual.cwiseAbs().maxCoeff(&i);
        return i;
    }();
    s.object = r.object;
    s.w = r.w;
    s.estimatedError = r.residual[most];
    s.sentence = fmt::format("Either the {} is wrong (by about {})", r.description,
                             errorOf(n, aside.owner, s.estimatedError));
    for (const auto& a : aside.alternatives) {
        s.alternatives.push_back(n.owners()[at(a.owner)].object);
        s.sentence += fmt::format(" or the {} (by about {})", n.owners()[at(a.owner)].description,
                                  errorOf(n, a.owner, a.error));
    }
    s.sentence +=
        aside.bothAside
            ? ": the photographs and readings cannot tell which, and the dimensions stand without them."
            : ": the photographs and readings cannot tell which. Nothing else holds what they hold, so that "
              "what "
              "depends on them may be wrong.";
    s.decidedBy = aside.decidedBy;
    if (!s.decidedBy.empty()) s.sentence += " " + s.decidedBy;
    return s;
}

/// Marks of one photograph that lie on one another's features are exchanged; others are tied wrongly.
void nameTies(const Network& n, const std::map<int, TieGuess>& ties, std::map<int, Suspect>& suspects) {
    for (const auto& [owner, tie] : ties) {
        const survey::Mark& mark = *find(n.survey().marks, n.owners()[at(owner)].object);
        Suspect& s = suspects[owner];
        s.cause = Cause::WrongTie;
        s.likelyFeature = tie.feature;
        for (const auto& [other, back] : ties) {
            const survey::Mark& m = *find(n.survey().marks, n.owners()[at(other)].object);
            const auto is = [](const TieGuess& t, const Id& f) { return t.feature == f || t.orElse == f; };
            if (m.station != mark.station || !is(tie, m.feature) || !is(back, mark.feature)) continue;
            s.cause = Cause::SwappedTies;
            s.likelyFeature = m.feature;
        }
        const std::string self = describe(n.survey(), mark.feature),
                          there = describe(n.survey(), s.likelyFeature),
                          where = describe(n.survey(), mark.station);
        s.sentence =
            s.cause == Cause::SwappedTies
                ? fmt::format("The marks of {} and {} in {} look exchanged: each lies on the other.", self,
                              there, where)
                : fmt::format("The mark of {} in {} lies on {}{} ({} px off): tied to the wrong feature?",
                              self, where, there,
                              tie.orElse.empty() ? "" : " or on " + describe(n.survey(), tie.orElse),
                              about(tie.off));
    }
}

}  // namespace

std::vector<Suspect> nameSuspects(const Influence& influence, const std::vector<Assessment>& assessments,
                                  const std::vector<SetAside>& aside) {
    const Network& n = influence.network();
    std::vector<int> order;
    std::map<int, double> marks;
    std::map<int, Suspect> suspects;
    std::map<int, double> chance;
    for (const SetAside& s : aside) {
        const bool either = !s.alternatives.empty();
        const Assessment& a = either ? s.seen : assessments[at(s.owner)];
        if (a.result.object.empty()) continue;
        suspects[s.owner] = either ? accuseEither(n, s) : accuse(influence, s.owner, a);
        chance[s.owner] = a.logProbability;
        order.push_back(s.owner);
        if (n.owners()[at(s.owner)].kind == Owner::Kind::Mark && !either)
            marks[s.owner] = a.result.residual.cwiseAbs().maxCoeff();
    }
    nameTies(n, guessTies(influence, marks), suspects);
    std::stable_sort(order.begin(), order.end(), [&](int a, int b) { return chance[a] < chance[b]; });
    std::vector<Suspect> out;
    for (const int o : order) out.push_back(suspects[o]);
    return out;
}

}  // namespace trammel::adjust
