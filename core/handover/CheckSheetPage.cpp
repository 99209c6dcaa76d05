// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/handover/CheckSheetPage.h"

#include <fmt/core.h>

#include <algorithm>
#include <numbers>
#include <sstream>

#include "core/handover/Flatten.h"

namespace trammel::handover {
namespace {

constexpr double kMargin = 15, kPicture = 75, kLine = 4.6, kText = 2.5, kColumn = 34;

const char* kCautions[] = {
    "A cutter follows the file: compare these figures with the part, and cut a card first.",
    "Laser: eyewear rated for it, extraction to the outdoors, never unattended; no PVC or vinyl, no unknown "
    "plastics (IEC 60825-1).",
    "Edges cut: deburr them and wear gloves. Local codes and the maker's instructions prevail."};

/// Fills pages from the top down.
class Pages {
  public:
    Pages(const sheet::Paper& paper, std::vector<sheet::Sheet>& out) : paper_(paper), out_(out) { turn(); }
    void line(double x, const std::string& words, double height, bool bold = false) {
        out_.back().add(sheet::Text{Vec2(x, y_), words, height, sheet::Anchor::Left, 0.0, bold});
    }
    void down(double by) {
        y_ -= by;
        if (y_ < kMargin) turn();
    }
    double y() const { return y_; }
    double width() const { return paper_.width_mm - 2 * kMargin; }

  private:
    void turn() {
        out_.push_back({paper_, {}});
        y_ = paper_.height_mm - kMargin - 5;
    }
    sheet::Paper paper_;
    std::vector<sheet::Sheet>& out_;
    double y_ = 0;
};

/// Of everything closed, mm: keep-outs may stand out over what is cut.
geometry::Bounds drawnBounds(const CheckSheet& c, double mm) {
    geometry::Bounds box = *c.cut;
    for (const ContourContents& k : c.contents.contours)
        if (k.closed) box = united(box, {Vec2(mm * k.bounds.low), Vec2(mm * k.bounds.high)});
    return box;
}

void picture(const CheckSheet& c, double top, sheet::Sheet& page) {
    const double mm = c.contents.millimetresPerUnit.value_or(1.0);
    const geometry::Bounds box = drawnBounds(c, mm);
    const Vec2 size = box.high - box.low;
    const double width = page.paper.width_mm - 2 * kMargin;
    const double scale = std::min(width / std::max(size.x(), 1e-9), kPicture / std::max(size.y(), 1e-9));
    const Vec2 at(kMargin + 0.5 * (width - scale * size.x()), top - scale * size.y());
    const auto place = [&](const Vec2& p) { return Vec2(at + scale * (p - box.low)); };
    for (const ContourContents& k : c.contents.contours) {
        if (!k.closed) continue;
        sheet::Polyline line{{}, true, {0.25}};
        if (k.layer.rfind("KEEP_OUT", 0) == 0) line.pen = {0.18, sheet::kGrey, {2, 1}};
        for (const Vec2& p : flattened(k.chain, 0.05 / (scale * mm))) line.points.push_back(place(mm * p));
        page.add(line);
    }
    for (const geometry::Circle& k : c.circles)
        page.add(sheet::Arc{place(mm * k.centre), scale * mm * k.radius, 0, 2 * std::numbers::pi, {0.25}});
    if (c.markAt) page.add(sheet::Arc{place(*c.markAt), 5, 0, 2 * std::numbers::pi, {0.5, {0.8, 0.3, 0}}});
}

}  // namespace

std::vector<sheet::Sheet> checkPages(const CheckSheet& c, const sheet::Paper& paper) {
    std::vector<sheet::Sheet> out;
    Pages pages(paper, out);
    std::istringstream rows(checkText(c));
    bool first = true;
    for (std::string row; std::getline(rows, row); first = false) {
        if (first) {
            pages.line(kMargin, row, 5, true);
            pages.down(9);
            continue;
        }
        // Names fill sixteen letters (checkText); the values stand in a column beside them.
        pages.line(kMargin, row.substr(0, 16), kText,
                   row.rfind("DIFFERS", 0) == 0 || row.rfind("WARNING", 0) == 0);
        for (const std::string& part : sheet::brokenToWidth(row.substr(std::min<std::size_t>(17, row.size())),
                                                            kText, pages.width() - kColumn)) {
            pages.line(kMargin + kColumn, part, kText);
            pages.down(kLine);
        }
    }
    if (c.cut) {
        if (pages.y() < kMargin + kPicture + 40) pages.down(pages.y());
        pages.down(2);
        pages.line(kMargin,
                   "What is drawn, not to scale; keep-outs dashed, the mark of the face ringed:", kText);
        pages.down(4);
        picture(c, pages.y(), out.back());
        pages.down(kPicture + 8);
    }
    // Broken by the widths of plain letters; bold ones are up to a fifth wider.
    for (const char* caution : kCautions)
        for (const std::string& part : sheet::brokenToWidth(caution, kText, 0.8 * pages.width())) {
            pages.line(kMargin, part, kText, true);
            pages.down(kLine);
        }
    for (std::size_t i = 0; i < out.size(); ++i)
        out[i].add(sheet::Text{Vec2(paper.width_mm - kMargin, kMargin - 5),
                               fmt::format("page {} of {}", i + 1, out.size()), 1.8, sheet::Anchor::Right});
    return out;
}

}  // namespace trammel::handover
