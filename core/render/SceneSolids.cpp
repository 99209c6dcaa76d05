// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/core.h>

#include <array>
#include <cmath>
#include <numbers>

#include "core/geometry/Piece.h"
#include "core/render/SceneJson.h"

namespace trammel::render::scenejson {
namespace {

using survey::FeatureKind;

struct TextureWord {
    const char* word;
    Texture texture;
};
constexpr std::array<TextureWord, 6> kTextures = {{{"plain", Texture::Plain},
                                                   {"solder mask", Texture::SolderMask},
                                                   {"metal", Texture::Metal},
                                                   {"plastic", Texture::Plastic},
                                                   {"print", Texture::Print},
                                                   {"rule", Texture::Rule}}};

/// Names that a vertex gives to itself and to the piece that starts there, on the upper and the lower face.
struct PieceNames {
    std::string corner, cornerBelow, piece, pieceBelow;
};

struct NamedChain {
    geometry::Chain chain;
    std::vector<PieceNames> names;
};

/// A corner rounded by the radius: tangent points on both straight pieces and the arc between them.
void addFillet(const Place& p, const Vec2& before, const Vec2& at, const Vec2& after, double radius,
               NamedChain& out) {
    const Vec2 in = (at - before).normalized(), on = (after - at).normalized();
    const double turn = std::atan2(in.x() * on.y() - in.y() * on.x(), in.dot(on));
    const double back = radius * std::tan(std::abs(turn) / 2);
    if (!(std::abs(turn) > 1e-6) || back > (at - before).norm() || back > (after - at).norm())
        throw Trouble{p.where("fillet"), "does not fit between its neighbours"};
    out.chain.vertices.push_back({at - back * in, std::tan(turn / 4)});
    out.names.push_back({"", "", p.text("arc", ""), p.text("arcBelow", "")});
    out.chain.vertices.push_back({at + back * on, 0.0});
    out.names.push_back({"", "", p.text("edge", ""), p.text("edgeBelow", "")});
}

NamedChain readChain(const Place& owner, const std::string& key) {
    NamedChain out;
    const auto places = owner.list(key);
    if (places.size() < 2) throw Trouble{owner.where(key), "a closed chain needs two vertices at least"};
    for (std::size_t i = 0; i < places.size(); ++i) {
        const Place& p = places[i];
        const Vec2 at = p.vector2("at");
        if (p.has("fillet")) {
            addFillet(p, places[(i + places.size() - 1) % places.size()].vector2("at"), at,
                      places[(i + 1) % places.size()].vector2("at"), p.positive("fillet"), out);
            continue;
        }
        const double bulge = p.number("bulge", 0.0);
        out.chain.vertices.push_back({at, bulge});
        const char* piece = bulge != 0.0 ? "arc" : "edge";
        out.names.push_back({p.text("corner", ""), p.text("cornerBelow", ""), p.text(piece, ""),
                             p.text(std::string(piece) + "Below", "")});
    }
    for (std::size_t i = 0; i < out.chain.vertices.size(); ++i) {
        const auto& next = out.chain.vertices[(i + 1) % out.chain.vertices.size()];
        if ((next.point - out.chain.vertices[i].point).norm() < 1e-9)
            throw Trouble{owner.where(key), "two neighbouring vertices lie at one place"};
    }
    if (!geometry::isSimple(out.chain)) throw Trouble{owner.where(key), "the chain crosses itself"};
    return out;
}

/// Collects the features of one solid.
class Harvest {
  public:
    Harvest(Scene& scene, int solid, const Place& place) : scene_(scene), solid_(solid), place_(place) {}

    void corner(const std::string& name, const Vec2& at, double z, bool painted = false) {
        SceneFeature f = start(name, FeatureKind::Corner, z);
        f.point = f.from = f.to = Vec3(at.x(), at.y(), z);
        f.painted = painted;
        keep(f);
    }
    void edge(const std::string& name, const Vec2& a, const Vec2& b, double z) {
        SceneFeature f = start(name, FeatureKind::Edge, z);
        f.from = Vec3(a.x(), a.y(), z);
        f.to = Vec3(b.x(), b.y(), z);
        f.point = 0.5 * (f.from + f.to);
        keep(f);
    }
    void round(const std::string& name, FeatureKind kind, const geometry::Circle& c, double start0,
               double sweep, double z) {
        SceneFeature f = start(name, kind, z);
        f.point = Vec3(c.centre.x(), c.centre.y(), z);
        f.radius = c.radius;
        f.startAngle = start0;
        f.sweep = sweep;
        f.from = along(f, 0.0).point;
        f.to = along(f, 1.0).point;
        keep(f);
    }
    void slot(const std::string& name, const Vec2& from, const Vec2& to, double radius, double z) {
        SceneFeature f = start(name, FeatureKind::Slot, z);
        f.from = Vec3(from.x(), from.y(), z);
        f.to = Vec3(to.x(), to.y(), z);
        f.point = 0.5 * (f.from + f.to);
        f.radius = radius;
        keep(f);
    }
    void curve(const std::string& name, const geometry::Chain& course, double z) {
        SceneFeature f = start(name, FeatureKind::Curve, z);
        for (const auto& v : course.vertices) {
            f.course.emplace_back(v.point.x(), v.point.y(), z);
            f.point += f.course.back() / static_cast<double>(course.vertices.size());
        }
        keep(f);
    }
    void chain(const NamedChain& named, double top, double bottom) {
        const auto pieces = geometry::pieces(named.chain);
        for (std::size_t i = 0; i < pieces.size(); ++i)
            for (const bool above : {true, false}) {
                const PieceNames& n = named.names[i];
                const double z = above ? top : bottom;
                const std::string& point = above ? n.corner : n.cornerBelow;
                const std::string& piece = above ? n.piece : n.pieceBelow;
                if (!point.empty()) corner(point, pieces[i].from, z);
                if (piece.empty()) continue;
                if (pieces[i].isArc())
                    round(piece, FeatureKind::Arc, pieces[i].circle, pieces[i].startAngle, pieces[i].sweep,
                          z);
                else
                    edge(piece, pieces[i].from, pieces[i].to, z);
            }
    }

  private:
    SceneFeature start(const std::string& name, FeatureKind kind, double z) const {
        if (featureIndex(scene_, name)) throw Trouble{place_.where(name), "the name is used twice"};
        SceneFeature f;
        f.name = name;
        f.kind = kind;
        f.solid = solid_;
        for (std::size_t i = 0; i < scene_.levels.size(); ++i)
            if (std::abs(scene_.levels[i].height - z) < 1e-9) {
                f.level = static_cast<int>(i);
                return f;
            }
        throw Trouble{place_.where(name), fmt::format("no level has the height {}", z)};
    }
    void keep(const SceneFeature& f) { scene_.features.push_back(f); }

    Scene& scene_;
    int solid_;
    Place place_;
};

/// Long round hole: two half circles and two sides, anticlockwise.
geometry::Chain slotChain(const Vec2& from, const Vec2& to, double radius) {
    const Vec2 u = (to - from).normalized(), n = radius * Vec2(-u.y(), u.x());
    geometry::Chain chain;
    chain.vertices = {{from - n, 0.0}, {to - n, 1.0}, {to + n, 0.0}, {from + n, 1.0}};
    return chain;
}

/// Closed uniform cubic B-spline about the nodes (de Boor 1978), as a polygon of 16 sides a node: its chords
/// leave the curve by a thousandth of the node distance at most.
geometry::Chain smoothChain(const Place& owner, const std::string& key) {
    const std::vector<Vec2> nodes = owner.points(key);
    const std::size_t n = nodes.size();
    if (n < 4) throw Trouble{owner.where(key), "a closed curve needs four nodes at least"};
    geometry::Chain chain;
    for (std::size_t i = 0; i < n; ++i)
        for (int k = 0; k < 16; ++k) {
            const double t = k / 16.0, s = 1.0 - t;
            chain.vertices.push_back(
                {(s * s * s * nodes[i] + (4 - 6 * t * t + 3 * t * t * t) * nodes[(i + 1) % n] +
                  (1 + 3 * t + 3 * t * t - 3 * t * t * t) * nodes[(i + 2) % n] +
                  t * t * t * nodes[(i + 3) % n]) /
                     6.0,
                 0.0});
        }
    if (!geometry::isSimple(chain)) throw Trouble{owner.where(key), "the curve crosses itself"};
    return geometry::signedArea(chain) < 0.0 ? geometry::reversed(chain) : chain;
}

void readLongOpenings(const Place& p, Solid& solid, Harvest& harvest) {
    for (const Place& o : p.list("slots")) {
        const Vec2 from = o.vector2("from"), to = o.vector2("to");
        const double radius = 0.5 * o.positive("width");
        if (!((to - from).norm() > 0.0)) throw Trouble{o.where("to"), "the slot has no length"};
        solid.openings.push_back({o.text("name", ""), std::nullopt, slotChain(from, to, radius)});
        if (o.has("name")) harvest.slot(o.text("name"), from, to, radius, solid.top);
        if (o.has("below")) harvest.slot(o.text("below"), from, to, radius, solid.bottom);
    }
    for (const Place& o : p.list("curves")) {
        const geometry::Chain chain = smoothChain(o, "nodes");
        solid.openings.push_back({o.text("name", ""), std::nullopt, chain});
        if (o.has("name")) harvest.curve(o.text("name"), chain, solid.top);
        if (o.has("below")) harvest.curve(o.text("below"), chain, solid.bottom);
    }
}

void readOpenings(const Place& p, Solid& solid, Harvest& harvest) {
    readLongOpenings(p, solid, harvest);
    for (const Place& o : p.list("holes")) {
        Opening opening;
        opening.name = o.text("name", "");
        opening.circle = geometry::Circle{o.vector2("at"), 0.5 * o.positive("diameter")};
        solid.openings.push_back(opening);
        const auto hole = [&](const std::string& name, double z) {
            if (!name.empty())
                harvest.round(name, FeatureKind::Hole, *opening.circle, 0.0, 2.0 * std::numbers::pi, z);
        };
        hole(opening.name, solid.top);
        hole(o.text("below", ""), solid.bottom);
    }
    for (const Place& o : p.list("openings")) {
        const NamedChain chain = readChain(o, "outline");
        solid.openings.push_back({o.text("name", ""), std::nullopt, chain.chain});
        harvest.chain(chain, solid.top, solid.bottom);
    }
}

void readPaint(const Place& p, Solid& solid) {
    for (const Place& line : p.list("paint")) {
        Paint paint;
        paint.colour = line.vector3("colour");
        if (line.has("ring")) {
            const auto ring = line.numbers("ring", 4);
            paint.centre = Vec2(ring[0], ring[1]);
            paint.inner = ring[2];
            paint.outer = ring[3];
        } else {
            paint.width = line.positive("width");
            paint.line = line.points("line");
        }
        solid.paint.push_back(paint);
    }
    if (!p.has("graduations")) return;
    const Place g = p.child("graduations");
    solid.graduations =
        Graduations{g.vector2("from"), g.vector2("to"), static_cast<int>(g.positive("count"))};
    if (!((solid.graduations->to - solid.graduations->from).norm() > 0.0))
        throw Trouble{p.where("graduations"), "have no length"};
}

void readSolid(const Place& p, Scene& scene) {
    Solid solid;
    solid.name = p.text("name");
    solid.bottom = p.number("bottom");
    solid.top = p.number("top");
    if (!(solid.top > solid.bottom)) throw Trouble{p.where("top"), "must be above the bottom"};
    const std::string word = p.text("texture", "plain");
    bool known = false;
    for (const TextureWord& t : kTextures)
        if (word == t.word) {
            solid.texture = t.texture;
            known = true;
        }
    if (!known) throw Trouble{p.where("texture"), "there is no such texture"};
    solid.colour = p.vector3("colour");
    solid.wallColour = p.has("wallColour") ? p.vector3("wallColour") : Vec3(0.6 * solid.colour);
    if (p.has("insideColour")) solid.insideColour = p.vector3("insideColour");
    if (p.has("onlyIn")) solid.onlyIn = p.texts("onlyIn");
    const int index = static_cast<int>(scene.solids.size());
    Harvest harvest(scene, index, p);
    if (p.has("circle")) {
        const auto c = p.numbers("circle", 3);
        const Vec2 reach(c[2], 0.0), centre(c[0], c[1]);
        solid.outline.vertices = {{centre - reach, 1.0}, {centre + reach, 1.0}};
    } else {
        const NamedChain chain = readChain(p, "outline");
        solid.outline = chain.chain;
        harvest.chain(chain, solid.top, solid.bottom);
    }
    readOpenings(p, solid, harvest);
    for (const Place& point : p.list("points"))
        harvest.corner(point.text("name"), point.vector2("at"), solid.top, true);
    readPaint(p, solid);
    scene.solids.push_back(solid);
}

}  // namespace

void readSolids(const Place& root, Scene& scene) {
    for (const Place& p : root.list("solids")) readSolid(p, scene);
    if (scene.solids.empty()) throw Trouble{"solids", "a scene needs at least one"};
}

}  // namespace trammel::render::scenejson
