// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/StartBundle.h"

#include <algorithm>
#include <cmath>

#include "core/adjust/Projection.h"
#include "core/estimate/Solver.h"
#include "core/math/Rotation.h"

namespace trammel::adjust {
namespace {

class PointProblem : public estimate::Problem {
  public:
    PointProblem(Hypothesis& h, const Network& network) : h_(h), network_(network) {
        choosePoints();
        layColumns();
    }

    const estimate::Layout& layout() const override { return layout_; }

    bool linearise(std::vector<estimate::Rows>& rows, bool derivatives) const override {
        rows.resize(seen_.size() + squares_.size() + heights_.size());
        std::size_t at_row = 0;
        for (const Sighting* s : seen_)
            if (!pointRow(*s, rows[at_row++], derivatives)) return false;
        for (const int station : squares_) squareRow(station, rows[at_row++]);
        for (const int level : heights_) {  // a whisper: one photograph from above leaves heights open
            estimate::Rows& row = rows[at_row++];
            row.count = 0;
            row.e = {-1e-3 * h_.state.levels[at(level)] / size_, 0.0};
            row.add(level_[at(level)], 1e-3 / size_);
        }
        return true;
    }

    void step(const VecX& delta) override {
        for (std::size_t s = 0; s < station_.size(); ++s) {
            if (station_[s] < 0) continue;
            StationState& st = h_.state.stations[s];
            const bool held = static_cast<int>(s) == anchor_;
            const auto d = delta.segment(station_[s], held ? 2 : 6);
            st.R = nearestRotation(rotationExp(Vec3(d[0], d[1], held ? 0.0 : d[2])) * st.R);
            if (held) continue;
            st.lnScale += d[3];
            st.g += d.segment<2>(4);
        }
        for (std::size_t l = 0; l < level_.size(); ++l)
            if (level_[l] >= 0) h_.state.levels[l] += delta[level_[l]];
        for (std::size_t p = 0; p < point_.size(); ++p) {
            if (point_[p] < 0) continue;
            StartPoint& point = h_.points.points[p];
            point.p.head<2>() += delta.segment<2>(point_[p]);
            if (point.level < 0) point.p.z() += delta[point_[p] + 2];
        }
    }
    void save() override {
        state_ = h_.state;
        points_ = h_.points.points;
    }
    void restore() override {
        h_.state = state_;
        h_.points.points = points_;
    }
    bool empty() const { return seen_.empty(); }

  private:
    void choosePoints() {
        std::vector<int> count(h_.points.points.size(), 0), marks(h_.known.station.size(), 0);
        for (const Sighting& s : h_.points.seen)
            if (h_.known.station[at(s.station)]) ++count[at(s.point)];
        for (const Sighting& s : h_.points.seen) {
            if (!h_.known.station[at(s.station)] || count[at(s.point)] < 2) continue;
            seen_.push_back(&s);
            ++marks[at(s.station)];
            size_ = std::max(size_, h_.points.points[at(s.point)].p.norm());
        }
        for (std::size_t s = 0; s < marks.size(); ++s)
            if (marks[s] > 0 && (anchor_ < 0 || marks[s] > marks[at(anchor_)])) anchor_ = static_cast<int>(s);
    }

    void layColumns() {
        point_.assign(h_.points.points.size(), -1);
        level_.assign(h_.state.levels.size(), -1);
        station_.assign(h_.known.station.size(), -1);
        std::vector<bool> point(point_.size(), false), level(level_.size(), false),
            station(station_.size(), false);
        for (const Sighting* s : seen_) {
            point[at(s->point)] = station[at(s->station)] = true;
            if (const int l = h_.points.points[at(s->point)].level; l >= 0 && l != h_.zeroLevel)
                level[at(l)] = true;
        }
        int next = 0;
        for (std::size_t p = 0; p < point.size(); ++p) {
            if (!point[p]) continue;
            layout_.blockStart.push_back(next);
            point_[p] = next;
            next += h_.points.points[p].level < 0 ? 3 : 2;
        }
        layout_.eliminatedColumns = next;
        for (std::size_t l = 0; l < level.size(); ++l)
            if (level[l]) level_[l] = next++, heights_.push_back(static_cast<int>(l));
        for (std::size_t s = 0; s < station.size(); ++s) {
            if (!station[s]) continue;
            station_[s] = next;
            next += static_cast<int>(s) == anchor_ ? 2 : 6;
            const survey::Station& d = network_.survey().stations[s];
            if (d.view != survey::View::Oblique && d.squareSigma_rad > 0)
                squares_.push_back(static_cast<int>(s));
        }
        layout_.columns = next;
    }

    bool pointRow(const Sighting& s, estimate::Rows& row, bool derivatives) const {
        const StationState& st = h_.state.stations[at(s.station)];
        GroupState g = h_.state.groups[at(st.group)];
        g.K.fill(0.0);  // taken off the sightings
        const StartPoint& point = h_.points.points[at(s.point)];
        const Vec3 X = h_.position(point);
        row.components = 2;
        Projected proj;
        if (derivatives ? !projectPoint(g, st, X, proj) : !projectPoint(g, st, X, proj.u)) return false;
        const double w = 1.0 / s.sigma;
        row.e = {(s.px.x() - proj.u.x()) * w, (s.px.y() - proj.u.y()) * w};
        if (!derivatives) return true;
        row.count = 0;
        const auto put = [&](int column, const Vec2& d) { row.add(column, d.x() * w, d.y() * w); };
        const int pc = point_[at(s.point)], sc = station_[at(s.station)];
        put(pc, proj.byPoint.col(0));
        put(pc + 1, proj.byPoint.col(1));
        put(point.level < 0 ? pc + 2 : level_[at(point.level)], proj.byPoint.col(2));
        put(sc, proj.byRotation.col(0));
        put(sc + 1, proj.byRotation.col(1));
        if (s.station == anchor_) return true;
        put(sc + 2, proj.byRotation.col(2));
        put(sc + 3, proj.byLnScale);
        put(sc + 4, proj.byG.col(0));
        put(sc + 5, proj.byG.col(1));
        return true;
    }

    void squareRow(int station, estimate::Rows& row) const {
        const survey::Station& s = network_.survey().stations[at(station)];
        const Mat3 A = h_.state.stations[at(station)].R * survey::squareRotation(s.view).transpose();
        const double w = 1.0 / std::max(s.squareSigma_rad, 0.0175);
        row.components = 2;
        row.count = 0;
        row.e = {-A(2, 0) * w, -A(2, 1) * w};
        row.add(station_[at(station)], A(1, 0) * w, A(1, 1) * w);
        row.add(station_[at(station)] + 1, -A(0, 0) * w, -A(0, 1) * w);
    }

    Hypothesis& h_;
    const Network& network_;
    std::vector<const Sighting*> seen_;
    std::vector<int> point_, level_, station_;  ///< first column, −1 where none
    std::vector<int> squares_, heights_;
    estimate::Layout layout_;
    State state_;
    std::vector<StartPoint> points_;
    int anchor_ = -1;
    double size_ = 1e-6;
};

}  // namespace

void bundlePoints(Hypothesis& h, const Network& network, int mostIterations) {
    PointProblem problem(h, network);
    if (problem.empty()) return;
    estimate::SolverOptions options;
    options.mostIterations = mostIterations;
    options.firstLambda = 1e-3;
    options.stepTolerance = 1e-2;             // the adjustment itself follows
    (void)estimate::solve(problem, options);  // the state is better than before however it ends
    std::vector<estimate::Rows> rows;
    h.cost = problem.linearise(rows, false) ? estimate::sumOfSquares(rows) : INFINITY;
}

}  // namespace trammel::adjust
