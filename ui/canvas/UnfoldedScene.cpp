// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/canvas/UnfoldedScene.h"

#include <Eigen/Geometry>
#include <QCoreApplication>
#include <algorithm>
#include <cmath>

#include "core/drawing/OutlineChain.h"

namespace trammel::ui {
namespace {

QString tr(const char* text) { return QCoreApplication::translate("UnfoldedScene", text); }

constexpr double kLeastBorder = 4.0;  // mm

double distanceTo(const SheetLine& line, bool closed, const Vec2& p) {
    if (line.points.size() == 1) return (line.points[0] - p).norm();
    double best = INFINITY;
    const std::size_t n = line.points.size();
    for (std::size_t i = 0; i + (closed ? 0 : 1) < n; ++i) {
        const Vec2 a = line.points[i], ab = line.points[(i + 1) % n] - a;
        const double size = ab.squaredNorm();
        const double t = size > 0.0 ? std::clamp(ab.dot(p - a) / size, 0.0, 1.0) : 0.0;
        best = std::min(best, (a + t * ab - p).norm());
    }
    return best;
}

double quantile(std::vector<double> values, double share) {
    if (values.empty()) return 0.0;
    const auto at = static_cast<std::ptrdiff_t>(share * static_cast<double>(values.size() - 1));
    std::nth_element(values.begin(), values.begin() + at, values.end());
    return values[static_cast<std::size_t>(at)];
}

}  // namespace

QString viewWord(View view) {
    switch (view) {
        case View::Top:
            return tr("Top");
        case View::Bottom:
            return tr("Bottom");
        case View::Front:
            return tr("Front");
        case View::Rear:
            return tr("Rear");
        case View::Left:
            return tr("Left");
        case View::Right:
            return tr("Right");
        case View::Oblique:
            break;
    }
    return tr("Oblique");
}

UnfoldedScene::UnfoldedScene(const Document& document, const SheetSettings& settings,
                             const survey::Id& preferredStation)
    : survey_(document.survey()), solution_(document.solution()) {
    turn_ = unfold::turnOf(*solution_);
    features_ = unfold::placed(survey_, *solution_);
    for (std::size_t i = 0; i < features_.size(); ++i) index_[features_[i].feature] = static_cast<int>(i);
    chooseSides(document, settings, preferredStation);
    lay();
    layOutlines();
    judge();
}

void UnfoldedScene::chooseSides(const Document& document, const SheetSettings& settings,
                                const survey::Id& preferred) {
    const bool first = settings.method == unfold::Method::FirstAngle;
    std::vector<View> views{View::Front, View::Top};
    if (settings.allViews) {
        views.assign(std::begin(unfold::kPlaced), std::end(unfold::kPlaced));
    } else {  // beside the front view on its right, where there is a photograph of one of them
        const auto has = [&](View v) {
            return std::ranges::any_of(survey_.stations, [&](const auto& s) {
                return s.view == v && !s.excluded && solution_->stations.contains(s.id);
            });
        };
        const View usual = first ? View::Left : View::Right, other = first ? View::Right : View::Left;
        views.push_back(has(usual) || !has(other) ? usual : other);
    }
    const unfold::Box box = unfold::boxOf(features_, turn_);
    const double largest = std::max(1.0, (box.high - box.low).maxCoeff());
    arrangement_ = unfold::Arrangement(
        {settings.method, box, turn_, views, std::max(kLeastBorder, 0.03 * largest), 0.09 * largest});
    for (const View view : arrangement_.views()) {
        UnfoldedSide side;
        side.view = view;
        bool any = false;
        for (const auto& station : survey_.stations) {
            if (station.view != view) continue;
            any = true;
            const auto camera = solution_->stations.find(station.id);
            if (station.excluded || camera == solution_->stations.end()) continue;
            if (!side.station.empty() && station.id != preferred) continue;  // the first, or the chosen one
            side.station = station.id;
            side.name = QString::fromStdString(station.name.empty() ? station.id : station.name);
            side.path = QString::fromStdString(document.photoPath(station).string());
            side.camera = camera->second;
        }
        if (side.station.empty())
            side.missing =
                any ? tr("Its photograph is not adjusted yet: it is left out, or too few of its "
                         "features are marked.")
                    : tr("There is no photograph of this side; features are drawn from the others.");
        sides_.push_back(std::move(side));
    }
}

void UnfoldedScene::lay() {
    for (std::size_t i = 0; i < features_.size(); ++i) {
        const unfold::Placed& f = features_[i];
        if (f.beside || f.line.empty()) continue;
        for (const UnfoldedSide& side : sides_) {
            // where no photograph shows a side, what the others show is all there is
            if (!side.station.empty() && !f.seenIn(side.view)) continue;
            SheetLine line{static_cast<int>(i), side.view, {}, arrangement_.toSheet(side.view, f.point), {}};
            for (const Vec3& p : f.line) line.points.push_back(arrangement_.toSheet(side.view, p));
            line.box = {line.points.front(), line.points.front()};
            for (const Vec2& p : line.points) {
                line.box.low = line.box.low.cwiseMin(p);
                line.box.high = line.box.high.cwiseMax(p);
            }
            seen_.push_back(side.station.empty() ? std::vector<unfold::Seen>{}
                                                 : unfold::seenOn(arrangement_, survey_, *solution_, f,
                                                                  side.view, side.station));
            lines_.push_back(std::move(line));
        }
    }
}

void UnfoldedScene::layOutlines() {
    for (const auto& outline : survey_.outlines) {
        const auto chain = drawing::buildChain(survey_, outline, solution_->features, {});
        if (!chain) continue;  // hand-over names what is wrong with it
        const auto level = solution_->levels.find(outline.level);
        const double z = level == solution_->levels.end() ? 0.0 : level->second;
        std::vector<Vec3> points;
        const auto& vertices = chain->chain.vertices;
        for (std::size_t i = 0; i < vertices.size(); ++i) {
            const auto& a = vertices[i];
            const Vec2 b = vertices[(i + 1) % vertices.size()].point;
            points.emplace_back(a.point.x(), a.point.y(), z);
            if (a.bulge == 0.0) continue;
            const auto circle = geometry::arcOf(a.point, b, a.bulge);
            const double sweep = 4.0 * std::atan(a.bulge);
            const Vec2 arm = a.point - circle.centre;
            const int steps = std::max(2, static_cast<int>(std::abs(sweep) / 0.1));
            for (int k = 1; k < steps; ++k) {
                const Vec2 p = circle.centre + Eigen::Rotation2Dd(sweep * k / steps) * arm;
                points.emplace_back(p.x(), p.y(), z);
            }
        }
        for (const View view : {View::Top, View::Bottom}) {
            if (!arrangement_.shows(view)) continue;
            SheetOutline out{outline.level, view, {}};
            for (const Vec3& p : points) out.points.push_back(arrangement_.toSheet(view, p));
            outlines_.push_back(std::move(out));
        }
    }
}

void UnfoldedScene::judge() {
    std::vector<double> residuals, known;
    for (const auto& line : seen_)
        for (const auto& seen : line)
            for (std::size_t i = 0; i < seen.at.size() && !seen.excluded; ++i)
                residuals.push_back((seen.at[i] - seen.adjusted[i]).norm());
    for (const auto& f : features_)
        if (!f.beside && f.plusMinus() > 0.0) known.push_back(f.plusMinus());
    usualResidual_ = quantile(residuals, 0.9);
    usualPlusMinus_ = quantile(known, 0.75);
    if (known.empty()) return;
    const auto [low, high] = std::ranges::minmax(known);
    range_ = {low, high};
}

const UnfoldedSide* UnfoldedScene::side(View view) const {
    for (const auto& side : sides_)
        if (side.view == view) return &side;
    return nullptr;
}

const unfold::Placed* UnfoldedScene::feature(int index) const {
    return index < 0 || index >= static_cast<int>(features_.size())
               ? nullptr
               : &features_[static_cast<std::size_t>(index)];
}

int UnfoldedScene::indexOf(const survey::Id& feature) const {
    const auto it = index_.find(feature);
    return it == index_.end() ? -1 : it->second;
}

const SheetLine* UnfoldedScene::line(int feature, View view) const {
    for (const auto& line : lines_)
        if (line.feature == feature && line.view == view) return &line;
    return nullptr;
}

std::optional<View> UnfoldedScene::homeOf(int feature) const {
    for (const View view : {View::Top, View::Front, View::Left, View::Right, View::Bottom, View::Rear})
        if (line(feature, view)) return view;
    return std::nullopt;
}

std::optional<SheetHit> UnfoldedScene::at(const Vec2& sheet, double reach, const survey::Id& level) const {
    std::optional<SheetHit> best;
    double nearest = INFINITY;
    for (const SheetLine& line : lines_) {
        const Vec2 room(reach, reach);
        if (((sheet - line.box.low + room).array() < 0.0).any() ||
            ((line.box.high + room - sheet).array() < 0.0).any())
            continue;
        const auto& f = features_[static_cast<std::size_t>(line.feature)];
        double d = distanceTo(line, f.closed, sheet);
        // a hole is taken hold of anywhere inside, a corner before the edges that meet there
        if (f.radius > 0.0 && f.closed && (line.anchor - sheet).norm() < f.radius)
            d = std::min(d, 0.5 * reach);
        if (d > reach) continue;
        if (line.points.size() == 1) d *= 0.3;
        if (f.level != level) d += 2.0 * reach;
        if (d >= nearest) continue;
        nearest = d;
        best = SheetHit{line.feature, line.view};
    }
    return best;
}

std::optional<SheetHit> UnfoldedScene::next(const Vec2& from, const Vec2& direction, const survey::Id& level,
                                            const SheetHit& except) const {
    std::optional<SheetHit> best;
    double least = INFINITY;
    for (const SheetLine& line : lines_) {
        const SheetHit hit{line.feature, line.view};
        if (hit == except || features_[static_cast<std::size_t>(line.feature)].level != level) continue;
        const Vec2 d = line.anchor - from;
        const double ahead = d.dot(direction), aside = (d - ahead * direction).norm();
        if (ahead < 1e-6 || aside > 1.5 * ahead) continue;
        const double cost = ahead + 2.0 * aside;
        if (cost >= least) continue;
        least = cost;
        best = hit;
    }
    return best;
}

}  // namespace trammel::ui
