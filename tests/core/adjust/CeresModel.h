// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <ceres/ceres.h>
#include <ceres/rotation.h>

#include <array>
#include <cmath>
#include <map>
#include <memory>
#include <vector>

#include "core/adjust/Network.h"
#include "core/math/Rotation.h"

/// The adjustment once more, written for the Ceres solver with automatic derivatives and in the classical
/// parameters: angle-axis and translation of each camera, principal distance, principal point and Brown's
/// constants, edges as Hesse lines (angle, distance), circles as centre and radius. Marks on edges and rims
/// use the same residual as ours, the distance to the foot point.
namespace trammel::test {

inline double scalar(double x) { return x; }
template <int N>
double scalar(const ceres::Jet<double, N>& x) {
    return x.a;
}

/// OpenCV's convention; group: c, x0, y0, k1, k2, k3, p1, p2.
template <class T>
void image(const T* station, const T* group, const T* X, T* u) {
    T p[3];
    ceres::AngleAxisRotatePoint(station, X, p);
    const T x = (p[0] + station[3]) / (p[2] + station[5]), y = (p[1] + station[4]) / (p[2] + station[5]);
    const T r2 = x * x + y * y;
    const T radial = 1.0 + r2 * (group[3] + r2 * (group[4] + r2 * group[5]));
    u[0] = group[0] * (x * radial + 2.0 * group[6] * x * y + group[7] * (r2 + 2.0 * x * x)) + group[1];
    u[1] = group[0] * (y * radial + group[6] * (r2 + 2.0 * y * y) + 2.0 * group[7] * x * y) + group[2];
}

struct PointCost {
    Vec2 px;
    double sigma;
    template <class T>
    bool operator()(const T* station, const T* group, const T* level, const T* corner, T* e) const {
        const T X[3] = {corner[0], corner[1], level[0] + corner[2]};
        T u[2];
        image(station, group, X, u);
        e[0] = (px.x() - u[0]) / sigma;
        e[1] = (px.y() - u[1]) / sigma;
        return true;
    }
};

/// edge: angle of the normal, distance from the origin; circle: x, y, radius.
struct CurveCost {
    Vec2 px;
    double sigma;
    bool edge;
    double firstFoot;

    template <class T, class S>
    void point(const T* f, const T& z, const S& s, T* X) const {
        using std::cos;
        using std::sin;
        if (edge) {
            X[0] = f[1] * cos(f[0]) - s * sin(f[0]);
            X[1] = f[1] * sin(f[0]) + s * cos(f[0]);
        } else {
            X[0] = f[0] + f[2] * cos(s);
            X[1] = f[1] + f[2] * sin(s);
        }
        X[2] = z;
    }

    template <class T>
    bool operator()(const T* station, const T* group, const T* level, const T* feature, T* e) const {
        using J = ceres::Jet<double, 1>;
        const auto constant = [](const T* from, auto& to) {
            for (std::size_t i = 0; i < to.size(); ++i) to[i] = J(scalar(from[i]));
        };
        std::array<J, 6> st;
        std::array<J, 8> gr;
        std::array<J, 3> ft;
        constant(station, st), constant(group, gr), constant(feature, ft);
        double s = firstFoot;
        J X[3], u[2];
        for (int i = 0; i < 40; ++i) {
            point<J, J>(ft.data(), J(scalar(level[0])), J(s, 0), X);
            image(st.data(), gr.data(), X, u);
            const double speed = u[0].v[0] * u[0].v[0] + u[1].v[0] * u[1].v[0];
            const double step =
                (u[0].v[0] * (px.x() - u[0].a) + u[1].v[0] * (px.y() - u[1].a)) / std::max(speed, 1e-30);
            if (std::abs(step) * std::sqrt(speed) < 1e-12) break;
            s += step;
        }
        const double speed = std::hypot(u[0].v[0], u[1].v[0]);
        T Y[3], v[2];
        point<T, double>(feature, level[0], s, Y);
        image(station, group, Y, v);
        e[0] = (-u[1].v[0] / speed * (px.x() - v[0]) + u[0].v[0] / speed * (px.y() - v[1])) / sigma;
        return true;
    }
};

/// Optical axis square to the view: the axis in the view's own axes, turned by the common azimuth.
struct SquareCost {
    Mat3 view;
    double sigma;
    template <class T>
    bool operator()(const T* station, const T* azimuth, T* e) const {
        using std::cos;
        using std::sin;
        for (int j = 0; j < 2; ++j) {
            const Vec3 a = view.row(j).transpose();
            const T turned[3] = {a.x() * cos(azimuth[0]) - a.y() * sin(azimuth[0]),
                                 a.x() * sin(azimuth[0]) + a.y() * cos(azimuth[0]), T(a.z())};
            T p[3];
            ceres::AngleAxisRotatePoint(station, turned, p);
            e[j] = -p[2] / sigma;
        }
        return true;
    }
};

struct ConstantPrior {
    int index;
    double value, sigma;
    template <class T>
    bool operator()(const T* group, T* e) const {
        using std::log;
        e[0] =
            index == 0 ? (std::log(value) - log(group[0])) * (value / sigma) : (value - group[index]) / sigma;
        return true;
    }
};

/// A survey::Quantity between parameter blocks; `block[i]` says where each object's own blocks stand.
struct QuantityCost {
    struct Object {
        int feature = -1, level = -1, station = -1;
        bool edge = false;
        Vec2 anchor = Vec2::Zero();  ///< edge: its foot on the line is the middle of the marked part
    };
    survey::Quantity quantity;
    std::vector<Object> objects;
    double observed = 0.0, sigma = 1.0;

    template <class T>
    void at(T const* const* p, const Object& o, T* X) const {
        using std::cos;
        using std::sin;
        const T* f = p[o.feature];
        if (o.edge) {
            const T s = -o.anchor.x() * sin(f[0]) + o.anchor.y() * cos(f[0]);
            X[0] = f[1] * cos(f[0]) - s * sin(f[0]);
            X[1] = f[1] * sin(f[0]) + s * cos(f[0]);
        } else {
            X[0] = f[0], X[1] = f[1];
        }
        X[2] = height(p, o);
    }
    template <class T>
    T height(T const* const* p, const Object& o) const {
        T z = o.level >= 0 ? p[o.level][0] : T(0);
        if (o.feature >= 0 && o.level < 0) z = p[o.feature][2];
        return z;
    }
    template <class T>
    T fromLine(T const* const* p, const Object& point, const Object& line) const {
        using std::abs;
        using std::cos;
        using std::sin;
        T X[3];
        at(p, point, X);
        const T* f = p[line.feature];
        return abs(X[0] * cos(f[0]) + X[1] * sin(f[0]) - f[1]);
    }
    template <class T>
    T value(T const* const* p) const {
        using std::abs;
        using std::acos;
        using std::atan2;
        using std::cos;
        using std::sin;
        using std::sqrt;
        using survey::Quantity;
        const Object& a = objects.front();
        const Object& b = objects.back();
        T X[3], Y[3];
        switch (quantity) {
            case Quantity::InnerSpan:
            case Quantity::OuterSpan:
            case Quantity::Length:
                break;  // the surveys compared have none
            case Quantity::Distance:
                if (a.edge && b.edge) return (fromLine(p, a, b) + fromLine(p, b, a)) / 2.0;
                if (a.edge) return fromLine(p, b, a);
                if (b.edge) return fromLine(p, a, b);
                at(p, a, X), at(p, b, Y);
                return sqrt((X[0] - Y[0]) * (X[0] - Y[0]) + (X[1] - Y[1]) * (X[1] - Y[1]) +
                            (X[2] - Y[2]) * (X[2] - Y[2]));
            case Quantity::Diameter:
                return 2.0 * p[a.feature][2];
            case Quantity::Radius:
                return p[a.feature][2];
            case Quantity::Depth:
                return abs(height(p, b) - height(p, a));
            case Quantity::Height:
                return height(p, a);
            case Quantity::OffsetX:
            case Quantity::OffsetY: {
                at(p, a, X), at(p, b, Y);
                const int k = quantity == Quantity::OffsetX ? 0 : 1;
                return Y[k] - X[k];
            }
            case Quantity::Angle: {
                const T d = p[b.feature][0] - p[a.feature][0];
                return atan2(abs(sin(d)), abs(cos(d)));
            }
            case Quantity::Tape: {
                const T* t = p[a.station] + 3;
                return sqrt(t[0] * t[0] + t[1] * t[1] + t[2] * t[2]);
            }
        }
        return T(0);
    }
    template <class T>
    bool operator()(T const* const* p, T* e) const {
        e[0] = (observed - value(p)) / sigma;
        return true;
    }
};

class CeresModel {
  public:
    /// Observations of the survey, start values from the network's state; the middles of edges (they enter
    /// the distance between two edges) from `anchors`.
    CeresModel(const adjust::Network& network, const adjust::State& anchors) : n_(network) {
        for (const adjust::FeatureState& f : anchors.features) anchors_.push_back((f.a + f.b) / 2);
        copyState();
        addMarks();
        for (const auto& r : n_.readings()) addReading(r.term, r.owner);
        addPriors();
        hold();
    }

    ceres::Problem& problem() { return *problem_; }
    const std::vector<std::array<double, 3>>& features() const { return features_; }
    const std::vector<double>& levels() const { return levels_; }
    const std::vector<std::array<double, 8>>& groups() const { return groups_; }

    /// Parameter blocks a quantity depends on, and the cost (1/σ = 1, observed 0: residual −value).
    struct Wanted {
        QuantityCost cost;
        std::vector<double*> blocks;
        std::vector<int> sizes;
    };
    Wanted wanted(const adjust::QuantityTerm& term) {
        Wanted w;
        w.cost.quantity = term.quantity;
        const auto place = [&w](double* block, int size) {
            for (std::size_t i = 0; i < w.blocks.size(); ++i)
                if (w.blocks[i] == block) return static_cast<int>(i);
            w.blocks.push_back(block);
            w.sizes.push_back(size);
            return static_cast<int>(w.blocks.size()) - 1;
        };
        for (const auto& o : term.objects) {
            const auto i = static_cast<std::size_t>(o.index);
            QuantityCost::Object object;
            using Kind = adjust::QuantityTerm::Object::Kind;
            if (o.kind == Kind::Station) {
                object.station = place(stations_[i].data(), 6);
            } else if (o.kind == Kind::Level) {
                object.level = place(&levels_[i], 1);
            } else {
                const adjust::FeatureState& f = n_.state().features[i];
                object.feature = place(features_[i].data(), 3);
                if (f.level >= 0) object.level = place(&levels_[static_cast<std::size_t>(f.level)], 1);
                object.edge = f.kind == survey::FeatureKind::Edge;
                object.anchor = anchors_[i];
            }
            w.cost.objects.push_back(object);
        }
        return w;
    }
    static std::unique_ptr<ceres::CostFunction> cost(const Wanted& w) {
        auto cost =
            std::make_unique<ceres::DynamicAutoDiffCostFunction<QuantityCost, 8>>(new QuantityCost(w.cost));
        for (const int size : w.sizes) cost->AddParameterBlock(size);
        cost->SetNumResiduals(1);
        return cost;
    }

    ceres::ParameterBlockOrdering ordering() {
        ceres::ParameterBlockOrdering o;
        for (double* b : eliminated_) o.AddElementToGroup(b, 0);
        std::vector<double*> all;
        problem_->GetParameterBlocks(&all);
        for (double* b : all)
            if (!o.IsMember(b)) o.AddElementToGroup(b, 1);
        return o;
    }

  private:
    void copyState() {
        const adjust::State& s = n_.state();
        for (const adjust::GroupState& g : s.groups) {
            const camera::Constants k = g.constants();
            groups_.push_back({k.c, k.pp.x(), k.pp.y(), k.k1, k.k2, k.k3, k.p1, k.p2});
        }
        for (const adjust::StationState& st : s.stations) {
            const camera::Pose pose = s.pose(st);
            const Vec3 w = rotationLog(pose.R);
            stations_.push_back({w.x(), w.y(), w.z(), pose.t.x(), pose.t.y(), pose.t.z()});
        }
        levels_ = s.levels;
        for (const adjust::FeatureState& f : s.features) {
            double middle = 0.0;
            if (f.kind == survey::FeatureKind::Edge) {
                const Vec2 u = (f.b - f.a).normalized();
                const double angle =
                    std::atan2(-u.x(), u.y());  // normal (u.y, −u.x); along is (−sin, cos) = u
                const Vec2 n(std::cos(angle), std::sin(angle));
                features_.push_back({angle, n.dot(f.a), 0.0});
                middle = u.dot((f.a + f.b) / 2);
            } else if (f.kind == survey::FeatureKind::Corner) {
                features_.push_back({f.p.x(), f.p.y(), f.level < 0 ? f.p.z() : 0.0});
            } else {
                features_.push_back({f.p.x(), f.p.y(), f.r});
            }
            middle_.push_back(middle);
        }
        ceres::Problem::Options options;
        options.enable_fast_removal = false;
        problem_ = std::make_unique<ceres::Problem>(options);
    }

    void addMarks() {
        for (const adjust::ImagePoint& p : n_.points()) {
            if (!n_.owners()[static_cast<std::size_t>(p.owner)].active) continue;
            const auto i = static_cast<std::size_t>(p.feature), s = static_cast<std::size_t>(p.station);
            const adjust::FeatureState& f = n_.state().features[i];
            double* level = f.level < 0 ? &zero_ : &levels_[static_cast<std::size_t>(f.level)];
            ceres::CostFunction* cost = nullptr;
            if (f.kind == survey::FeatureKind::Corner) {
                cost =
                    new ceres::AutoDiffCostFunction<PointCost, 2, 6, 8, 1, 3>(new PointCost{p.px, p.sigma});
            } else {
                const bool edge = f.kind == survey::FeatureKind::Edge;
                cost = new ceres::AutoDiffCostFunction<CurveCost, 1, 6, 8, 1, 3>(
                    new CurveCost{p.px, p.sigma, edge, edge ? middle_[i] : foot(p)});
            }
            double* group = groups_[static_cast<std::size_t>(n_.state().stations[s].group)].data();
            problem_->AddResidualBlock(cost, nullptr, stations_[s].data(), group, level, features_[i].data());
            eliminated_.push_back(features_[i].data());
        }
    }

    /// First foot on a rim: the angle from the centre through an affine camera.
    double foot(const adjust::ImagePoint& p) const {
        const auto s = static_cast<std::size_t>(p.station), i = static_cast<std::size_t>(p.feature);
        const adjust::FeatureState& f = n_.state().features[i];
        const auto& group = groups_[static_cast<std::size_t>(n_.state().stations[s].group)];
        double best = 0.0, least = INFINITY;
        for (int k = 0; k < 90; ++k) {
            const double a = k * std::acos(-1.0) / 45;
            const double X[3] = {f.p.x() + f.r * std::cos(a), f.p.y() + f.r * std::sin(a), n_.state().z(f)};
            double u[2];
            image(stations_[s].data(), group.data(), X, u);
            const double d = std::hypot(p.px.x() - u[0], p.px.y() - u[1]);
            if (d < least) least = d, best = a;
        }
        return best;
    }

    void addReading(const adjust::QuantityTerm& term, int owner) {
        const adjust::Owner& o = n_.owners()[static_cast<std::size_t>(owner)];
        if (!o.active) return;
        const survey::Reading& r = *find(n_.survey().readings, o.object);
        Wanted w = wanted(term);
        w.cost.observed = r.measured.value;
        w.cost.sigma = r.measured.sigma;
        problem_->AddResidualBlock(cost(w).release(), nullptr, w.blocks);
        if (term.objects.size() == 2)
            for (const auto& object : term.objects)
                if (object.kind == adjust::QuantityTerm::Object::Kind::Feature) {
                    double* block = features_[static_cast<std::size_t>(object.index)].data();
                    std::erase(eliminated_, block);
                }
    }

    void addPriors() {
        for (const adjust::Owner& o : n_.owners()) {
            if (!o.active) continue;
            if (o.kind == adjust::Owner::Kind::SquarePrior)
                for (std::size_t s = 0; s < n_.survey().stations.size(); ++s)
                    if (const survey::Station& st = n_.survey().stations[s]; st.id == o.object)
                        problem_->AddResidualBlock(
                            new ceres::AutoDiffCostFunction<SquareCost, 2, 6, 1>(
                                new SquareCost{survey::squareRotation(st.view), st.squareSigma_rad}),
                            nullptr, stations_[s].data(), &azimuth_);
        }
        for (std::size_t g = 0; g < groups_.size(); ++g) {
            if (!problem_->HasParameterBlock(groups_[g].data())) continue;
            const auto constants = constantsOf(g);
            for (int k = 0; k < 8; ++k)
                if (constants[static_cast<std::size_t>(k)]->mode == survey::ConstantMode::Prior)
                    problem_->AddResidualBlock(
                        new ceres::AutoDiffCostFunction<ConstantPrior, 1, 8>(
                            new ConstantPrior{k, constants[static_cast<std::size_t>(k)]->value,
                                              constants[static_cast<std::size_t>(k)]->sigma}),
                        nullptr, groups_[g].data());
        }
    }

    std::array<const survey::Constant*, 8> constantsOf(std::size_t g) const {
        const survey::CameraGroup& d = n_.survey().groups[g];
        return {&d.principalDistance, &d.principalX, &d.principalY, &d.k1, &d.k2, &d.k3, &d.p1, &d.p2};
    }

    /// What is fixed: constants, datum, heights of what lies on a level.
    void hold() {
        const auto fix = [this](double* block, int size, const std::vector<int>& fixed) {
            if (!problem_->HasParameterBlock(block) || fixed.empty()) return;
            if (static_cast<int>(fixed.size()) == size)
                problem_->SetParameterBlockConstant(block);
            else
                problem_->SetManifold(block, new ceres::SubsetManifold(size, fixed));
        };
        for (std::size_t g = 0; g < groups_.size(); ++g) {
            std::vector<int> fixed;
            const auto constants = constantsOf(g);
            for (int k = 0; k < 8; ++k)
                if (constants[static_cast<std::size_t>(k)]->mode == survey::ConstantMode::Fixed)
                    fixed.push_back(k);
            fix(groups_[g].data(), 8, fixed);
        }
        fix(&zero_, 1, {0});
        fix(&levels_[static_cast<std::size_t>(n_.datumLevel())], 1, {0});
        for (std::size_t i = 0; i < features_.size(); ++i) {
            const adjust::FeatureState& f = n_.state().features[i];
            const bool origin = static_cast<int>(i) == n_.originFeature();
            const bool direction = static_cast<int>(i) == n_.directionFeature();
            std::vector<int> fixed;
            if (f.kind == survey::FeatureKind::Edge) {
                if (direction) fixed.push_back(0);
                fixed.push_back(2);
            } else {
                if (origin) fixed.push_back(0);
                if (origin || direction) fixed.push_back(1);
                if (f.kind == survey::FeatureKind::Corner && f.level >= 0) fixed.push_back(2);
            }
            fix(features_[i].data(), 3, fixed);
        }
    }

    const adjust::Network& n_;
    std::unique_ptr<ceres::Problem> problem_;
    std::vector<std::array<double, 8>> groups_;
    std::vector<std::array<double, 6>> stations_;
    std::vector<double> levels_;
    std::vector<std::array<double, 3>> features_;
    std::vector<double> middle_;  ///< start of the feet on an edge
    std::vector<Vec2> anchors_;
    std::vector<double*> eliminated_;
    double azimuth_ = 0.0, zero_ = 0.0;
};

}  // namespace trammel::test
