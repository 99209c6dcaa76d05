// SPDX-License-Identifier: GPL-3.0-or-later
// What libraries of other people make of our DXF: ezdxf's audit and OGR's reader (Debian python3-ezdxf and
// python3-gdal). Skipped with one line where they are not installed.
#include <sys/wait.h>
#include <unistd.h>

#include <catch2/catch.hpp>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "Boards.h"
#include "core/drawing/Build.h"
#include "core/geometry/Piece.h"
#include "core/handover/DxfWriter.h"
#include "core/handover/Layers.h"

using namespace trammel;
using namespace trammel::boards;
using namespace trammel::handover;

namespace {

/// Runs one of the scripts beside this test on a file; empty when its library is missing.
std::vector<std::string> runScript(const std::string& script, const std::string& file) {
    const std::filesystem::path here = TRAMMEL_TESTS_FOLDER "/core/handover";
    const std::string command = "/usr/bin/python3 '" + (here / script).string() + "' '" + file + "' 2>&1";
    FILE* pipe = ::popen(command.c_str(), "r");
    std::string text;
    char buffer[4096];
    while (pipe && std::fgets(buffer, sizeof buffer, pipe)) text += buffer;
    const int code = pipe ? WEXITSTATUS(::pclose(pipe)) : 127;
    if (code == 77 || code == 127) {
        std::printf("skipped: %s\n", text.c_str());
        return {};
    }
    INFO(text);
    REQUIRE(code == 0);
    std::vector<std::string> lines;
    std::istringstream in(text);
    for (std::string line; std::getline(in, line);) lines.push_back(line);
    return lines;
}

std::string written(const drawing::Drawing& d, DxfVersion version) {
    const auto text = dxfText(d, version);
    REQUIRE(text);
    const auto path =
        std::filesystem::temp_directory_path() / ("trammel-outside-" + std::to_string(::getpid()) + ".dxf");
    std::ofstream(path, std::ios::binary) << *text;
    return path.string();
}

std::vector<drawing::Drawing> specimens() {
    std::vector<drawing::Drawing> list;
    const Board demo = demoBoard();
    for (const auto face : {drawing::Face::Top, drawing::Face::Bottom})
        list.push_back(*drawing::build(demo.survey, demo.solution, {face, "A", {}, {}}));
    for (unsigned seed = 1; seed <= 4; ++seed) {
        double truth = 0;
        const Board b = randomBoard(seed, truth);
        list.push_back(*drawing::build(b.survey, b.solution));
    }
    return list;
}

struct Reader {
    const std::vector<std::string>& lines;
    std::size_t at = 0;
    /// The next line that begins with the word, its rest.
    std::istringstream next(const std::string& word) {
        while (at < lines.size() && lines[at].rfind(word + " ", 0) != 0) ++at;
        REQUIRE(at < lines.size());
        return std::istringstream(lines[at++].substr(word.size() + 1));
    }
};

}  // namespace

TEST_CASE("ezdxf finds nothing to complain about and reads the same numbers") {
    for (const auto version : {DxfVersion::R2000, DxfVersion::R12})
        for (const drawing::Drawing& d : specimens()) {
            const auto lines = runScript("audit.py", written(d, version));
            if (lines.empty()) return;
            for (const auto& l : lines)
                if (l.rfind("problem", 0) == 0) WARN(l);
            CHECK(lines[0] == std::string("file ") + (version == DxfVersion::R12 ? "AC1009" : "AC1015") +
                                  " errors 0 fixes 0");
            CHECK(lines[1] == "units 4 1");
            Reader in{lines};
            const LayerNames names(d);
            for (const auto& c : d.chains) {
                std::string layer;
                int closed = 0;
                std::size_t count = 0;
                in.next("chain") >> layer >> closed >> count;
                CHECK(layer == names.of(c));
                CHECK(closed == 1);
                REQUIRE(count == c.chain.vertices.size());
                for (const auto& v : c.chain.vertices) {
                    Vec2 p;
                    double bulge = 0;
                    in.next("vertex") >> p.x() >> p.y() >> bulge;
                    CHECK((p - v.point).norm() < 1e-6);
                    CHECK(bulge == Approx(v.bulge).margin(1e-12));
                }
            }
            for (const auto& h : d.holes) {
                std::string layer;
                Vec2 p;
                double r = 0;
                in.next("circle") >> layer >> p.x() >> p.y() >> r;
                CHECK(layer == names.of(h));
                CHECK((p - h.circle.centre).norm() < 1e-6);
                CHECK(std::abs(r - h.circle.radius) < 1e-6);
            }
            for (const auto& f : d.figures) {
                std::string layer;
                int pictured = 0, type = -1;
                in.next("dimension") >> layer >> pictured >> type;
                CHECK(layer == kDimensionLayer);
                CHECK(pictured >= 3);
                CHECK(type == (f.kind == drawing::FigureKind::Linear     ? 0
                               : f.kind == drawing::FigureKind::Diameter ? 3
                                                                         : 4));
            }
        }
}

TEST_CASE("OGR reads closed lines with our vertices and areas") {
    for (const auto version : {DxfVersion::R2000, DxfVersion::R12})
        for (const drawing::Drawing& d : specimens()) {
            const auto lines = runScript("ogr_read.py", written(d, version));
            if (lines.empty()) return;
            Reader in{lines};
            for (const auto& c : d.chains) {
                std::string layer;
                int closed = 0, count = 0;
                double area = 0;
                in.next("line") >> layer >> closed >> count >> area;
                CHECK(layer == LayerNames(d).of(c));
                CHECK(closed == 1);
                std::vector<Vec2> points;
                for (int i = 0; i < count; ++i) {
                    Vec2 p;
                    in.next("point") >> p.x() >> p.y();
                    points.push_back(p);
                }
                // Arcs arrive as chords of 0.1°: they lie on our arcs, and enclose an area smaller by about
                // (0.1°)²/6 of the arcs' segments.
                for (const auto& v : c.chain.vertices) {
                    double nearest = 1e9;
                    for (const Vec2& p : points) nearest = std::min(nearest, (p - v.point).norm());
                    CHECK(nearest < 1e-6);
                }
                double worst = 0;
                for (const Vec2& p : points) {
                    double nearest = 1e9;
                    for (const auto& piece : geometry::pieces(c.chain))
                        nearest = std::min(nearest, geometry::distance(piece, p));
                    worst = std::max(worst, nearest);
                }
                CHECK(worst < 1e-6);
                CHECK(area == Approx(std::abs(signedArea(c.chain))).epsilon(1e-6));
            }
        }
}
