// SPDX-License-Identifier: GPL-3.0-or-later
// Analytic derivatives of every kind of observation against central differences.
#include <fmt/core.h>

#include <map>
#include <random>
#include <set>

#include "Bracket.h"
#include "Sample.h"
#include "core/estimate/Solver.h"

using namespace trammel;
using namespace trammel::adjust;
using survey::ConstantMode;
using survey::FeatureKind;
using survey::Quantity;

namespace {

/// The sample with every observation kind in it.
survey::Survey everything(ConstantMode brown) {
    survey::Survey s = test::draw(false, 5);
    for (survey::CameraGroup& g : s.groups) {
        g.principalX.mode = ConstantMode::Prior, g.principalX.sigma = 20;
        g.principalY.mode = ConstantMode::Free;
        const std::array<survey::Constant*, 5> all = {&g.k1, &g.k2, &g.k3, &g.p1, &g.p2};
        const std::array<double, 5> values = {0.2, -1.5, 4.0, 1e-3, -2e-3};
        for (std::size_t i = 0; i < 5; ++i) *all[i] = {values[i], 0.5 * std::abs(values[i]), brown};
    }
    int freed = 0;
    for (survey::Feature& f : s.features)
        if (f.kind == FeatureKind::Corner && freed < 3) f.level.clear(), ++freed;
    REQUIRE(freed == 3);
    std::map<FeatureKind, std::vector<survey::Id>> of;
    for (const survey::Feature& f : s.features) of[f.kind].push_back(f.id);
    const auto read = [&](Quantity q, const std::vector<survey::Id>& objects, double value) {
        survey::Reading r;
        r.id = fmt::format("R{}", 100 + s.readings.size());
        r.quantity = q;
        r.objects = objects;
        r.measured = {value, 0.05};
        s.readings.push_back(r);
    };
    const auto &corner = of[FeatureKind::Corner], &edge = of[FeatureKind::Edge],
               &hole = of[FeatureKind::Hole], &arc = of[FeatureKind::Arc];
    REQUIRE((corner.size() > 3 && edge.size() > 4 && hole.size() > 3 && arc.size() > 1));
    read(Quantity::Distance, {corner[0], hole[2]}, 80);  // free in space to a level
    read(Quantity::Distance, {corner[0], corner[1]}, 80);
    read(Quantity::Distance, {corner[1], edge[0]}, 30);
    read(Quantity::Distance, {edge[1], hole[3]}, 30);
    read(Quantity::Distance, {edge[0], edge[2]}, 60);
    read(Quantity::Distance, {arc[0], edge[3]}, 20);
    read(Quantity::Diameter, {arc[0]}, 12);
    read(Quantity::Radius, {arc[1]}, 6);
    read(Quantity::Radius, {hole[1]}, 2);
    read(Quantity::Depth, {corner[2], s.levels[1].id}, 9);
    read(Quantity::Depth, {s.levels[1].id, s.levels[2].id}, 9);
    read(Quantity::Height, {corner[0]}, 3);
    read(Quantity::Height, {s.levels[2].id}, 3);
    for (const survey::Id& id : edge)
        if (find(s.features, id)->level != s.datum.level) {
            read(Quantity::Height, {id}, 3);
            break;
        }
    read(Quantity::OffsetX, {hole[0], arc[1]}, 50);
    read(Quantity::OffsetY, {corner[3], hole[2]}, 50);
    read(Quantity::Angle, {edge[0], edge[1]}, 1.0);
    read(Quantity::Angle, {edge[3], edge[2]}, 1.0);
    read(Quantity::Tape, {s.stations[1].id}, 5000);
    return s;
}

/// Largest departure of the analytic derivatives, relative to the largest derivative by the same unknown.
struct Departure {
    double worst = 0.0;
    std::string where;
};

/// Whether `everything` made this reading up.
bool added(const survey::Id& reading) { return reading.size() == 4 && reading[0] == 'R'; }

std::vector<MatX> denseRows(const std::vector<estimate::Rows>& rows, int columns) {
    std::vector<MatX> out;
    for (const auto& row : rows) {
        MatX J = MatX::Zero(2, columns);
        for (std::size_t i = 0; i < static_cast<std::size_t>(row.count); ++i)
            for (int k = 0; k < row.components; ++k)
                J(k, row.column[i]) += row.J[static_cast<std::size_t>(k)][i];
        out.push_back(J);
    }
    return out;
}

Departure compare(Network& n) {
    const int columns = n.layout().columns;
    std::vector<estimate::Rows> rows;
    REQUIRE(n.linearise(rows, true));
    const auto J = denseRows(rows, columns);
    const auto owners = n.rowOwners();
    VecX largest = VecX::Constant(columns, 1e-12);
    for (const MatX& j : J) largest = largest.cwiseMax(j.cwiseAbs().colwise().maxCoeff().transpose());
    Departure out;
    const auto at = [&](int column, double h) {
        std::vector<estimate::Rows> moved;
        VecX d = VecX::Zero(columns);
        d[column] = h;
        n.save();
        n.step(d);
        REQUIRE(n.linearise(moved, false));
        n.restore();
        return moved;
    };
    for (int c = 0; c < columns; ++c) {
        const double h = 0.05 / largest[c];
        const auto p1 = at(c, h), m1 = at(c, -h), p2 = at(c, 2 * h), m2 = at(c, -2 * h);
        for (std::size_t r = 0; r < rows.size(); ++r)
            for (int k = 0; k < rows[r].components; ++k) {
                const auto kk = static_cast<std::size_t>(k);
                // Fourth-order central difference.
                const double numeric =
                    -(8 * (p1[r].e[kk] - m1[r].e[kk]) - (p2[r].e[kk] - m2[r].e[kk])) / (12 * h);
                const double off = std::abs(numeric - J[r](k, c)) / largest[c];
                if (off > out.worst) {
                    out.worst = off;
                    out.where = fmt::format("{} by {}: analytic {} numeric {}",
                                            n.owners()[static_cast<std::size_t>(owners[r])].description,
                                            n.columnName(c), J[r](k, c), numeric);
                }
            }
    }
    return out;
}

/// The bracket with the rarer observations: conditions, mirror marks, a crop of unknown place, a refocused
/// lens.
survey::Survey rarerObservations() {
    const test::Bracket b(0.3, 8);
    survey::Survey s = b.survey;
    const auto hold = [&](survey::ConditionKind kind, const std::vector<std::string>& names,
                          double value = 0.0) {
        survey::Condition c;
        c.id = fmt::format("C{}", s.conditions.size() + 1);
        c.kind = kind;
        for (const auto& name : names) {
            const survey::Level* level = nullptr;
            for (const auto& l : s.levels) level = l.name == name ? &l : level;
            c.objects.push_back(level ? level->id : b.id(name));
        }
        c.measured = {value, 0.05};
        s.conditions.push_back(c);
    };
    using survey::ConditionKind;
    hold(ConditionKind::Parallel, {"front", "rear"});
    hold(ConditionKind::Parallel, {"front", "ridge"});
    hold(ConditionKind::Perpendicular, {"left", "shelf edge"});
    hold(ConditionKind::Perpendicular, {"ridge", "left"});
    hold(ConditionKind::Concentric, {"origin", "fillet", "bore"});
    hold(ConditionKind::Equal, {"origin", "axis", "slot", "bore"});
    hold(ConditionKind::Coplanar, {"base", "shelf 1", "apex", "shelf"});
    hold(ConditionKind::Symmetrical, {"base 1", "base 3", "front"});
    hold(ConditionKind::Symmetrical, {"base 1", "axis", "apex"});
    hold(ConditionKind::Symmetrical, {"front", "rear", "shelf edge"});
    hold(ConditionKind::Pitch, {"lid 1", "lid 5", "lid 2", "slot"});
    hold(ConditionKind::Pitch, {"base 1", "base 2", "base 4"}, 40.0);
    hold(ConditionKind::Tangent, {"fillet", "left"});
    const auto read = [&](Quantity q, const std::vector<std::string>& names, double value,
                          double flat = 0.0) {
        survey::Reading r;
        r.id = fmt::format("R{}", 100 + s.readings.size());
        r.quantity = q, r.measured = {value, 0.05}, r.jawFlat_mm = flat;
        for (const auto& name : names) r.objects.push_back(b.id(name));
        s.readings.push_back(r);
    };
    read(Quantity::InnerSpan, {"origin", "axis"}, 94, 1.0);
    read(Quantity::OuterSpan, {"slot", "fillet"}, 60);
    read(Quantity::OuterSpan, {"bore", "front"}, 40);
    read(Quantity::Diameter, {"bore"}, 10, 1.5);
    read(Quantity::Diameter, {"slot"}, 8, 1.0);
    read(Quantity::Length, {"slot"}, 33, 1.0);
    read(Quantity::Distance, {"ridge", "apex"}, 12);
    read(Quantity::Distance, {"ridge", "rear"}, 30);
    read(Quantity::Distance, {"slot", "left"}, 50);
    read(Quantity::Angle, {"ridge", "rear"}, 0.4);
    read(Quantity::Angle, {"base 2", "axis", "apex"}, 1.5);
    read(Quantity::Height, {"ridge"}, 8);
    read(Quantity::Depth, {"lid 1", "slot"}, 8);
    for (const std::size_t station : {0UL, 2UL})
        s.stations[station].mirror = survey::MirrorMark{Vec2(3100, 2100), 2.0, 0.002};
    s.stations[3].photo.crop = {6400, 4300, 200, 150, false};
    survey::CameraGroup second = s.groups[0];
    s.groups[0].lightGrowth = {0.1, 0.35, ConstantMode::Prior};
    second.lightGrowth.mode = ConstantMode::Free;
    second.id = "G2", second.refocusedFrom = "G1";
    second.pupil = {40, 15, ConstantMode::Prior};
    s.groups.push_back(second);
    for (const std::size_t station : {4UL, 5UL}) s.stations[station].group = "G2";
    for (survey::Mark& m : s.marks)
        for (survey::MarkPoint& p : m.points) p.growth_px = Vec2(0.9, -0.6);
    survey::Reading tape;
    tape.id = "R200", tape.quantity = Quantity::Tape, tape.objects = {s.stations[4].id};
    tape.measured = {1160, 5};
    s.readings.push_back(tape);
    return s;
}

void moveAway(Network& n) {
    std::mt19937 random(3);
    std::vector<estimate::Rows> rows;
    REQUIRE(n.linearise(rows, true));
    VecX largest = VecX::Constant(n.layout().columns, 1e-12);
    for (const MatX& j : denseRows(rows, n.layout().columns))
        largest = largest.cwiseMax(j.cwiseAbs().colwise().maxCoeff().transpose());
    VecX away(n.layout().columns);
    for (auto& a : away) a = 0.1 * std::normal_distribution<double>()(random);
    n.step(away.cwiseQuotient(largest));
}

}  // namespace

TEST_CASE("derivatives of every observation equal central differences") {
    for (const ConstantMode brown : {ConstantMode::Fixed, ConstantMode::Prior, ConstantMode::Free}) {
        const survey::Survey s = everything(brown);
        auto n = Network::compile(s);
        REQUIRE(n);
        REQUIRE(findStart(*n));
        // Off the solution and with residuals: nothing may be exact only there. (The readings added are
        // absurd, so the solution is that of the others.)
        for (Owner& o : n->owners()) o.active = o.active && !added(o.object);
        REQUIRE(estimate::solve(*n));
        moveAway(*n);
        const Departure d = compare(*n);
        INFO(d.where);
        CHECK(d.worst < 1e-6);
        fmt::print("  Brown {}: {} rows, {} unknowns, worst departure {:.1e} ({})\n", static_cast<int>(brown),
                   n->rowOwners().size(), n->layout().columns, d.worst, d.where);
    }
}

TEST_CASE("derivatives of the rarer observations equal central differences") {
    const survey::Survey s = rarerObservations();
    auto n = Network::compile(s);
    if (!n) FAIL(n.error().sentence());
    REQUIRE(findStart(*n));
    moveAway(*n);
    const Departure d = compare(*n);
    INFO(d.where);
    CHECK(d.worst < 1e-6);
    fmt::print("  rarer: {} rows, {} unknowns, worst departure {:.1e} ({})\n", n->rowOwners().size(),
               n->layout().columns, d.worst, d.where);
}

TEST_CASE("the gradient of every quantity equals central differences") {
    const bool rarer = GENERATE(false, true);
    const survey::Survey s = rarer ? rarerObservations() : everything(ConstantMode::Free);
    auto n = Network::compile(s);
    REQUIRE(n);
    REQUIRE(findStart(*n));
    const int columns = n->layout().columns;
    std::set<Quantity> covered;
    for (const auto& [term, owner, measured] : n->readings()) {
        CAPTURE(n->owners()[static_cast<std::size_t>(owner)].description);
        covered.insert(term.quantity);
        VecX g = VecX::Zero(columns);
        for (const auto& [c, v] : evaluate(term, n->state(), n->columns()).gradient) g[c] += v;
        REQUIRE(g.cwiseAbs().maxCoeff() > 0);
        for (int c = 0; c < columns; ++c) {
            const double h = 1e-4 / std::max(1.0, std::abs(g[c]));
            VecX d = VecX::Zero(columns);
            d[c] = h;
            n->save();
            n->step(d);
            const double plus = evaluate(term, n->state(), n->columns()).value;
            n->restore();
            n->step(-d);
            const double minus = evaluate(term, n->state(), n->columns()).value;
            n->restore();
            CHECK(std::abs((plus - minus) / (2 * h) - g[c]) < 1e-6 * (1 + std::abs(g[c])));
        }
    }
    CHECK(covered.size() == (rarer ? 9 : 9));
}
