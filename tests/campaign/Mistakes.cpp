// SPDX-License-Identifier: GPL-3.0-or-later
#include "Mistakes.h"

#include <fmt/core.h>

#include <Eigen/Eigenvalues>
#include <algorithm>
#include <boost/math/distributions/non_central_chi_squared.hpp>
#include <cmath>
#include <cstdlib>
#include <set>

#include "AtTruth.h"
#include "Decidable.h"
#include "core/adjust/ViewDoubt.h"
#include "core/estimate/Normal.h"
#include "core/math/Statistics.h"

namespace trammel::campaign {
namespace {

using adjust::Cause;
using adjust::Owner;
using survey::FeatureKind;
using survey::Quantity;

constexpr double kControlled = 0.3;
constexpr double kAlpha = 0.001;
const double kUndecided = 2.0 * std::log(20.0);

survey::Mark& markOf(survey::Survey& s, const survey::Id& id) {
    return *std::find_if(s.marks.begin(), s.marks.end(), [&](const auto& m) { return m.id == id; });
}
survey::Reading& readingOf(survey::Survey& s, const survey::Id& id) {
    return *std::find_if(s.readings.begin(), s.readings.end(), [&](const auto& r) { return r.id == id; });
}

Vec2 middle(const survey::Mark& m) {
    Vec2 sum = Vec2::Zero();
    for (const auto& p : m.points) sum += p.px / static_cast<double>(m.points.size());
    return sum;
}

std::size_t pick(render::Random& random, std::size_t n) {
    return std::min(n - 1, static_cast<std::size_t>(random.uniform() * static_cast<double>(n)));
}

/// As a person types it.
double typed(double v) { return std::strtod(fmt::format("{:.2f}", v).c_str(), nullptr); }

}  // namespace

const char* mistakeName(Mistake m) {
    constexpr const char* kNames[] = {"one off by 5 σ",
                                      "one off by 20 to 1000 σ",
                                      "two off by 5 to 50 σ",
                                      "mark on a neighbour",
                                      "two marks exchanged",
                                      "photograph flipped",
                                      "photograph given another view",
                                      "reading in inches",
                                      "decimal point",
                                      "radius for diameter",
                                      "digits exchanged",
                                      "photograph of another copy"};
    return kNames[static_cast<int>(m)];
}

std::optional<Sound> Sound::make(Drawn drawn) {
    Sound s;
    s.drawn_ = std::make_shared<Drawn>(std::move(drawn));
    auto network = atTruth(*s.drawn_);
    if (!network) return std::nullopt;
    s.network_ = std::make_shared<adjust::Network>(std::move(*network));
    std::vector<estimate::Rows> rows;
    if (!s.network_->linearise(rows, true)) return std::nullopt;
    estimate::Normal normal(s.network_->layout(), rows);
    normal.assemble(rows);
    estimate::RankDefect defect;
    s.covariance_ = std::make_shared<estimate::CovarianceFactor>(normal, defect);
    if (!s.covariance_->valid()) return std::nullopt;
    s.influence_ = std::make_shared<adjust::Influence>(*s.network_, *s.covariance_);
    return s;
}

bool Sound::controlled(int owner) const {
    const Owner& o = network_->owners()[adjust::at(owner)];
    if (!o.active || influence_->rows(owner).e.empty()) return false;
    return influence_->Q(owner).diagonal().minCoeff() >= kControlled;
}

std::vector<int> Sound::owners(bool marks, bool readings) const {
    std::vector<int> out;
    for (int o = 0; o < influence_->owners(); ++o) {
        const Owner::Kind kind = network_->owners()[adjust::at(o)].kind;
        if (((marks && kind == Owner::Kind::Mark) || (readings && kind == Owner::Kind::Reading)) &&
            controlled(o))
            out.push_back(o);
    }
    return out;
}

/// Shifts a mark as a whole (across an edge), or a reading either way.
void Sound::offBy(int owner, double sigmas, render::Random& random, Spoilt& out) const {
    const Owner& o = network_->owners()[adjust::at(owner)];
    out.guilty.push_back(o.object);
    if (o.kind == Owner::Kind::Reading) {
        survey::Reading& r = readingOf(out.survey, o.object);
        r.measured.value += (random.uniform() < 0.5 ? -1.0 : 1.0) * sigmas * r.measured.sigma;
        return;
    }
    survey::Mark& m = markOf(out.survey, o.object);
    const double angle = 2 * M_PI * random.uniform();
    Vec2 shift(std::cos(angle), std::sin(angle));
    if (find(out.survey.features, m.feature)->kind == FeatureKind::Edge) {
        const Vec2 along = (m.points.back().px - m.points.front().px).normalized();
        shift = Vec2(-along.y(), along.x()) * (random.uniform() < 0.5 ? -1.0 : 1.0);
    }
    for (auto& p : m.points) p.px += sigmas * p.sigma_px * shift;
}

/// How far the mistake stands out, from the change of the observation's own residuals.
void Sound::weigh(int owner, Spoilt& out) const {
    auto with = adjust::Network::compile(out.survey);
    if (!with) return;
    with->state() = network_->state();
    const adjust::Influence after(*with, *covariance_);
    if (!after.valid()) return;
    const VecX error = after.rows(owner).residual() - influence_->rows(owner).residual();
    const MatX Q = influence_->Q(owner);
    const Eigen::SelfAdjointEigenSolver<MatX> eigen(Q);
    const auto rank = static_cast<double>((eigen.eigenvalues().array() > 1e-3).count());
    const double lambda = error.dot(Q * error);
    out.redundancy = lambda / std::max(1e-12, error.squaredNorm());
    const boost::math::non_central_chi_squared_distribution<double> d(rank,
                                                                      std::max(1e-9, std::min(lambda, 1e4)));
    out.power =
        lambda > 1e3
            ? 1.0
            : boost::math::cdf(boost::math::complement(d, stats::chiSquareQuantile(1 - kAlpha, rank)));
    for (int b = 0; b < influence_->owners(); ++b) {
        if (b == owner || influence_->rows(b).e.empty() || !network_->owners()[adjust::at(b)].active)
            continue;
        const MatX cross = influence_->C(owner, b);
        if (cross.cwiseAbs().maxCoeff() < 0.05) continue;
        int r = 0;
        const MatX inverse = adjust::controlledInverse(influence_->Q(b), r);
        const VecX k = cross.transpose() * error;
        out.undecidable = out.undecidable || lambda - k.dot(inverse * k) < kUndecided;
    }
}

bool Sound::tie(bool swap, render::Random& random, Spoilt& out) const {
    const std::vector<int> marks = owners(true, false);
    if (marks.empty()) return false;
    for (int tries = 0; tries < 20; ++tries) {
        survey::Mark& m =
            markOf(out.survey, network_->owners()[adjust::at(marks[pick(random, marks.size())])].object);
        const FeatureKind kind = find(out.survey.features, m.feature)->kind;
        survey::Mark* nearest = nullptr;
        for (const int o : marks) {
            survey::Mark& other = markOf(out.survey, network_->owners()[adjust::at(o)].object);
            if (other.station != m.station || other.id == m.id ||
                find(out.survey.features, other.feature)->kind != kind)
                continue;
            if (!nearest || (middle(other) - middle(m)).norm() < (middle(*nearest) - middle(m)).norm())
                nearest = &other;
        }
        // Exchanged marks must lie apart by more than their noise, or nothing is wrong.
        if (!nearest || (middle(*nearest) - middle(m)).norm() < 10 * m.points.front().sigma_px) continue;
        out.guilty = {m.id};
        out.cause = swap ? Cause::SwappedTies : Cause::WrongTie;
        if (swap) {
            out.guilty.push_back(nearest->id);
            std::swap(m.points, nearest->points);
        } else {
            m.points = nearest->points;
            for (auto& p : m.points) p.px += p.sigma_px * Vec2(random.normal(), random.normal());
        }
        return true;
    }
    return false;
}

bool Sound::photograph(Mistake mistake, render::Random& random, Spoilt& out) const {
    std::vector<std::size_t> usable;
    for (std::size_t i = 0; i < out.survey.stations.size(); ++i)
        if (mistake != Mistake::WrongView || out.survey.stations[i].view != survey::View::Oblique)
            usable.push_back(i);
    if (usable.size() < 2) return false;
    survey::Station& s = out.survey.stations[usable[pick(random, usable.size())]];
    out.guilty = {s.id};
    if (mistake == Mistake::Mirrored) {
        out.cause = Cause::MirroredPhotograph;
        const survey::Id id = s.id;
        out.survey = adjust::flipPhotograph(std::move(out.survey), id);
    } else if (mistake == Mistake::WrongView) {
        out.cause = Cause::WrongView;
        const survey::View was = s.view;
        while (s.view == was) s.view = static_cast<survey::View>(pick(random, 6));
    } else {
        out.cause = Cause::WholePhotograph;
        for (auto& m : out.survey.marks) {
            if (m.station != s.id) continue;
            const Vec2 shift(random.normal(), random.normal());
            for (auto& p : m.points) p.px += 10.0 * p.sigma_px * shift;
        }
    }
    return true;
}

bool Sound::reading(Mistake mistake, render::Random& random, Spoilt& out) const {
    std::vector<int> usable;
    for (const int o : owners(false, true)) {
        const survey::Reading& r = readingOf(out.survey, network_->owners()[adjust::at(o)].object);
        const bool length =
            r.quantity != Quantity::Angle && r.quantity != Quantity::Tape && r.measured.value > 0;
        if (length && (mistake != Mistake::RadiusForDiameter || r.quantity == Quantity::Diameter))
            usable.push_back(o);
    }
    if (usable.empty()) return false;
    const int owner = usable[pick(random, usable.size())];
    survey::Reading& r = readingOf(out.survey, network_->owners()[adjust::at(owner)].object);
    out.guilty = {r.id};
    double& v = r.measured.value;
    v = typed(v);
    if (mistake == Mistake::Inches)
        v = std::strtod(fmt::format("{:.4f}", v / 25.4).c_str(), nullptr), out.cause = Cause::Inches;
    if (mistake == Mistake::DecimalPoint)
        v = typed(random.uniform() < 0.5 ? 10 * v : v / 10), out.cause = Cause::PowerOfTen;
    if (mistake == Mistake::RadiusForDiameter) v = typed(v / 2), out.cause = Cause::RadiusForDiameter;
    if (mistake == Mistake::ExchangedDigits) {
        out.cause = Cause::ExchangedDigits;
        std::set<double> values;
        const std::string text = fmt::format("{:.6g}", v);
        for (std::size_t i = 0; i + 1 < text.size(); ++i) {
            const std::size_t k = text[i + 1] == '.' ? i + 2 : i + 1;
            if (text[i] == '.' || k >= text.size() || text[i] == text[k]) continue;
            std::string other = text;
            std::swap(other[i], other[k]);
            if (other[0] == '0' && other[1] != '.') continue;  // nobody types 05.03
            const double value = std::strtod(other.c_str(), nullptr);
            if (value > 0 && std::abs(value - v) > 10 * r.measured.sigma) values.insert(value);
        }
        if (values.empty()) return false;
        v = *std::next(values.begin(), static_cast<std::ptrdiff_t>(pick(random, values.size())));
    }
    weigh(owner, out);
    return true;
}

/// One more mistake in `out`, in an observation that controls it: its components and the direction of the
/// error.
bool Sound::addOff(const std::vector<int>& all, double sigmas, render::Random& random, Spoilt& out) const {
    for (int tries = 0; tries < 40 && !all.empty(); ++tries) {
        const int owner = all[pick(random, all.size())];
        const survey::Id& id = network_->owners()[adjust::at(owner)].object;
        if (std::find(out.guilty.begin(), out.guilty.end(), id) != out.guilty.end()) continue;
        Spoilt alone;
        alone.survey = drawn_->survey;
        offBy(owner, sigmas, random, alone);
        weigh(owner, alone);
        if (alone.redundancy < kControlled) continue;
        for (survey::Mark& m : out.survey.marks)
            if (m.id == id) m = markOf(alone.survey, id);
        for (survey::Reading& r : out.survey.readings)
            if (r.id == id) r = readingOf(alone.survey, id);
        out.guilty.push_back(id);
        out.power *= alone.power;
        out.undecidable = out.undecidable || alone.undecidable;
        return true;
    }
    return false;
}

std::optional<Spoilt> Sound::spoil(Mistake mistake, render::Random& random) const {
    Spoilt out;
    out.survey = drawn_->survey;
    bool done = true;
    const std::vector<int> all = owners(true, true);
    if (mistake == Mistake::FiveSigma || mistake == Mistake::Large) {
        done = addOff(all, mistake == Mistake::FiveSigma ? 5.0 : 20.0 * std::pow(50.0, random.uniform()),
                      random, out);
    } else if (mistake == Mistake::TwoAtOnce) {
        for (int k = 0; k < 2; ++k)
            done = done && addOff(all, 5.0 * std::pow(10.0, random.uniform()), random, out);
    } else if (mistake == Mistake::WrongTie || mistake == Mistake::SwappedTies) {
        done = tie(mistake == Mistake::SwappedTies, random, out);
    } else if (mistake == Mistake::Mirrored || mistake == Mistake::WrongView ||
               mistake == Mistake::OtherCopy) {
        done = photograph(mistake, random, out);
    } else {
        done = reading(mistake, random, out);
    }
    if (!done) return std::nullopt;
    if (mistake == Mistake::Large || mistake == Mistake::WrongTie || mistake == Mistake::SwappedTies) {
        out.undecidable = false;
        weighBySolving(network_->state(), out);
    }
    return out;
}

}  // namespace trammel::campaign
