// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>
#include <vector>

#include "core/render/Scene.h"

/// Exact ray casting against solids pulled along z: walls are planes and cylinders, never facets, so that an
/// arc in a photograph is an arc.
namespace trammel::render {

struct Ray {
    Vec3 origin = Vec3::Zero(), direction = Vec3::UnitZ();  ///< direction of unit length
};

/// Which face of a solid a ray meets.
enum class Face { Top, Bottom, Wall, Inside };  // Inside: the wall of an opening

struct Hit {
    double distance = 0.0;  ///< mm along the ray
    int solid = -1;         ///< index into Scene::solids; -1 the backdrop
    Face face = Face::Top;
    int surface = 0;  ///< unique per face or wall piece of the solid
    Vec3 normal = Vec3::UnitZ();
    Vec3 point = Vec3::Zero();
};

/// One solid made ready for many rays.
class Prism {
  public:
    Prism(const Solid& solid, int index);
    /// Nearest meeting closer than `limit`.
    std::optional<Hit> meet(const Ray& ray, double limit) const;
    /// Whether the ray's line leaves the solid's box aside; `inverse` holds 1 / direction, axis by axis.
    bool missesBox(const Ray& ray, const Vec3& inverse, double limit) const;

  private:
    struct Wall {
        bool arc = false, inside = false;
        Vec2 a = Vec2::Zero(), b = Vec2::Zero();
        Vec2 centre = Vec2::Zero();
        double radius = 0.0, bulge = 0.0;
        bool full = false;  ///< whole circle
    };
    struct Loop {
        std::size_t first = 0, count = 0;
        Vec2 low = Vec2::Zero(), high = Vec2::Zero();
    };
    void addLoop(const geometry::Chain& chain, bool inside);
    void addCircle(const geometry::Circle& circle);
    bool inLoop(const Loop& loop, const Vec2& p) const;
    bool inFace(const Vec2& p) const;
    void meetFaces(const Ray& ray, Hit& best, bool& found) const;
    void meetStraight(const Ray& ray, std::size_t i, Hit& best, bool& found) const;
    void meetRound(const Ray& ray, std::size_t i, Hit& best, bool& found) const;
    static bool onArcSide(const Wall& wall, const Vec2& p);

    int index_;
    double bottom_, top_;
    Vec3 low_ = Vec3::Zero(), high_ = Vec3::Zero();  ///< box
    std::vector<Wall> walls_;
    std::vector<Loop> loops_;  ///< outline first, then openings
};

/// Everything one photograph can show.
class World {
  public:
    World(const Scene& scene, const SceneCamera& camera);
    /// Nearest surface; nothing when the ray runs away from the backdrop too.
    std::optional<Hit> cast(const Ray& ray) const;
    /// Whether any solid stands in the ray's way.
    bool blocked(const Ray& ray) const;

  private:
    std::vector<Prism> prisms_;
    Backdrop backdrop_;
};

}  // namespace trammel::render
