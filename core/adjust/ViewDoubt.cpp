// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/ViewDoubt.h"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <numbers>

#include "core/adjust/Gross.h"
#include "core/adjust/Round.h"
#include "core/adjust/Start.h"
#include "core/estimate/Solver.h"
#include "core/math/Rotation.h"

namespace trammel::adjust {
namespace {

using survey::View;

constexpr std::array<View, 6> kPrincipal = {View::Top,  View::Bottom, View::Front,
                                            View::Rear, View::Left,   View::Right};
/// As given against the best way: so many times worse is no chance.
constexpr double kWorse = 3.0;
/// Misfit (σ) under which a photograph fits: its features are known from the others only so well.
constexpr double kFits = 6.0;

/// The marks of one station as a problem in its six unknowns; everything else is held.
class Resection : public estimate::Problem {
  public:
    Resection(Network network, int station, const std::vector<bool>& known)
        : n_(std::move(network)), station_(station) {
        layout_.columns = 6;
        for (Owner& o : n_.owners()) o.active = false;
        for (std::size_t i = 0; i < n_.points().size(); ++i) {
            const ImagePoint& p = n_.points()[i];
            if (p.station == station && known[at(p.feature)]) mine_.push_back(i);
        }
        weighs_.assign(mine_.size(), true);
        scale_.assign(mine_.size(), {1.0, 1.0});
    }
    const estimate::Layout& layout() const override { return layout_; }
    bool linearise(std::vector<estimate::Rows>& rows, bool derivatives) const override {
        if (!n_.linearise(all_, derivatives)) return false;
        rows.resize(mine_.size());
        // Where it stands and looks; the place of a crop is not asked here.
        const auto first = n_.columns().stations[at(station_)].begin(), last = first + 6;
        for (std::size_t i = 0; i < mine_.size(); ++i) {
            rows[i] = all_[mine_[i]];
            rows[i].active = weighs_[i];
            for (int k = 0; k < rows[i].count; ++k) {
                const auto it = std::find(first, last, rows[i].column[at(k)]);
                rows[i].column[at(k)] = it == last ? -1 : static_cast<int>(it - first);
            }
            compact(rows[i]);
            for (std::size_t c = 0; c < 2; ++c) {
                rows[i].e[c] *= scale_[i][c];
                for (int k = 0; k < rows[i].count; ++k) rows[i].J[c][at(k)] *= scale_[i][c];
            }
        }
        return true;
    }
    void step(const VecX& delta) override {
        VecX full = VecX::Zero(n_.layout().columns);
        for (int k = 0; k < 6; ++k) full[n_.columns().stations[at(station_)][at(k)]] = delta[k];
        n_.step(full);
    }
    void save() override { n_.save(); }
    void restore() override { n_.restore(); }

    StationState& station() { return n_.state().stations[at(station_)]; }
    const Network& network() const { return n_; }
    std::size_t size() const { return mine_.size(); }
    void forgetFeet() { n_.forgetFeet(); }

    /// 1.48 × median of the whitened residuals; infinite when a point lies behind the camera.
    double misfit() {
        std::vector<estimate::Rows> rows;
        if (!linearise(rows, false)) return INFINITY;
        std::vector<double> sizes;
        for (const estimate::Rows& r : rows)
            for (int k = 0; k < r.components; ++k) sizes.push_back(std::abs(r.e[at(k)]));
        std::nth_element(sizes.begin(), sizes.begin() + static_cast<std::ptrdiff_t>(sizes.size() / 2),
                         sizes.end());
        return 1.4826 * sizes[sizes.size() / 2];
    }
    /// Largest residual of each mark.
    std::map<int, double> largest() const {
        std::map<int, double> out;
        std::vector<estimate::Rows> rows;
        if (!linearise(rows, false)) return out;
        for (std::size_t i = 0; i < rows.size(); ++i) {
            double& most = out[n_.points()[mine_[i]].owner];
            most = std::max(most, std::sqrt(rows[i].squared()));
        }
        return out;
    }
    /// Leaves out what lies more than three times the misfit away.
    void trim() {
        const double far = 3.0 * std::max(1.0, misfit());
        std::vector<estimate::Rows> rows;
        if (!linearise(rows, false)) return;
        for (std::size_t i = 0; i < rows.size(); ++i) weighs_[i] = rows[i].squared() < far * far;
    }
    void weighAll() { weighs_.assign(mine_.size(), true); }

    /// Shrinks each row by how well the others know its feature, as seen from where the camera now stands.
    void weighBy(const Others& others) {
        scale_.assign(mine_.size(), {1.0, 1.0});
        if (!n_.linearise(all_, true)) return;
        const auto translate = columnMap(others.network);
        for (std::size_t i = 0; i < mine_.size(); ++i) {
            const estimate::Rows& row = all_[mine_[i]];
            for (int c = 0; c < row.components; ++c) {
                estimate::Gradient gradient;
                for (int k = 0; k < row.count; ++k)
                    if (const int to = translate[at(row.column[at(k)])]; to >= 0)
                        gradient.emplace_back(to, row.J[at(c)][at(k)]);
                scale_[i][at(c)] = 1.0 / std::sqrt(1.0 + std::max(0.0, others.covariance.variance(gradient)));
            }
        }
    }

  private:
    /// Columns of features and levels here -> those of the other network, −1 for all else.
    std::vector<int> columnMap(const Network& other) const {
        std::vector<int> map(at(n_.layout().columns), -1);
        const auto pair = [&map](int mine, int theirs) {
            if (mine >= 0) map[at(mine)] = theirs;
        };
        const Columns &own = n_.columns(), &its = other.columns();
        for (std::size_t f = 0; f < own.features.size(); ++f) {
            for (std::size_t k = 0; k < own.features[f].size(); ++k)
                pair(own.features[f][k], its.features[f][k]);
            for (std::size_t k = 0; k < std::min(own.nodes[f].size(), its.nodes[f].size()); ++k)
                pair(own.nodes[f][k], its.nodes[f][k]);
        }
        for (std::size_t l = 0; l < own.levels.size(); ++l) {
            pair(own.levels[l], its.levels[l]);
            for (std::size_t k = 0; k < own.forms[l].size(); ++k) pair(own.forms[l][k], its.forms[l][k]);
        }
        return map;
    }
    static void compact(estimate::Rows& row) {
        int kept = 0;
        for (int k = 0; k < row.count; ++k) {
            if (row.column[at(k)] < 0) continue;
            row.column[at(kept)] = row.column[at(k)];
            row.J[0][at(kept)] = row.J[0][at(k)];
            row.J[1][at(kept)] = row.J[1][at(k)];
            ++kept;
        }
        row.count = kept;
    }

    Network n_;
    int station_;
    estimate::Layout layout_;
    std::vector<std::size_t> mine_;
    std::vector<bool> weighs_;
    std::vector<std::array<double, 2>> scale_;
    mutable std::vector<estimate::Rows> all_;
};

/// A point of the part and where the photograph shows it, roughly (middles stand for edges and rims).
struct Pair {
    Vec3 X;
    Vec2 px;
};

std::vector<Pair> pairsOf(const Network& n, int station, const std::vector<bool>& known) {
    struct Sum {
        Vec2 px = Vec2::Zero();
        int count = 0;
    };
    std::vector<Sum> sums(known.size());
    for (const ImagePoint& p : n.points())
        if (p.station == station && known[at(p.feature)]) {
            sums[at(p.feature)].px += p.px;
            ++sums[at(p.feature)].count;
        }
    std::vector<Pair> out;
    for (std::size_t f = 0; f < sums.size(); ++f) {
        if (sums[f].count == 0) continue;
        const FeatureState& state = n.state().features[f];
        Vec3 X = n.state().point(state);
        if (state.kind == survey::FeatureKind::Edge) X.head<2>() = (state.a + state.b) / 2;
        out.push_back({X, sums[f].px / sums[f].count});
    }
    return out;
}

/// Scale and offset of a station turned like R, by least squares; the spread that remains.
double placeTurned(const std::vector<Pair>& pairs, const Mat3& R, StationState& s) {
    Vec2 meanX = Vec2::Zero(), meanP = Vec2::Zero();
    for (const Pair& p : pairs) {
        meanX += (R * p.X).head<2>() / static_cast<double>(pairs.size());
        meanP += p.px / static_cast<double>(pairs.size());
    }
    double both = 0.0, own = 0.0, all = 0.0;
    for (const Pair& p : pairs) {
        const Vec2 x = (R * p.X).head<2>() - meanX, u = p.px - meanP;
        both += x.dot(u);
        own += x.squaredNorm();
        all += u.squaredNorm();
    }
    const double m = own > 0 ? both / own : 0.0;
    if (!(m > 0)) return INFINITY;
    s.R = R;
    s.lnScale = std::log(m);
    s.g = meanP - m * meanX;
    return std::sqrt(std::max(0.0, all - m * both));
}

/// The 24 turns that map axes on axes, seen in the part's frame turned by the views' azimuth.
std::vector<Mat3> axisTurns(double azimuth) {
    std::vector<Mat3> out;
    const Mat3 back = rotationExp(Vec3(0, 0, -azimuth));
    for (const View v : kPrincipal)
        for (int quarter = 0; quarter < 4; ++quarter)
            out.push_back(rotationExp(Vec3(0, 0, quarter * std::numbers::pi / 2)) *
                          survey::squareRotation(v) * back);
    return out;
}

ViewFit nameView(const StationState& s, double azimuth) {
    ViewFit fit;
    fit.station = s;
    const Vec3 axis = (s.R * rotationExp(Vec3(0, 0, azimuth))).row(2);
    double most = -2.0;
    for (const View v : kPrincipal) {
        const double along = axis.dot(Vec3(survey::squareRotation(v).row(2)));
        if (along > most) most = along, fit.view = v;
    }
    fit.tilt = std::acos(std::clamp(most, -1.0, 1.0));
    return fit;
}

void keepBest(std::vector<ViewFit>& fits, const ViewFit& fit) {
    const auto same = std::find_if(fits.begin(), fits.end(), [&](const ViewFit& f) {
        return f.view == fit.view && f.mirrored == fit.mirrored;
    });
    if (same == fits.end())
        fits.push_back(fit);
    else if (fit.misfit < same->misfit)
        *same = fit;
}

/// All ways to read the picture on one side.
void fitSide(const Network& n, int station, const std::vector<bool>& known, bool mirrored,
             const Others* others, std::vector<ViewFit>& fits) {
    Resection problem(n, station, known);
    const double azimuth = n.state().azimuth;
    const std::vector<Pair> pairs = pairsOf(n, station, known);
    if (pairs.size() < 3 || problem.size() < 4) return;
    std::vector<std::pair<double, StationState>> starts;
    for (const Mat3& R : axisTurns(azimuth)) {
        StationState s = problem.station();
        const double spread = placeTurned(pairs, R, s);
        if (std::isfinite(spread)) starts.emplace_back(spread, s);
    }
    std::sort(starts.begin(), starts.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
    constexpr std::size_t kTried = 8;  // of 24: the others are far from any reading of the picture
    if (starts.size() > kTried) starts.resize(kTried);
    for (const auto& [spread, start] : starts) {
        problem.station() = start;
        problem.forgetFeet();
        problem.weighAll();
        if (others) problem.weighBy(*others);
        estimate::SolverOptions options;
        options.mostIterations = 25;
        options.stepTolerance = 1e-3;
        (void)estimate::solve(problem, options);  // one that does not settle still has its misfit
        if (others) problem.weighBy(*others);
        problem.trim();
        (void)estimate::solve(problem, options);
        // One that grew or shrank out of all proportion has thrown all points on one another.
        if (std::abs(problem.station().lnScale - start.lnScale) > 1.0) continue;
        ViewFit fit = nameView(problem.station(), azimuth);
        fit.mirrored = mirrored;
        fit.misfit = problem.misfit();
        if (std::isfinite(fit.misfit)) keepBest(fits, fit);
    }
}

/// Excludes the marks of the feature, or of the level's features, that hangs loose most. False where it is
/// neither.
bool leaveLoose(survey::Survey& s, const Network& n, const estimate::RankDefect& defect) {
    for (const auto& [column, share] : defect.direction) {
        std::vector<bool> loose(s.features.size(), false);
        for (std::size_t f = 0; f < s.features.size(); ++f) {
            const auto& own = n.columns().features[f];
            const int level = n.state().features[f].level;
            loose[f] = std::find(own.begin(), own.end(), column) != own.end() ||
                       (level >= 0 && n.columns().levels[at(level)] == column);
        }
        bool any = false;
        for (survey::Mark& m : s.marks)
            for (std::size_t f = 0; f < loose.size(); ++f)
                if (loose[f] && m.feature == s.features[f].id && !m.excluded) m.excluded = any = true;
        if (any) return true;
    }
    return false;
}

std::string shows(const ViewFit& f, View given) {
    if (f.mirrored)
        return f.view == given || given == View::Oblique
                   ? "looks mirrored"
                   : fmt::format("looks mirrored and shows the {} view", survey::viewName(f.view));
    return fmt::format("shows the {} view", survey::viewName(f.view));
}

}  // namespace

survey::Survey flipPhotograph(survey::Survey s, const Id& station) {
    const survey::Station* where = find(s.stations, station);
    double width = where ? where->photo.width : 0.0;
    if (!(width > 0)) {  // marks alone: about their middle
        double low = INFINITY, high = -INFINITY;
        for (const survey::Mark& m : s.marks)
            if (m.station == station)
                for (const survey::MarkPoint& p : m.points)
                    low = std::min(low, p.px.x()), high = std::max(high, p.px.x());
        width = low + high + 1.0;
    }
    for (survey::Mark& m : s.marks)
        if (m.station == station)
            for (survey::MarkPoint& p : m.points) p.px.x() = width - 1.0 - p.px.x();
    return s;
}

std::vector<ViewFit> fitViews(const Network& n, int station, const std::vector<bool>& known,
                              const Others* others) {
    std::vector<ViewFit> fits;
    if (n.columns().stations[at(station)][0] < 0) return fits;
    fitSide(n, station, known, false, others, fits);
    const survey::Survey flipped = flipPhotograph(n.survey(), n.survey().stations[at(station)].id);
    if (auto other = Network::compile(flipped)) {
        other->state() = n.state();
        fitSide(*other, station, known, true, others, fits);
    }
    std::sort(fits.begin(), fits.end(),
              [](const ViewFit& a, const ViewFit& b) { return a.misfit < b.misfit; });
    return fits;
}

std::optional<ViewDoubt> judgeView(const survey::Survey& survey, int station,
                                   const std::vector<ViewFit>& fits) {
    const survey::Station& s = survey.stations[at(station)];
    if (fits.empty() || !(fits.front().misfit < kFits)) return std::nullopt;
    ViewDoubt doubt;
    doubt.station = s.id;
    doubt.given = s.view;
    doubt.asGiven = INFINITY;
    for (const ViewFit& f : fits)
        if (!f.mirrored && (f.view == s.view || s.view == View::Oblique))
            doubt.asGiven = std::min(doubt.asGiven, f.misfit);
    // Of ways that fit alike the plainest: the view as given but flipped, then another view, then both.
    const auto rank = [&](const ViewFit& f) {
        return !f.mirrored ? 1 : f.view == s.view || s.view == View::Oblique ? 0 : 2;
    };
    const double alike = 1.5 * std::max(1.0, fits.front().misfit);
    std::vector<ViewFit> good;
    for (const ViewFit& f : fits)
        if (f.misfit < alike) good.push_back(f);
    std::stable_sort(good.begin(), good.end(),
                     [&](const ViewFit& a, const ViewFit& b) { return rank(a) < rank(b); });
    if (!(doubt.asGiven > kWorse * std::max(1.0, fits.front().misfit))) return std::nullopt;
    doubt.best = good.front();
    if (good.size() > 1 && rank(good[1]) < 2) doubt.orElse = good[1];
    doubt.cause = doubt.best.mirrored ? Cause::MirroredPhotograph : Cause::WrongView;
    std::string what = describe(survey, s.id);
    what[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(what[0])));
    doubt.sentence = fmt::format(
        "{} was given the view {} but {}{}: its marks then fit {}.", what, survey::viewName(s.view),
        shows(doubt.best, s.view), doubt.orElse ? " or " + shows(*doubt.orElse, s.view) : "",
        std::isfinite(doubt.asGiven)
            ? fmt::format("{:.0f} times better", doubt.asGiven / std::max(0.1, good.front().misfit))
            : "the other photographs, and in no other way");
    return doubt;
}

Result<Without> adjustWithout(const survey::Survey& survey, int station, const Options& options,
                              const Progress* progress) {
    auto reduced = std::make_shared<survey::Survey>(survey);
    reduced->stations[at(station)].excluded = true;
    for (int tries = 0;; ++tries) {
        auto network = Network::compile(*reduced);
        if (!network) return network.error();
        if (auto r = findStart(*network); !r) return r.error();
        estimate::RankDefect defect;
        auto round = solveRound(*network, options, progress, &defect);
        if (round) {
            Without out{reduced, std::make_shared<Network>(std::move(*network)), round->covariance, 0.0, {}};
            out.known = out.network->inUse().features;
            out.varianceFactor = round->sum / std::max(1, freedom(*out.network));
            return out;
        }
        if (tries == 12 || !leaveLoose(*reduced, *network, defect)) return round.error();
    }
}

std::optional<ViewDoubt> doubtView(const survey::Survey& survey, int station, const Without& others) {
    auto network = Network::compile(survey);
    if (!network) return std::nullopt;
    network->state() = others.network->state();
    const Others held{*others.network, *others.covariance};
    return judgeView(survey, station, fitViews(*network, station, others.known, &held));
}

std::optional<FarOff> farOff(const survey::Survey& survey, int station, const Without& others) {
    constexpr double kFar = 8.0;
    auto network = Network::compile(survey);
    if (!network) return std::nullopt;
    network->state() = others.network->state();
    const Others held{*others.network, *others.covariance};
    const View given = survey.stations[at(station)].view;
    for (const ViewFit& f : fitViews(*network, station, others.known, &held)) {
        if (f.mirrored || (f.view != given && given != View::Oblique)) continue;
        Resection problem(*network, station, others.known);
        problem.station() = f.station;
        problem.weighBy(held);
        FarOff out;
        out.misfit = f.misfit;
        for (const auto& [owner, off] : problem.largest()) {
            ++out.all;
            if (off > kFar) out.marks.push_back(network->owners()[at(owner)].object);
        }
        return out;
    }
    return std::nullopt;
}

}  // namespace trammel::adjust
