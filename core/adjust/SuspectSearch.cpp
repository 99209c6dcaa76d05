// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/SuspectSearch.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/adjust/Alternatives.h"
#include "core/adjust/Gross.h"
#include "core/adjust/Suspects.h"
#include "core/math/Statistics.h"

namespace trammel::adjust {
namespace {

/// 2 ln of the odds under which the data are said not to tell one observation from another: 20 to 1.
const double kUndecided = 2.0 * std::log(20.0);
/// By so much must an exchange explain the data better to be made; it is of first order only.
constexpr double kBetter = 2.0;
constexpr std::size_t kMostAlternatives = 2;

/// Largest residual of an owner after the unknowns have moved, in its own unit.
double errorAfter(const OwnerRows& rows, const VecX& move) {
    const VecX e = rows.residual() - along(rows, move);
    double most = 0.0;
    for (Eigen::Index i = 0; i < e.size(); ++i) {
        const double off = e[i] * rows.sigma[static_cast<std::size_t>(i)];
        if (std::abs(off) > std::abs(most)) most = off;
    }
    return most;
}

/// Of each dimension that an exchange moves by more than its own standard uncertainty: as printed it holds
/// only if the one set aside is the one that is wrong.
std::vector<std::string> dependent(const Influence& influence, int one, const Exchange& x) {
    const Network& n = influence.network();
    std::vector<std::string> out;
    for (const survey::Dimension& d : n.survey().dimensions) {
        const auto term = resolve(n.survey(), d.quantity, d.objects, d.id);
        if (!term) continue;
        const QuantityValue q = evaluate(*term, n.state(), n.columns());
        double shift = 0.0;
        for (const auto& [column, slope] : q.gradient)
            if (column >= 0) shift += slope * x.move[column];
        if (!(std::abs(shift) > std::sqrt(std::max(0.0, influence.covariance().variance(q.gradient)))))
            continue;
        const bool angle = d.quantity == survey::Quantity::Angle;
        out.push_back(fmt::format(
            "Dimension {}: either the {} or the {} is wrong; the value printed holds if the former is, and "
            "is "
            "about {:.2g} {} too {} if the latter is.",
            d.name.empty() ? d.id : d.name, n.owners()[at(one)].description,
            n.owners()[at(x.other)].description, std::abs(shift) * (angle ? 180.0 / std::numbers::pi : 1.0),
            angle ? "°" : "mm", shift > 0 ? "small" : "large"));
    }
    return out;
}

}  // namespace

bool SuspectSearch::trySolve() {
    const State before = n_.state();
    auto next = solveRound(n_, options_, progress_, nullptr, true);
    failure_.reset();
    if (!next) {
        failure_ = next.error();
        n_.state() = before;
        n_.forgetFeet();
        return false;
    }
    next->iterations += round_.iterations;
    round_ = *next;
    judge();
    return true;
}

void SuspectSearch::judge() {
    round_.influence = std::make_shared<const Influence>(n_, *round_.covariance);
    assessments_ = assess(*round_.influence);
}

bool SuspectSearch::isAside(int owner) const {
    return std::any_of(aside_.begin(), aside_.end(), [&](const SetAside& s) { return s.owner == owner; });
}

bool SuspectSearch::setAside(int owner) {
    n_.owners()[at(owner)].active = false;
    if (trySolve()) {
        aside_.push_back({owner});
        return true;
    }
    n_.owners()[at(owner)].active = true;
    return false;
}

bool SuspectSearch::takeBack(std::size_t which) {
    const int owner = aside_[which].owner;
    n_.owners()[at(owner)].active = true;
    if (trySolve()) {
        aside_.erase(aside_.begin() + static_cast<std::ptrdiff_t>(which));
        return true;
    }
    n_.owners()[at(owner)].active = false;
    return false;
}

void SuspectSearch::run(const std::vector<int>& gross) {
    for (const int owner : gross) aside_.push_back({owner});
    for (const Owner& owner : n_.owners()) eligible_.push_back(owner.active);
    for (const int owner : gross) eligible_[at(owner)] = true;
    if (!gross.empty()) takeBackAgreeing();
    // Each pass may bring to light what the one before had hidden; it ends where nothing changes.
    for (int pass = 0; pass < 4 && !cancelled(); ++pass) {
        rejectWorst();
        if (cancelled()) return;
        bool changed = takeBackAgreeing();
        if (!cancelled()) changed = exchange() || changed;
        if (!cancelled() && !changed) changed = rejectPair();
        if (!cancelled() && !changed) changed = isGross() && findOtherSet();
        if (!changed) break;
    }
    if (!cancelled()) findAlternatives();
}

void SuspectSearch::noteImmune(int owner) {
    immune_[at(owner)] = true;
    const bool loose = failure_->code == ErrorCode::RankDefect;  // nothing else holds what it holds
    notes_.push_back("The " + n_.owners()[at(owner)].description + " disagrees, but " +
                     (loose ? "without it something is left undetermined: observe it once more."
                            : "the adjustment does not settle without it: look at it first."));
}

void SuspectSearch::rejectWorst() {
    while (static_cast<int>(aside_.size()) < options_.mostSuspects) {
        const int worst = worstDisagreement(n_, assessments_, options_.suspectProbability, immune_);
        if (worst < 0) break;
        if (setAside(worst)) continue;
        if (cancelled()) return;
        noteImmune(worst);
    }
}

bool SuspectSearch::takeBackAgreeing() {
    const double least = std::log(options_.suspectProbability);
    std::vector<bool> tried(n_.owners().size(), false);
    bool changed = false;
    for (;;) {
        std::size_t best = aside_.size();
        for (std::size_t i = 0; i < aside_.size(); ++i) {
            const auto o = at(aside_[i].owner);
            if (tried[o] || assessments_[o].logProbability < least) continue;
            if (best == aside_.size() ||
                assessments_[o].logProbability > assessments_[at(aside_[best].owner)].logProbability)
                best = i;
        }
        if (best == aside_.size()) return changed;
        tried[at(aside_[best].owner)] = true;
        changed = takeBack(best) || changed;
        if (cancelled()) return changed;
    }
}

/// To an earlier round, once the owners take part as they did then.
void SuspectSearch::goBack(const Round& round, const State& state) {
    n_.state() = state;
    n_.forgetFeet();
    round_ = round;
    judge();
}

bool SuspectSearch::exchange() {
    const double least = std::log(options_.suspectProbability);
    for (std::size_t i = 0; i < aside_.size(); ++i) {
        const auto kept = round_.influence;
        const Influence& influence = *kept;
        if (!influence.valid()) return false;
        const int one = aside_[i].owner;
        const auto found = exchanges(influence, assessments_, one, -kBetter);
        if (found.empty() || found.front().logProbability < least || immune_[at(found.front().other)])
            continue;
        const Round before = round_;
        const State state = n_.state();
        const int other = found.front().other;
        n_.owners()[at(one)].active = true;
        n_.owners()[at(other)].active = false;
        if (trySolve() && round_.sum < before.sum) {
            aside_[i] = {other};
            return true;
        }
        n_.owners()[at(one)].active = false;
        n_.owners()[at(other)].active = true;
        if (cancelled()) return false;
        goBack(before, state);
    }
    return false;
}

bool SuspectSearch::isGross() const {
    constexpr double kGross = 12.0;  // σ
    // One that explains all by itself is as few as can be.
    const int free = freedom(n_);
    if (aside_.size() < 2 && (free <= 0 || round_.sum < stats::chiSquareQuantile(0.999, free))) return false;
    return std::any_of(aside_.begin(), aside_.end(),
                       [&](const SetAside& s) { return assessments_[at(s.owner)].result.w > kGross; });
}

bool SuspectSearch::findOtherSet() {
    OtherSets sets(n_, options_, progress_, eligible_);
    std::vector<int> now;
    for (const SetAside& s : aside_) now.push_back(s.owner);
    auto found = sets.cheaper(now, round_.sum);
    if (!found) return false;
    const Round before = round_;
    const State state = n_.state();
    sets.take(found->owners);
    n_.state() = std::move(found->state);
    n_.forgetFeet();
    if (trySolve() && sets.cost(found->owners, round_.sum) < sets.cost(now, before.sum)) {
        aside_.clear();
        for (const int o : found->owners) aside_.push_back({o});
        std::fill(immune_.begin(), immune_.end(), false);
        return true;
    }
    sets.take(now);
    if (cancelled()) return false;
    goBack(before, state);
    return false;
}

bool SuspectSearch::rejectPair() {
    if (static_cast<int>(aside_.size()) + 2 > options_.mostSuspects) return false;
    // Those nearest to being suspects, two by two.
    constexpr std::size_t kLooked = 12;
    std::vector<int> near;
    for (int o = 0; o < static_cast<int>(assessments_.size()); ++o)
        if (n_.owners()[at(o)].active && !immune_[at(o)] && assessments_[at(o)].result.size > 0)
            near.push_back(o);
    std::sort(near.begin(), near.end(), [&](int a, int b) {
        return assessments_[at(a)].logProbability < assessments_[at(b)].logProbability;
    });
    if (near.size() > kLooked) near.resize(kLooked);
    const auto kept = round_.influence;
    const Influence& influence = *kept;
    if (!influence.valid()) return false;
    // All pairs there are might have been looked at: the bound is for the most improbable of so many.
    const double all = static_cast<double>(assessments_.size());
    double least = std::log(options_.suspectProbability) - std::log(std::max(1.0, all / 2));
    std::pair<int, int> worst{-1, -1};
    std::vector<MatX> own;
    for (const int o : near) own.push_back(influence.Q(o));
    for (std::size_t i = 0; i < near.size(); ++i)
        for (std::size_t k = i + 1; k < near.size(); ++k) {
            const OwnerRows &a = influence.rows(near[i]), &b = influence.rows(near[k]);
            MatX Q(a.size() + b.size(), a.size() + b.size());
            const MatX cross = influence.C(near[i], near[k]);
            Q << own[i], -cross, -cross.transpose(), own[k];
            VecX e(Q.rows());
            e << a.residual(), b.residual();
            const double p = logProbability(e, Q, {});
            if (p < least) least = p, worst = {near[i], near[k]};
        }
    if (worst.first < 0 || !setAside(worst.first)) return false;
    setAside(worst.second);
    return true;
}

void SuspectSearch::findAlternatives() {
    for (std::size_t i = 0; i < aside_.size(); ++i) {
        SetAside& one = aside_[i];
        nameAlternatives(one);
        if (one.alternatives.empty()) continue;
        one.seen = assessments_[at(one.owner)];
        // Neither is to be trusted: none of them carries the dimensions, where something else holds those.
        const Round round = round_;
        const State state = n_.state();
        const std::vector<Assessment> judged = assessments_;
        for (const auto& a : one.alternatives) n_.owners()[at(a.owner)].active = false;
        one.bothAside = trySolve() && heldByOthers(one);
        if (one.bothAside) continue;
        for (const auto& a : one.alternatives) n_.owners()[at(a.owner)].active = true;
        if (cancelled()) return;
        for (const auto& a : one.alternatives)
            notes_.insert(notes_.end(), a.dimensions.begin(), a.dimensions.end());
        round_ = round;
        assessments_ = judged;
        n_.state() = state;
        n_.forgetFeet();
    }
}

/// Whether the rest still tells where each of them should be, to a few times its own σ: a feature that only
/// they showed would else lie anywhere.
bool SuspectSearch::heldByOthers(const SetAside& one) const {
    constexpr double kHeld = 10.0;
    if (!round_.influence->valid()) return false;
    const auto held = [&](int owner) {
        return round_.influence->C(owner).diagonal().maxCoeff() < kHeld * kHeld;
    };
    return held(one.owner) && std::all_of(one.alternatives.begin(), one.alternatives.end(),
                                          [&](const auto& a) { return held(a.owner); });
}

void SuspectSearch::nameAlternatives(SetAside& one) {
    const double least = std::log(options_.suspectProbability);
    const auto kept = round_.influence;
    const Influence& influence = *kept;
    if (!influence.valid()) return;
    for (const Exchange& x : exchanges(influence, assessments_, one.owner, kUndecided)) {
        if (x.logProbability < least || isAside(x.other) || !explainsAsWell(one.owner, x)) continue;
        if (one.alternatives.empty()) one.decidedBy = decidingReading(influence, one.owner, x);
        one.alternatives.push_back(
            {x.other, errorAfter(influence.rows(x.other), x.move), dependent(influence, one.owner, x)});
        if (one.alternatives.size() == kMostAlternatives) break;
    }
}

/// The exchange solved, not only to first order: a large error bends what depends on it. Leaves all as it
/// was.
bool SuspectSearch::explainsAsWell(int one, const Exchange& x) {
    const Round before = round_;
    const State state = n_.state();
    n_.owners()[at(one)].active = true;
    n_.owners()[at(x.other)].active = false;
    const auto next = solveRound(n_, options_, progress_, nullptr, true);
    // An exchange that leaves something loose cannot be judged by its sum: the first order must do.
    const bool well =
        next ? next->sum - before.sum + x.freedom < kUndecided : next.error().code == ErrorCode::RankDefect;
    n_.owners()[at(one)].active = false;
    n_.owners()[at(x.other)].active = true;
    n_.state() = state;
    n_.forgetFeet();
    return well;
}

}  // namespace trammel::adjust
