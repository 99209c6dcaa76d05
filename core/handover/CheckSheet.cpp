// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/handover/CheckSheet.h"

#include <fmt/core.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <map>

namespace trammel::handover {
namespace {

constexpr double kSameDiameter_mm = 1e-4;
/// A mark that tells left from right has to be off its mirror image by so much that the eye sees it.
constexpr double kSeen_mm = 1.0;

bool starts(const std::string& s, const char* with) { return s.rfind(with, 0) == 0; }

/// A shape to be cut, in mm.
struct Shape {
    std::string layer, words;
    geometry::Chain chain;
    geometry::Bounds box;
    double area = 0.0;
    bool round = false;
    double diameter = 0.0;
    Vec2 middle() const { return 0.5 * (box.low + box.high); }
};

/// Shapes of one level are nested in each other; those of others lie above or below them.
std::string levelOf(const std::string& layer) {
    for (const char* purpose : {"CUT_OUTLINE_", "CUT_OPENING_", "CUT_HOLE_"})
        if (starts(layer, purpose)) return layer.substr(std::string(purpose).size());
    return "";
}

geometry::Chain scaled(geometry::Chain chain, double by) {
    for (auto& v : chain.vertices) v.point *= by;
    return chain;
}

Shape shapeOf(const std::string& layer, const geometry::Chain& chain) {
    Shape s{layer, "", chain, bounds(chain), std::abs(signedArea(chain)), false, 0.0};
    const Vec2 size = s.box.high - s.box.low;
    s.words = fmt::format("shape of {:.2f} x {:.2f} mm", size.x(), size.y());
    return s;
}

std::vector<Shape> shapesToCut(const DxfFile& file, const Contents& c, double mm, bool named) {
    std::vector<Shape> list;
    for (const ContourContents& k : c.contours)
        if (k.closed && (!named || starts(k.layer, "CUT_")))
            list.push_back(shapeOf(k.layer, scaled(k.chain, mm)));
    for (const DxfCircle& k : file.circles) {
        if (named && !starts(k.layer, "CUT_")) continue;
        Shape s = shapeOf(k.layer, geometry::circleChain({Vec2(mm * k.circle.centre), mm * k.circle.radius}));
        s.round = true, s.diameter = 2 * mm * k.circle.radius;
        s.words = fmt::format("hole of {:.2f} mm", s.diameter);
        list.push_back(s);
    }
    return list;
}

/// Material lies where an odd number of shapes of one level lie around: even-odd, as a sheet is cut.
void addAreas(const std::vector<Shape>& shapes, CheckSheet& sheet) {
    for (const Shape& s : shapes) {
        int around = 0;
        for (const Shape& o : shapes)
            around += &o != &s && o.area > s.area && levelOf(o.layer) == levelOf(s.layer) &&
                      contains(o.chain, s.chain.vertices.front().point);
        // An opening or hole whose level has no outline is cut from something that the file does not show.
        const bool inner = around % 2 == 1 || starts(s.layer, "CUT_OPENING_") || starts(s.layer, "CUT_HOLE_");
        if (!inner || around > 0) sheet.area_mm2 += inner ? -s.area : s.area;
        ++(inner ? sheet.inner : sheet.outer);
        sheet.cut = sheet.cut ? united(*sheet.cut, s.box) : s.box;
    }
}

void addHoles(const std::vector<Shape>& shapes, CheckSheet& sheet) {
    for (const Shape& s : shapes) {
        if (!s.round) continue;
        const auto same = std::find_if(sheet.holes.begin(), sheet.holes.end(), [&](const CutHoles& h) {
            return std::abs(h.diameter_mm - s.diameter) <= kSameDiameter_mm;
        });
        if (same != sheet.holes.end())
            ++same->count;
        else
            sheet.holes.push_back({s.diameter, 1});
    }
    std::sort(sheet.holes.begin(), sheet.holes.end(),
              [](const CutHoles& a, const CutHoles& b) { return a.diameter_mm < b.diameter_mm; });
}

std::string corner(const Vec2& at, const Vec2& middle) {
    return fmt::format("{} {}", at.y() >= middle.y() ? "upper" : "lower",
                       at.x() >= middle.x() ? "right" : "left");
}

/// The shape that is farthest from having a counterpart where a mirror would put it.
void addMark(const std::vector<Shape>& shapes, CheckSheet& sheet) {
    if (!sheet.cut) return;
    const Vec2 middle = 0.5 * (sheet.cut->low + sheet.cut->high);
    double most = kSeen_mm;
    const Shape* best = nullptr;
    for (const Shape& s : shapes) {
        const Vec2 there(2 * middle.x() - s.middle().x(), s.middle().y());
        double least = 1e300;
        for (const Shape& o : shapes)
            least = std::min(least, (o.middle() - there).norm() +
                                        std::abs(o.area - s.area) / std::max(1e-9, std::sqrt(s.area)));
        if (least > most) most = least, best = &s;
    }
    if (best) {
        sheet.markAt = best->middle();
        sheet.mark = fmt::format(
            "the {} at the {}, {:.2f} mm from the left and {:.2f} mm from the lower end, has no "
            "counterpart on the other side",
            best->words, corner(best->middle(), middle), best->middle().x() - sheet.cut->low.x(),
            best->middle().y() - sheet.cut->low.y());
    } else if (!shapes.empty()) {
        sheet.mark =
            "none: holes and contours lie alike on both sides, so that only notes tell the face from its "
            "mirror image";
    }
}

void addDimensions(CheckSheet& sheet) {
    std::vector<const DimensionContents*> list;
    for (const DimensionContents& d : sheet.contents.dimensions) list.push_back(&d);
    std::stable_sort(list.begin(), list.end(),
                     [](const auto* a, const auto* b) { return a->measured > b->measured; });
    for (std::size_t i = 0; i < list.size() && i < 6; ++i)
        sheet.dimensions.push_back(
            fmt::format("{} (drawn {:.3f} long{})", list[i]->text.empty() ? "<>" : list[i]->text,
                        list[i]->measured, list[i]->agrees ? "" : ", WHICH CONTRADICTS"));
}

/// From the text that begins with `begin` up to the one that begins with `end`; broken lines joined.
std::string passage(const DxfFile& file, const char* begin, const char* end) {
    std::string s;
    for (const DxfText& t : file.texts) {
        if (s.empty() ? !starts(t.text, begin) : (end && starts(t.text, end))) {
            if (!s.empty()) break;
            continue;
        }
        if (!s.empty() && !end && t.text.rfind("  ", 0) != 0) break;
        const auto from = t.text.find_first_not_of(' ');
        if (from != std::string::npos) s += (s.empty() ? "" : " ") + t.text.substr(from);
    }
    return s;
}

std::string allText(const DxfFile& file) {
    std::string s;
    for (const DxfText& t : file.texts) {
        const auto from = t.text.find_first_not_of(' ');
        if (from != std::string::npos) s += (s.empty() ? "" : " ") + t.text.substr(from);
    }
    return s;
}

double numberAfter(const std::string& text, const std::string& words) {
    const auto at = text.find(words);
    double value = 0.0;
    if (at == std::string::npos) return value;
    const char* from = text.data() + at + words.size();
    return std::from_chars(from, text.data() + text.size(), value).ec == std::errc() ? value : 0.0;
}

std::string revisionIn(const std::string& text) {
    const std::string word = "; revision ";
    const auto at = text.find(word);
    if (at == std::string::npos) return "";
    const auto from = at + word.size();
    return text.substr(from, text.find(' ', from) - from);
}

}  // namespace

std::string statedRevision(const DxfFile& file) { return revisionIn(allText(file)); }

Terms termsStated(const DxfFile& file) {
    Terms t;
    const std::string text = allText(file);
    if (const auto r = revisionIn(text); !r.empty()) t.revision = r;
    if (text.find("Face shown: bottom") != std::string::npos) t.face = drawing::Face::Bottom;
    t.kerf.width_mm = numberAfter(text, "compensated in this file for a kerf of ");
    if (text.find("mm inside of outlines") != std::string::npos) t.kerf.side = drawing::KeptSide::Sheet;
    t.nominal_mm = numberAfter(text, "rounded to nominal sizes in steps of ");
    t.clearance_mm = numberAfter(text, "keep-outs are drawn ");
    if (file.version == "AC1009") t.version = DxfVersion::R12;
    return t;
}

CheckSheet checkSheet(const DxfFile& file, const std::string& name, const std::string& sha256) {
    CheckSheet sheet;
    sheet.contents = inspect(file, name);
    sheet.sha256 = sha256;
    const double mm = sheet.contents.millimetresPerUnit.value_or(1.0);
    bool named = false;
    for (const auto& [layer, types] : file.counts) named = named || starts(layer, "CUT_");
    const auto shapes = shapesToCut(file, sheet.contents, mm, named);
    for (const DxfCircle& k : file.circles) sheet.circles.push_back(k.circle);
    addAreas(shapes, sheet);
    addHoles(shapes, sheet);
    addMark(shapes, sheet);
    addDimensions(sheet);
    for (const ContourContents& k : sheet.contents.contours)
        sheet.open += !k.closed && (!named || starts(k.layer, "CUT_"));
    const std::string text = allText(file);
    sheet.revision = revisionIn(text);
    if (!sheet.revision.empty())
        sheet.what = file.texts.empty() ? "" : text.substr(0, text.find("; revision "));
    sheet.face = passage(file, "Face shown:", nullptr);
    sheet.kerf = passage(file, "Kerf:", "Face shown:");
    return sheet;
}

}  // namespace trammel::handover
