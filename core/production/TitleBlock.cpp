// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/production/TitleBlock.h"

#include <fmt/core.h>

#include <algorithm>

namespace trammel::production {
namespace {

constexpr double kWidth = 180.0, kRow = 11.0, kRows = 3;
constexpr double kLabel_mm = 1.8, kLeast_mm = 1.8, kInset = 1.5;

const char* kCautions[] = {
    "A measuring aid made this, no certified instrument: check what matters against the part before you cut.",
    "Laser: eyewear rated for it, extraction to the outdoors, never unattended; no PVC, no unknown plastics "
    "(IEC 60825-1).",
    "Edges cut: deburr them and wear gloves. Mains and batteries: disconnect before you open a device. "
    "Local codes and the maker's instructions prevail."};

double widthOf(const std::string& words, double height, bool bold = false) {
    return sheet::widthOf({Vec2::Zero(), words, height, sheet::Anchor::Left, 0.0, bold});
}

/// Cuts whole letters of UTF-8 off the end.
std::string shortened(std::string s, double height, double width, bool bold) {
    if (widthOf(s, height, bold) <= width) return s;
    while (!s.empty() && widthOf(s + "…", height, bold) > width) {
        while (s.size() > 1 && (static_cast<unsigned char>(s.back()) & 0xC0) == 0x80) s.pop_back();
        s.pop_back();
    }
    return s + "…";
}

class Fields {
  public:
    explicit Fields(Block& b) : b_(b) {}
    void field(int row, double from, double to, const std::string& label, const std::string& words,
               double height, bool bold = false) {
        const double low = kRow * (kRows - 1 - row);
        b_.items.push_back(sheet::Polyline{
            {Vec2(from, low), Vec2(to, low), Vec2(to, low + kRow), Vec2(from, low + kRow)}, true, {0.25}});
        b_.items.push_back(sheet::Text{Vec2(from + kInset, low + kRow - kLabel_mm - 1.2), label, kLabel_mm,
                                       sheet::Anchor::Left, 0.0, false, sheet::kGrey});
        const double room = to - from - 2 * kInset;
        while (height > kLeast_mm && widthOf(words, height, bold) > room)
            height = std::max(kLeast_mm, height - 0.1);
        b_.items.push_back(sheet::Text{Vec2(from + kInset, low + 2.0), shortened(words, height, room, bold),
                                       height, sheet::Anchor::Left, 0.0, bold});
    }

  private:
    Block& b_;
};

void symbol(Block& b, unfold::Method method, const Vec2& middle) {
    const auto s = unfold::symbolOf(method);
    const double k = 2.5;
    const auto at = [&](const Vec2& p) { return Vec2(middle + k * p); };
    sheet::Polyline cone{{}, true, {0.35}};
    for (const Vec2& p : s.cone) cone.points.push_back(at(p));
    b.items.push_back(cone);
    for (const double r : {s.narrow, s.wide})
        b.items.push_back(sheet::Arc{at(s.circles), k * r, 0.0, 6.283185307179586, {0.35}});
    for (const auto& [from, to] : s.centreLines)
        b.items.push_back(
            sheet::Polyline{{at(from), at(to)}, false, {0.13, sheet::kBlack, {2.4, 0.4, 0.1, 0.4}}});
}

}  // namespace

Block titleBlock(const TitleFields& f) {
    Block b;
    Fields to(b);
    const auto known = [](const std::string& s) { return s.empty() ? std::string("not known") : s; };
    to.field(0, 0, 126, "Part", f.title.empty() ? "Untitled part" : f.title, 5.0, true);
    to.field(0, 126, 146, "Revision", f.revision, 3.5, true);
    to.field(0, 146, 163, "Sheet", fmt::format("{} of {}", f.page, f.pages), 2.5);
    to.field(0, 163, 180, "Size", f.paper, 2.5);
    to.field(1, 0, 84, "Unit", f.unit.empty() ? "not named" : f.unit, 2.5);
    to.field(1, 84, 114, "Date of the survey", known(f.date), 2.5);
    to.field(1, 114, 152, "Survey file, SHA-256 begins", known(f.hash.substr(0, 12)), 2.5);
    to.field(1, 152, 180, "Scale", f.scale, 3.5, true);
    to.field(2, 0, 64, "Dimensions", "millimetres; ± with k = 2", 2.5);
    to.field(2, 64, 142, "General tolerance that the ± support", f.tolerance, 2.5, true);
    to.field(2, 142, 180,
             f.method == unfold::Method::FirstAngle ? "First angle, ISO 5456-2" : "Third angle, ISO 5456-2",
             "", 2.5);
    symbol(b, f.method, Vec2(161, 3.7));
    double y = kRow * kRows + 1.5;
    std::vector<std::string> lines;
    for (const char* caution : kCautions)
        for (auto& part : sheet::brokenToWidth(caution, kLabel_mm, kWidth - 2 * kInset))
            lines.push_back(part);
    for (auto line = lines.rbegin(); line != lines.rend(); ++line, y += 3.0)
        b.items.push_back(sheet::Text{Vec2(kInset, y), *line, kLabel_mm});
    if (f.disagrees) {
        b.items.push_back(sheet::Text{Vec2(kInset, y + 0.5),
                                      "DO NOT CUT: the survey disagreed with itself when this was drawn.",
                                      3.5, sheet::Anchor::Left, 0.0, true});
        y += 5.5;
    }
    b.items.push_back(
        sheet::Polyline{{Vec2(0, 0), Vec2(kWidth, 0), Vec2(kWidth, y), Vec2(0, y)}, true, {0.5}});
    b.size = Vec2(kWidth, y);
    return b;
}

geometry::Bounds drawingSpace(const sheet::Paper& paper) {
    return {Vec2(20.0, 10.0), Vec2(paper.width_mm - 10.0, paper.height_mm - 10.0)};
}

void drawFrame(sheet::Sheet& page) {
    const auto [low, high] = drawingSpace(page.paper);
    page.add(sheet::Polyline{{low, Vec2(high.x(), low.y()), high, Vec2(low.x(), high.y())}, true, {0.7}});
    const double w = page.paper.width_mm, h = page.paper.height_mm;
    for (const auto& [from, to] : {std::pair{Vec2(0, h / 2), Vec2(low.x(), h / 2)},
                                   {Vec2(w, h / 2), Vec2(high.x(), h / 2)},
                                   {Vec2(w / 2, 0), Vec2(w / 2, low.y())},
                                   {Vec2(w / 2, h), Vec2(w / 2, high.y())}})
        page.add(sheet::Polyline{{from, to}, false, {0.7}});
}

sheet::Paper laid(const sheet::Paper& paper) {
    const bool stands = paper.height_mm < 1.01 * sheet::kA4.height_mm;
    return stands ? paper : sheet::lying(paper);
}

}  // namespace trammel::production
