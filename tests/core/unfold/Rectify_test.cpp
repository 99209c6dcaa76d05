// SPDX-License-Identifier: GPL-3.0-or-later
// Rectified photographs of the sample, whose truth is known: features lie at their mm place.
#include "core/unfold/Rectify.h"

#include <cmath>
#include <numbers>

#include "Sample.h"
#include "core/photo/Decode.h"
#include "core/unfold/Seen.h"

using namespace trammel;
using namespace trammel::unfold;

namespace {

constexpr double kPxPerMm = 6.0;

photo::Image photograph(const std::string& name, int shrink = 1) {
    auto image = photo::decode(test::kSampleFolder + "photographs/" + name + ".jpg", shrink);
    if (!image) throw std::runtime_error(image.error().sentence());
    return *image;
}

Arrangement sheet() {
    std::vector<Placed> features;
    for (const auto& [id, f] : test::sampleTruth().features) {
        Placed p;
        p.line = {f.point, f.from, f.to};
        if (f.kind == survey::FeatureKind::Hole || f.kind == survey::FeatureKind::Corner) p.line = {f.point};
        p.beside = f.level == "L7" || f.level == "L8";
        features.push_back(p);
    }
    return test::arrangementOf(features, 0.0, Method::FirstAngle);
}

struct Rectified {
    Window window;
    std::vector<std::uint8_t> rgba;
    /// Green between pixels, or nothing where the photograph does not reach.
    double at(const Vec2& px) const {
        const int x = static_cast<int>(std::floor(px.x())), y = static_cast<int>(std::floor(px.y()));
        if (x < 0 || y < 0 || x + 1 >= window.width || y + 1 >= window.height) return NAN;
        const double fx = px.x() - x, fy = px.y() - y;
        const auto green = [&](int i, int j) {
            return rgba[(static_cast<std::size_t>(j) * window.width + i) * 4 + 1];
        };
        return (1 - fy) * ((1 - fx) * green(x, y) + fx * green(x + 1, y)) +
               fy * ((1 - fx) * green(x, y + 1) + fx * green(x + 1, y + 1));
    }
    /// How far the steepest place lies from `px` along a unit direction, within ±reach px.
    std::optional<double> edgeFrom(const Vec2& px, const Vec2& along, double reach = 3.0) const {
        double best = 0.0, at0 = 0.0;
        const double step = 0.1;
        for (double t = -reach; t <= reach; t += step) {
            const double slope = std::abs(at(px + (t + 0.7) * along) - at(px + (t - 0.7) * along));
            if (slope > best) best = slope, at0 = t;
        }
        if (best < 12.0 || std::abs(at0) > reach - step) return std::nullopt;
        return at0;
    }
};

Rectified whole(const Arrangement& a, const Plane& plane, const photo::Image& image) {
    const Frame& f = a.frame(plane.view);
    Rectified r;
    r.window = {Vec2(f.low.x(), f.high.y()), kPxPerMm, static_cast<int>(f.size().x() * kPxPerMm),
                static_cast<int>(f.size().y() * kPxPerMm)};
    auto out = rectify(a, plane, r.window, {image.data.data(), image.width, image.height, image.channels, 1});
    REQUIRE(out);
    r.rgba = std::move(*out);
    return r;
}

}  // namespace

TEST_CASE("Holes of a rectified photograph lie at their mm place, each level at its own height") {
    const Arrangement a = sheet();
    for (const auto& [name, view, level, sign] :
         {std::tuple{"top", View::Top, "L1", 1.0}, std::tuple{"bottom", View::Bottom, "L2", -1.0}}) {
        const double height = test::sampleTruth().levels.at(level);
        const auto picture = whole(a, {view, sign * height, test::trueStation(name)}, photograph(name));
        int holes = 0;
        for (const auto& [id, f] : test::sampleTruth().features) {
            if (f.kind != survey::FeatureKind::Hole || f.level != level) continue;
            const Vec2 centre = picture.window.pxAt(a.toSheet(view, f.point));
            Vec2 shift = Vec2::Zero();
            double grown = 0.0;
            int found = 0;
            for (int i = 0; i < 48; ++i) {
                const double t = 2 * std::numbers::pi * i / 48;
                const Vec2 n(std::cos(t), std::sin(t));
                const auto off = picture.edgeFrom(centre + f.radius * kPxPerMm * n, n);
                if (!off) continue;
                shift += *off * n;
                grown += *off;
                ++found;
            }
            if (found < 40) continue;  // in a shadow
            INFO(f.name << ": " << found << " rim points, moved " << (2.0 / found * shift).norm() << " px");
            CHECK((2.0 / found * shift).norm() < 0.5);
            CHECK(std::abs(grown / found) < 0.5);
            ++holes;
        }
        CHECK(holes >= 5);
    }
}

TEST_CASE("Edges of a rectified side view lie at their mm place, each at its own depth") {
    const Arrangement a = sheet();
    int edges = 0;
    const auto image = photograph("front");
    const auto station = test::trueStation("front");
    for (const char* name : {"sink front", "J3 front", "coil front"}) {
        const auto& f = test::sampleTruth().features.at(test::sampleTruth().ids.at(name));
        const auto picture = whole(a, {View::Front, a.depthOf(View::Front, f.point), station}, image);
        double sum = 0.0;
        int found = 0;
        for (int i = 2; i <= 18; ++i) {
            const Vec3 p = f.from + (f.to - f.from) * (i / 20.0);
            const auto off =
                picture.edgeFrom(picture.window.pxAt(a.toSheet(View::Front, p)), Vec2::UnitY(), 2.0);
            if (off) sum += *off, ++found;
        }
        INFO(name << ": " << found << " places, " << sum / found << " px");
        if (found < 9) continue;
        CHECK(std::abs(sum / found) < 0.5);
        ++edges;
    }
    CHECK(edges >= 2);
}

TEST_CASE("At the wrong height the same holes are off: the check above can fail") {
    const Arrangement a = sheet();
    const auto station = test::trueStation("top");
    const auto& f = test::sampleTruth().features.at(test::sampleTruth().ids.at("H3"));
    const Vec2 place = a.toSheet(View::Top, f.point);
    const auto px = intoPhotograph(station, f.point);
    REQUIRE(px);
    CHECK((*ontoSheet(a, View::Top, 0.0, station, *px) - place).norm() < 1e-6);
    CHECK((*ontoSheet(a, View::Top, 30.0, station, *px) - place).norm() > 0.5 / kPxPerMm);
}

TEST_CASE("The map between its nodes is the camera's own within a tenth of a px") {
    const Arrangement a = sheet();
    for (const double k1 : {0.0, -0.3, 8.0}) {
        Plane plane{View::Top, 0.0, test::trueStation("top")};
        plane.station.constants.k1 += k1;
        if (k1 < 0) {  // a wide lens, near
            plane.station.constants.c /= 8.0;
            plane.station.pose.t.z() /= 8.0;
        }
        const Frame& f = a.frame(View::Top);
        const Window window{Vec2(f.low.x(), f.high.y()), 4.0, 1300, 900};
        const RectifyingMap map(a, plane, window);
        double worst = 0.0;
        std::vector<float> row(2 * 1300);
        for (int y = 3; y < 900; y += 37) {
            map.row(y, 2, row.data());
            for (int x = 5; x < 1300; x += 41) {
                const auto exact =
                    intoPhotograph(plane.station, a.toPart(View::Top, window.sheetAt(Vec2(x, y)), 0.0));
                REQUIRE(exact);
                worst = std::max(worst, (map.at(x, y) - *exact).norm());
                const Vec2 shrunk = (map.at(x, y) + Vec2(0.5, 0.5)) / 2 - Vec2(0.5, 0.5);
                CHECK(std::abs(row[2 * x] - shrunk.x()) < 0.01);
                CHECK(std::abs(row[2 * x + 1] - shrunk.y()) < 0.01);
            }
        }
        INFO("k1 " << k1 << ", step " << map.step());
        CHECK(worst < 1.5 * RectifyingMap::kError);
    }
}

TEST_CASE("A shrunk photograph gives the same picture, and what it does not show stays empty") {
    const Arrangement a = sheet();
    const Plane plane{View::Top, 0.0, test::trueStation("top")};
    const Frame& f = a.frame(View::Top);
    const Window window{Vec2(f.low.x() - 100.0, f.high.y()), 1.0, static_cast<int>(f.size().x()) + 100,
                        static_cast<int>(f.size().y())};
    CHECK(shrinkFor(plane.station, 1.0) == 4);
    CHECK(shrinkFor(plane.station, 10.0) == 1);
    std::vector<std::uint8_t> pictures[2];
    for (const int i : {0, 1}) {
        const int shrink = i == 0 ? 2 : 4;
        const auto image = photograph("top", shrink);
        auto out =
            rectify(a, plane, window, {image.data.data(), image.width, image.height, image.channels, shrink});
        REQUIRE(out);
        pictures[i] = std::move(*out);
    }
    double sum = 0.0;
    int count = 0, empty = 0;
    for (std::size_t i = 0; i < pictures[0].size(); i += 4) {
        empty += pictures[0][i + 3] == 0;
        if (pictures[0][i + 3] && pictures[1][i + 3])
            sum += std::abs(int(pictures[0][i + 1]) - int(pictures[1][i + 1])), ++count;
        if (pictures[0][i + 3] == 0) CHECK(pictures[0][i] == 0);
    }
    CHECK(sum / count < 4.0);  // codes of 255
    CHECK(empty > 50 * window.height);
    CHECK(count > 100000 / 2);
}

TEST_CASE("Rectifying refuses nonsense and can be stopped") {
    const Arrangement a = sheet();
    const Plane plane{View::Top, 0.0, test::trueStation("top")};
    const std::vector<std::uint8_t> grey(100, 7);
    const Source source{grey.data(), 10, 10, 1, 8};
    const Window window{Vec2::Zero(), 1.0, 50, 70};
    CHECK(rectify(a, plane, window, source));
    CHECK(rectify(a, plane, {Vec2::Zero(), 1.0, 0, 70}, source).error().code == ErrorCode::BadValue);
    CHECK(rectify(a, plane, {Vec2::Zero(), 1.0, 100000, 100000}, source).error().code == ErrorCode::BadValue);
    CHECK(rectify(a, plane, {Vec2::Zero(), 0.0, 50, 70}, source).error().code == ErrorCode::BadValue);
    CHECK(rectify(a, plane, window, {}).error().code == ErrorCode::BadValue);
    Progress stopped;
    stopped.cancel();
    CHECK(rectify(a, plane, window, source, &stopped).error().code == ErrorCode::Cancelled);
    // a camera that looks away sees nothing, and nothing breaks
    Plane away = plane;
    away.station.pose.t.z() = -5000.0;
    const auto nothing = rectify(a, away, window, source);
    REQUIRE(nothing);
    for (const auto byte : *nothing) REQUIRE(byte == 0);
}
