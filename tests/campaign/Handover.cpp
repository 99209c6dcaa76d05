// SPDX-License-Identifier: GPL-3.0-or-later
// Are files that are not what was meant caught? Random boards are drawn, written and read back by the
// independent reader; then what was read is spoilt in one way at a time, as it happens between the drawing
// and the cutter, and compared with the drawing.
#include <fmt/core.h>

#include <functional>
#include <map>
#include <random>

#include "Boards.h"
#include "Campaign.h"
#include "core/drawing/Kerf.h"
#include "core/handover/CheckSheet.h"
#include "core/handover/Compare.h"

namespace trammel::campaign {
namespace {

using handover::DxfFile;

/// A way to go wrong: changes the file (false: it cannot happen to this one), and a word that has to stand in
/// what is said of it.
struct Mistake {
    const char* name;
    std::function<bool(DxfFile&, std::mt19937&)> spoil;
    const char* word;
};

void map(DxfFile& f, const std::function<Vec2(Vec2)>& change, double scale, bool mirror) {
    for (auto& p : f.paths)
        for (auto& v : p.vertices) v.point = change(v.point), v.bulge = mirror ? -v.bulge : v.bulge;
    for (auto& c : f.circles) c.circle.centre = change(c.circle.centre), c.circle.radius *= scale;
    for (auto& d : f.dimensions)
        for (Vec2* p : {&d.p10, &d.p13, &d.p14, &d.p15}) *p = change(*p);
}

Mistake scaled(const char* name, double by, const char* word) {
    return {name,
            [by](DxfFile& f, std::mt19937&) {
                map(
                    f, [by](Vec2 p) { return Vec2(by * p); }, by, false);
                return true;
            },
            word};
}

handover::DxfCircle* someHole(DxfFile& f, std::mt19937& rng) {
    return f.circles.empty() ? nullptr : &f.circles[rng() % f.circles.size()];
}

bool moveHole(DxfFile& f, std::mt19937& rng) {
    auto* hole = someHole(f, rng);
    if (hole) hole->circle.centre.y() += 0.02;
    return hole;
}

bool widenHole(DxfFile& f, std::mt19937& rng) {
    auto* hole = someHole(f, rng);
    if (hole) hole->circle.radius += 0.005;
    return hole;
}

bool loseHole(DxfFile& f, std::mt19937& rng) {
    auto* hole = someHole(f, rng);
    if (!hole) return false;
    --f.counts[hole->layer]["CIRCLE"];
    f.circles.erase(f.circles.begin() + (hole - f.circles.data()));
    return true;
}

bool doubleHole(DxfFile& f, std::mt19937& rng) {
    auto* hole = someHole(f, rng);
    if (!hole) return false;
    ++f.counts[hole->layer]["CIRCLE"];
    f.circles.push_back(*hole);
    return true;
}

bool moveVertex(DxfFile& f, std::mt19937& rng) {
    auto& v = f.paths.front().vertices;
    v[rng() % v.size()].point.x() += 0.005;
    return true;
}

bool flattenArc(DxfFile& f, std::mt19937&) {
    for (auto& v : f.paths.front().vertices)
        if (v.bulge != 0) return v.bulge = 0, true;
    return false;
}

bool addLine(DxfFile& f, std::mt19937&) {
    const std::string layer = f.paths.front().layer;
    ++f.counts[layer]["LINE"];
    f.lines.push_back({layer, Vec2(0, 0), Vec2(10, 0)});
    return true;
}

bool olderLetter(DxfFile& f, std::mt19937&) {
    for (auto& t : f.texts)
        if (const auto at = t.text.find("; revision B"); at != std::string::npos)
            return t.text.replace(at, 12, "; revision A"), true;
    return false;
}

/// Compensated a second time: every closed path 0.05 mm farther out.
bool kerfTwice(DxfFile& f, std::mt19937&) {
    for (auto& c : f.circles) c.circle.radius -= 0.05;
    return !f.circles.empty();
}

std::vector<Mistake> mistakes() {
    return {
        {"mirrored",
         [](DxfFile& f, std::mt19937&) {
             map(
                 f, [](Vec2 p) { return Vec2(-p.x(), p.y()); }, 1, true);
             return true;
         },
         "mirrored"},
        scaled("x 25.4", 25.4, "inches and millimetres"),
        scaled("/ 25.4", 1 / 25.4, "inches and millimetres"),
        scaled("x 10", 10, "centimetres and millimetres"),
        scaled("/ 10", 0.1, "centimetres and millimetres"),
        scaled("x 1000", 1000, "metres and millimetres"),
        scaled("/ 1000", 0.001, "metres and millimetres"),
        scaled("fitted to a page, x 0.97", 0.97, "scaled by 0.97"),
        {"header says inch", [](DxfFile& f, std::mt19937&) { return f.insUnits = 1, true; }, "millimetres"},
        {"older letter", olderLetter, "revision A"},
        {"hole moved by 0.02", moveHole, "hole"},
        {"hole wider by 0.01", widenHole, "hole"},
        {"hole lost", loseHole, "hole"},
        {"hole doubled", doubleHole, "entities instead of"},
        {"vertex moved by 0.005", moveVertex, "not in layer"},
        {"arc made straight", flattenArc, "not in layer"},
        {"line more on a cut layer", addLine, "entities instead of"},
        {"contour opened", [](DxfFile& f, std::mt19937&) { return f.paths.front().closed = false, true; },
         "not in layer"},
        {"kerf compensated twice", kerfTwice, "hole"},
        {"dimension reworded",
         [](DxfFile& f, std::mt19937&) { return f.dimensions.front().text = "12.3", true; }, "reads"},
    };
}

struct Count {
    int tried = 0, caught = 0, named = 0;
};

Result<drawing::Drawing> draw(unsigned seed, std::mt19937& rng) {
    double area = 0;
    boards::Board b = boards::randomBoard(seed, area);
    // One dimension, so that there is one to be spoilt.
    b.edge("EX", {0, 0}, {10, 0}), b.edge("EY", {0, 7}, {10, 7});
    b.dimension("D1", survey::Quantity::Distance, {"EX", "EY"}, 7, 0.03);
    handover::Terms terms;
    terms.revision = "B";
    terms.face = rng() % 2 ? drawing::Face::Top : drawing::Face::Bottom;
    if (rng() % 3 == 0) terms.kerf.width_mm = 0.1;
    return handover::drawingOf(b.survey, b.solution, terms);
}

}  // namespace

int handedOver(const Settings& settings) {
    const auto list = mistakes();
    std::map<std::string, Count> counts;
    int good = 0, alarms = 0, refused = 0;
    for (int n = 0; n < settings.draws; ++n) {
        std::mt19937 rng(static_cast<unsigned>(n));
        const auto drawing = draw(static_cast<unsigned>(settings.first + n), rng);
        if (!drawing) {
            ++refused;  // a kerf that a random bay does not admit
            continue;
        }
        const auto version = n % 2 ? handover::DxfVersion::R12 : handover::DxfVersion::R2000;
        const auto text = handover::dxfText(*drawing, version);
        const auto file = text ? handover::parseDxf(*text, "random.dxf") : Result<DxfFile>(text.error());
        if (!file) {
            fmt::print("board {}: {}\n", n, file.error().sentence());
            return 1;
        }
        ++good;
        if (const auto wrong = handover::differences(*drawing, *file); !wrong.empty()) {
            ++alarms;
            fmt::print("board {}: false alarm: {}\n", n, wrong.front());
        }
        for (const Mistake& m : list) {
            DxfFile spoilt = *file;
            if (!m.spoil(spoilt, rng)) continue;
            Count& c = counts[m.name];
            ++c.tried;
            const auto said = handover::differences(*drawing, spoilt);
            c.caught += !said.empty();
            bool named = false;
            for (const auto& s : said) named = named || s.find(m.word) != std::string::npos;
            c.named += named;
        }
    }
    fmt::print("{} random boards written and read, {} refused for their kerf; false alarms: {}\n\n", good,
               refused, alarms);
    fmt::print("| mistake | files | caught | named |\n| --- | --- | --- | --- |\n");
    bool all = alarms == 0 && good > settings.draws * 3 / 4;
    for (const Mistake& m : list) {
        const Count& c = counts[m.name];
        fmt::print("| {} | {} | {} | {} |\n", m.name, c.tried, c.caught, c.named);
        all = all && c.tried > 0 && c.caught == c.tried && c.named == c.tried;
    }
    return all ? 0 : 1;
}

}  // namespace trammel::campaign
