// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/drawing/Layout.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>

#include "core/geometry/Piece.h"

namespace trammel::drawing {
namespace {

using geometry::Bounds;
using geometry::Piece;

constexpr double kPi = std::numbers::pi;
constexpr double kFirstRow = 4.0, kRowPitch = 3.0, kTextOver = 0.9;  // in text heights

bool overlap(const Bounds& a, const Bounds& b) {
    return (a.low.array() < b.high.array()).all() && (b.low.array() < a.high.array()).all();
}

Bounds boxOf(const Vec2& middle, double width, double height, double angle) {
    const double c = std::abs(std::cos(angle)), s = std::abs(std::sin(angle));
    const Vec2 half(0.5 * (width * c + height * s), 0.5 * (width * s + height * c));
    return {middle - half, middle + half};
}

class Placer {
  public:
    explicit Placer(Drawing& d) : drawing_(d), h_(d.textHeight), all_(d.part) {
        for (const DrawnChain& c : d.chains)
            for (const Piece& p : geometry::pieces(c.chain)) pieces_.push_back(p);
        for (const DrawnHole& hole : d.holes)
            for (const Piece& p : geometry::pieces(geometry::circleChain(hole.circle))) pieces_.push_back(p);
    }

    Bounds run() {
        std::array<std::vector<Figure*>, 4> sides;  // below, above, left, right
        std::vector<Figure*> oblique;
        const Vec2 middle = 0.5 * (drawing_.part.low + drawing_.part.high);
        for (Figure& f : drawing_.figures) {
            if (f.kind != FigureKind::Linear) continue;
            const Vec2 m = 0.5 * (f.first + f.second);
            if (std::abs(std::sin(f.angle)) * f.measured() < 1.5 * h_ && std::abs(std::cos(f.angle)) > 0.9)
                sides[m.y() > middle.y() ? 1 : 0].push_back(&f);
            else if (std::abs(std::cos(f.angle)) * f.measured() < 1.5 * h_ &&
                     std::abs(std::sin(f.angle)) > 0.9)
                sides[m.x() > middle.x() ? 3 : 2].push_back(&f);
            else
                oblique.push_back(&f);
        }
        for (std::size_t s = 0; s < 4; ++s) stack(sides[s], static_cast<int>(s));
        for (Figure* f : oblique) placeOblique(*f);
        for (Figure& f : drawing_.figures)
            if (f.kind != FigureKind::Linear) placeLeader(f);
        return all_;
    }

  private:
    struct Interval {
        double low, high;
    };

    /// Rows along one side, the shorter dimensions nearer to the part.
    void stack(std::vector<Figure*>& list, int side) {
        std::stable_sort(list.begin(), list.end(),
                         [](const Figure* a, const Figure* b) { return a->measured() < b->measured(); });
        std::vector<std::vector<Interval>> rows;
        const int axis = side < 2 ? 0 : 1;  // the axis the dimensions run along
        for (Figure* f : list) {
            const double half = 0.5 * std::max(std::abs(f->second[axis] - f->first[axis]) + 2 * h_,
                                               textWidth(f->text, h_) + h_);
            const double at = 0.5 * (f->first[axis] + f->second[axis]);
            const Interval mine{at - half, at + half};
            std::size_t row = 0;
            while (row < rows.size() &&
                   std::any_of(rows[row].begin(), rows[row].end(),
                               [&](const Interval& i) { return mine.low < i.high && i.low < mine.high; }))
                ++row;
            if (row == rows.size()) rows.emplace_back();
            rows[row].push_back(mine);
            const double out = h_ * (kFirstRow + kRowPitch * static_cast<double>(row));
            const Bounds& part = drawing_.part;
            const double level = side == 0   ? part.low.y() - out
                                 : side == 1 ? part.high.y() + out
                                 : side == 2 ? part.low.x() - out
                                             : part.high.x() + out;
            Vec2 through = 0.5 * (f->first + f->second);
            through[1 - axis] = level;
            placeLinear(*f, through);
            all_ = united(all_, linearBox(*f));
            taken_.push_back(linearBox(*f));
        }
    }

    /// Puts the dimension line through a point, the text over its middle, readable from below or the right.
    void placeLinear(Figure& f, const Vec2& through) {
        const Vec2 u(std::cos(f.angle), std::sin(f.angle));
        const Vec2 n(-u.y(), u.x());
        f.linePoint = f.second + (through - f.second).dot(n) * n;
        const Vec2 other = f.first + (through - f.first).dot(n) * n;
        double angle = std::remainder(f.angle, kPi);  // −π/2..π/2
        if (angle <= -kPi / 2 + 0.02) angle += kPi;
        f.textAngle = angle;
        f.textMiddle = 0.5 * (f.linePoint + other) + kTextOver * h_ * Vec2(-std::sin(angle), std::cos(angle));
    }

    Bounds textBox(const Figure& f) const {
        return boxOf(f.textMiddle, textWidth(f.text, h_), 1.4 * h_, f.textAngle);
    }

    Bounds linearBox(const Figure& f) const {
        const Vec2 u(std::cos(f.angle), std::sin(f.angle));
        const double run = std::abs((f.second - f.first).dot(u));
        const Bounds text = textBox(f);
        const Vec2 middle =
            f.textMiddle - kTextOver * h_ * Vec2(-std::sin(f.textAngle), std::cos(f.textAngle));
        return united(text, boxOf(middle, run, 0.5 * h_, f.angle));
    }

    int crossings(const Bounds& box) const {
        const geometry::Chain frame{{{box.low, 0},
                                     {{box.high.x(), box.low.y()}, 0},
                                     {box.high, 0},
                                     {{box.low.x(), box.high.y()}, 0}}};
        const auto sides = geometry::pieces(frame);
        int count = 0;
        for (const Piece& p : pieces_) {
            if (overlap({p.from, p.from}, box)) {  // a small hole may lie wholly under a text
                ++count;
                continue;
            }
            for (const Piece& s : sides)
                if (touch(p, s, 1e-9)) {
                    ++count;
                    break;
                }
        }
        return count;
    }

    /// Cost of a place: other figures must not be overlapped, the part's lines rather not.
    double cost(const Bounds& box, double distance) const {
        for (const Bounds& t : taken_)
            if (overlap(t, box)) return std::numeric_limits<double>::infinity();
        return distance + 8 * h_ * crossings(box);
    }

    void placeOblique(Figure& f) {
        const Vec2 n(-std::sin(f.angle), std::cos(f.angle)), middle = 0.5 * (f.first + f.second);
        Figure best = f;
        double least = std::numeric_limits<double>::infinity();
        for (int k = 1; k <= 40; ++k)
            for (const double side : {1.0, -1.0}) {
                Figure trial = f;
                placeLinear(trial, middle + side * 2.5 * h_ * k * n);
                const double c = cost(textBox(trial), 2.5 * h_ * k);
                if (c < least || k == 1) {
                    if (c < least || !std::isfinite(least)) best = trial;
                    least = std::min(c, least);
                }
            }
        f = best;
        taken_.push_back(textBox(f));  // its line may cross others, as slanted lines do
        all_ = united(all_, linearBox(f));
    }

    /// A leader from the rim outwards, text at its end.
    void placeLeader(Figure& f) {
        const bool diameter = f.kind == FigureKind::Diameter;
        const Vec2 centre = diameter ? Vec2(0.5 * (f.first + f.second)) : f.first;
        const double r = (f.second - centre).norm(), width = textWidth(f.text, h_);
        const double preferred = std::atan2(f.second.y() - centre.y(), f.second.x() - centre.x());
        Figure best = f;
        Bounds bestBox;
        double least = std::numeric_limits<double>::infinity();
        bool any = false;
        for (int k = 0; k < 12; ++k)
            for (int a = 0; a < 12; ++a) {
                // A radius leaves the middle of its arc; a diameter may leave anywhere, slanted.
                const double angle =
                    diameter ? kPi / 4 + a * kPi / 6 : preferred + (a % 2 ? 1 : -1) * 0.08 * (a / 2);
                const Vec2 u(std::cos(angle), std::sin(angle));
                Figure trial = f;
                trial.second = centre + r * u;
                if (diameter) trial.first = centre - r * u;
                trial.angle = angle;
                trial.linePoint = centre + (r + h_ * (2.0 + 1.5 * k)) * u;
                trial.textAngle = 0.0;
                trial.textMiddle =
                    trial.linePoint + Vec2(u.x() >= 0 ? 0.5 * (width + h_) : -0.5 * (width + h_), 0);
                const Bounds box = boxOf(trial.textMiddle, width, 1.4 * h_, 0.0);
                const double c = cost(box, h_ * (1.5 * k + 0.1 * a));
                if (any && !(c < least)) continue;
                best = trial, bestBox = box, least = c, any = true;
            }
        f = best;
        taken_.push_back(bestBox);
        all_ = united(all_, bestBox);
    }

    Drawing& drawing_;
    double h_;
    std::vector<Piece> pieces_;
    std::vector<Bounds> taken_;
    Bounds all_;
};

}  // namespace

double textHeightFor(const Bounds& part) {
    const double size = (part.high - part.low).maxCoeff();
    double best = 1.8;
    for (const double step : {1.8, 2.5, 3.5, 5.0, 7.0, 10.0, 14.0, 20.0})
        if (std::abs(std::log(step / (size / 100))) < std::abs(std::log(best / (size / 100)))) best = step;
    return best;
}

Bounds placeFigures(Drawing& drawing) { return Placer(drawing).run(); }

}  // namespace trammel::drawing
