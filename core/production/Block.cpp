// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/production/Block.h"

#include <algorithm>

namespace trammel::production {
namespace {

constexpr double kPadding = 1.5;

struct Shift {
    Vec2 by;
    void operator()(sheet::Polyline& line) const {
        for (Vec2& p : line.points) p += by;
    }
    void operator()(sheet::Area& area) const {
        for (Vec2& p : area.points) p += by;
    }
    void operator()(sheet::Arc& arc) const { arc.centre += by; }
    void operator()(sheet::Text& text) const { text.at += by; }
};

}  // namespace

void put(const Block& block, const Vec2& at, sheet::Sheet& page) {
    for (sheet::Item item : block.items) {
        std::visit(Shift{at}, item);
        page.add(std::move(item));
    }
}

Block tableBlock(const std::string& title, const std::vector<std::string>& heading,
                 const std::vector<std::vector<std::string>>& rows) {
    std::vector<double> widths(heading.size(), 0.0);
    const auto widen = [&](const std::vector<std::string>& cells, bool bold) {
        for (std::size_t i = 0; i < widths.size(); ++i)
            widths[i] =
                std::max(widths[i],
                         sheet::widthOf({Vec2::Zero(), cells[i], kText_mm, sheet::Anchor::Left, 0.0, bold}) +
                             2 * kPadding);
    };
    widen(heading, true);
    for (const auto& row : rows) widen(row, false);
    Block b;
    double width = 0.0;
    for (const double w : widths) width += w;
    const double titleWidth =
        sheet::widthOf({Vec2::Zero(), title, kText_mm, sheet::Anchor::Left, 0.0, true}) + 2 * kPadding;
    b.size = Vec2(std::max(width, titleWidth), kLine_mm * (static_cast<double>(rows.size()) + 2.0) + 1.0);
    double y = b.size.y() - kLine_mm + 1.2;
    b.items.push_back(sheet::Text{Vec2(kPadding, y), title, kText_mm, sheet::Anchor::Left, 0.0, true});
    const auto write = [&](const std::vector<std::string>& cells, bool bold) {
        y -= kLine_mm;
        double x = kPadding;
        for (std::size_t i = 0; i < widths.size(); ++i) {
            b.items.push_back(sheet::Text{Vec2(x, y), cells[i], kText_mm, sheet::Anchor::Left, 0.0, bold});
            x += widths[i];
        }
        b.items.push_back(
            sheet::Polyline{{Vec2(0, y - 1.2), Vec2(b.size.x(), y - 1.2)}, false, {bold ? 0.35 : 0.13}});
    };
    write(heading, true);
    for (const auto& row : rows) write(row, false);
    return b;
}

Block textBlock(const std::string& title, const std::vector<std::string>& paragraphs, double width_mm) {
    std::vector<std::string> lines;
    for (const std::string& p : paragraphs)
        for (std::string& line : sheet::brokenToWidth(p, kText_mm, width_mm - 2 * kPadding))
            lines.push_back(std::move(line));
    // Broken by the widths of plain letters; bold ones are up to a fifth wider.
    const auto heads = sheet::brokenToWidth(title, kText_mm, 0.8 * (width_mm - 2 * kPadding));
    Block b;
    b.size = Vec2(width_mm, kLine_mm * static_cast<double>(lines.size() + heads.size()) + 1.0);
    double y = b.size.y() + 1.2;
    for (const std::string& head : heads) {
        y -= kLine_mm;
        b.items.push_back(sheet::Text{Vec2(kPadding, y), head, kText_mm, sheet::Anchor::Left, 0.0, true});
    }
    for (const std::string& line : lines) {
        y -= kLine_mm;
        b.items.push_back(sheet::Text{Vec2(kPadding, y), line, kText_mm});
    }
    return b;
}

}  // namespace trammel::production
