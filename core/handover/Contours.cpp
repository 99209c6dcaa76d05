// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/handover/Contours.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <unordered_map>

#include "core/geometry/Piece.h"

namespace trammel::handover {
namespace {

using geometry::Vertex;

constexpr double kSameEnd = 1e-5;    // file units
constexpr double kSamePiece = 1e-4;  // file units

/// Points sorted into squares, so that neighbours are found without comparing all.
class Grid {
  public:
    explicit Grid(double cell) : cell_(cell) {}
    void add(const Vec2& p, int value) { cells_[key(index(p.x()), index(p.y()))].push_back({p, value}); }
    template <class Visit>
    void near(const Vec2& p, double reach, Visit visit) const {
        for (long i = index(p.x()) - 1; i <= index(p.x()) + 1; ++i)
            for (long j = index(p.y()) - 1; j <= index(p.y()) + 1; ++j) {
                const auto it = cells_.find(key(i, j));
                if (it == cells_.end()) continue;
                for (const auto& [q, value] : it->second)
                    if ((q - p).norm() <= reach) visit(value, (q - p).norm());
            }
    }

  private:
    long index(double v) const { return static_cast<long>(std::floor(std::clamp(v / cell_, -1e15, 1e15))); }
    static std::uint64_t key(long i, long j) {
        return static_cast<std::uint64_t>(i) * 0x9E3779B97F4A7C15ULL ^ static_cast<std::uint64_t>(j);
    }
    double cell_;
    std::unordered_map<std::uint64_t, std::vector<std::pair<Vec2, int>>> cells_;
};

/// An open run of pieces: vertices with the bulge to the next, the last one's unused.
struct Run {
    std::string layer;
    std::vector<Vertex> vertices;
    bool used = false;
    const Vec2& end(int which) const { return which == 0 ? vertices.front().point : vertices.back().point; }
};

std::vector<Vertex> turned(const std::vector<Vertex>& v) {
    std::vector<Vertex> out;
    for (std::size_t k = v.size(); k-- > 0;) out.push_back({v[k].point, k > 0 ? -v[k - 1].bulge : 0.0});
    return out;
}

double bulgeOf(const DxfArc& a) {
    double sweep = std::fmod(a.end - a.start, 2 * std::numbers::pi);
    if (sweep <= 0) sweep += 2 * std::numbers::pi;
    return std::tan(sweep / 4);
}

Vec2 rim(const geometry::Circle& c, double angle) {
    return c.centre + c.radius * Vec2(std::cos(angle), std::sin(angle));
}

ContourContents closedContour(const std::string& layer, std::vector<Vertex> vertices) {
    ContourContents c{layer, true, vertices.size(), 0, 0, false, {std::move(vertices)}, {}};
    c.area = std::abs(signedArea(c.chain));
    c.perimeter = perimeter(c.chain);
    c.bounds = bounds(c.chain);
    c.crossesItself = !isSimple(c.chain, 1e-7);
    return c;
}

ContourContents openContour(const Run& run) {
    ContourContents c{run.layer, false, run.vertices.size() - 1, 0, 0, false, {}, {}};
    for (std::size_t i = 0; i + 1 < run.vertices.size(); ++i) {
        const geometry::Piece p(run.vertices[i].point, run.vertices[i + 1].point, run.vertices[i].bulge);
        c.perimeter += p.length();
        c.bounds = i == 0 ? p.bounds() : united(c.bounds, p.bounds());
    }
    return c;
}

void addPath(const DxfPath& path, std::vector<Run>& runs, Contours& out) {
    std::vector<Vertex> v = path.vertices;
    const bool repeats = v.size() > 2 && (v.front().point - v.back().point).norm() <= kSameEnd;
    if (repeats) v.pop_back();
    if (v.size() < 2) return;
    if (path.closed || repeats)
        out.list.push_back(closedContour(path.layer, v));
    else
        runs.push_back({path.layer, v});
}

class Joiner {
  public:
    explicit Joiner(std::vector<Run>& runs) : runs_(runs), grid_(1e-3) {
        for (std::size_t i = 0; i < runs.size(); ++i)
            for (int e = 0; e < 2; ++e) grid_.add(runs[i].end(e), static_cast<int>(2 * i) + e);
    }

    /// The run grown at both of its ends as long as exactly one other run continues it.
    Run grow(std::size_t start) {
        Run run = runs_[start];
        runs_[start].used = true;
        for (int side = 0; side < 2; ++side) {
            extend(run);
            if (closes(run)) break;
            run.vertices = turned(run.vertices);
        }
        return run;
    }
    static bool closes(const Run& run) {
        return run.vertices.size() > 2 && (run.end(0) - run.end(1)).norm() <= kSameEnd;
    }

  private:
    void extend(Run& run) {
        while (!closes(run)) {
            std::vector<int> next;
            int total = 0;
            grid_.near(run.end(1), kSameEnd, [&](int value, double) {
                const Run& other = runs_[static_cast<std::size_t>(value / 2)];
                if (other.layer != run.layer) return;
                ++total;
                if (!other.used) next.push_back(value);
            });
            if (next.size() != 1 || total > 2) return;  // an end, or a fork
            Run& other = runs_[static_cast<std::size_t>(next[0] / 2)];
            other.used = true;
            const auto more = next[0] % 2 == 0 ? other.vertices : turned(other.vertices);
            run.vertices.back().bulge = more.front().bulge;
            run.vertices.insert(run.vertices.end(), more.begin() + 1, more.end());
        }
    }

    std::vector<Run>& runs_;
    Grid grid_;
};

bool samePiece(const LoosePiece& a, const LoosePiece& b) {
    const auto equal = [](const Vec2& p, const Vec2& q) { return (p - q).norm() <= kSamePiece; };
    const geometry::Piece p(a.from, a.to, a.bulge), q(b.from, b.to, b.bulge);
    return equal(p.middle(), q.middle()) &&
           ((equal(a.from, b.from) && equal(a.to, b.to)) || (equal(a.from, b.to) && equal(a.to, b.from)));
}

/// A straight piece by its endless line (angle 0..π, distance from the origin) and its run along it.
struct Straight {
    long angle;
    double offset, from, to;
    const std::string* layer;
};

int countOverlaps(const std::vector<LoosePiece>& pieces, bool acrossLayers) {
    std::vector<Straight> list;
    for (const LoosePiece& p : pieces) {
        Vec2 d = p.to - p.from;
        const double length = d.norm();
        if (p.bulge != 0 || length < kSamePiece) continue;
        d /= length;
        if (d.x() < -1e-9 || (std::abs(d.x()) <= 1e-9 && d.y() < 0)) d = -d;
        const double a = d.dot(p.from), b = d.dot(p.to);
        list.push_back({std::lround(std::atan2(d.y(), d.x()) * 1e6), d.x() * p.from.y() - d.y() * p.from.x(),
                        std::min(a, b), std::max(a, b), &p.layer});
    }
    std::sort(list.begin(), list.end(), [](const Straight& a, const Straight& b) {
        return a.angle != b.angle     ? a.angle < b.angle
               : a.offset != b.offset ? a.offset < b.offset
                                      : a.from < b.from;
    });
    int count = 0;
    for (std::size_t i = 0; i < list.size(); ++i)
        for (std::size_t j = i + 1; j < list.size() && list[j].angle == list[i].angle &&
                                    list[j].offset - list[i].offset <= kSamePiece;
             ++j) {
            const double common = std::min(list[i].to, list[j].to) - std::max(list[i].from, list[j].from);
            const bool same = std::abs(list[i].from - list[j].from) <= kSamePiece &&
                              std::abs(list[i].to - list[j].to) <= kSamePiece;
            const bool counts = acrossLayers || *list[i].layer == *list[j].layer;
            if (counts && common > 10 * kSamePiece && !same) ++count;
        }
    return count;
}

}  // namespace

std::vector<LoosePiece> allPieces(const DxfFile& file) {
    std::vector<LoosePiece> list;
    for (const DxfLine& l : file.lines) list.push_back({l.layer, l.from, l.to, 0.0});
    for (const DxfArc& a : file.arcs)
        list.push_back({a.layer, rim(a.circle, a.start), rim(a.circle, a.end), bulgeOf(a)});
    for (const DxfCircle& c : file.circles)
        list.push_back({c.layer, rim(c.circle, 0), rim(c.circle, std::numbers::pi), 1.0});
    for (const DxfPath& path : file.paths)
        for (std::size_t i = 0; i < path.vertices.size(); ++i) {
            if (i + 1 == path.vertices.size() && !path.closed) break;
            const Vertex &v = path.vertices[i], &w = path.vertices[(i + 1) % path.vertices.size()];
            if (v.point != w.point) list.push_back({path.layer, v.point, w.point, v.bulge});
        }
    return list;
}

Contours joinContours(const DxfFile& file) {
    Contours out;
    std::vector<Run> runs;
    for (const DxfPath& path : file.paths) addPath(path, runs, out);
    for (const DxfLine& l : file.lines)
        if (l.from != l.to) runs.push_back({l.layer, {{l.from, 0.0}, {l.to, 0.0}}});
    for (const DxfArc& a : file.arcs)
        runs.push_back({a.layer, {{rim(a.circle, a.start), bulgeOf(a)}, {rim(a.circle, a.end), 0.0}}});
    Joiner joiner(runs);
    for (std::size_t i = 0; i < runs.size(); ++i) {
        if (runs[i].used) continue;
        Run run = joiner.grow(i);
        if (Joiner::closes(run)) {
            run.vertices.pop_back();
            out.list.push_back(closedContour(run.layer, run.vertices));
            continue;
        }
        out.list.push_back(openContour(run));
        for (int e = 0; e < 2; ++e) {
            out.ends.push_back(run.end(e));
            out.endLayers.push_back(run.layer);
        }
    }
    return out;
}

int countHairlineGaps(const Contours& contours, double most) {
    Grid grid(std::max(most, 1e-3));
    int count = 0;
    for (std::size_t i = 0; i < contours.ends.size(); ++i) {
        grid.near(contours.ends[i], most, [&](int other, double apart) {
            const auto j = static_cast<std::size_t>(other);
            if (apart > kSameEnd && contours.endLayers[i] == contours.endLayers[j]) ++count;
        });
        grid.add(contours.ends[i], static_cast<int>(i));
    }
    return count;
}

int countDoubled(const std::vector<LoosePiece>& pieces, bool acrossLayers) {
    Grid grid(1e-2);
    int count = 0;
    for (std::size_t i = 0; i < pieces.size(); ++i) {
        const Vec2 middle = geometry::Piece(pieces[i].from, pieces[i].to, pieces[i].bulge).middle();
        bool doubled = false;
        grid.near(middle, kSamePiece, [&](int other, double) {
            const LoosePiece& q = pieces[static_cast<std::size_t>(other)];
            doubled = doubled || ((acrossLayers || pieces[i].layer == q.layer) && samePiece(pieces[i], q));
        });
        count += doubled;
        grid.add(middle, static_cast<int>(i));
    }
    return count + countOverlaps(pieces, acrossLayers);
}

}  // namespace trammel::handover
