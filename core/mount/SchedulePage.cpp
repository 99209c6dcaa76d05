// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/mount/SchedulePage.h"

#include <fmt/core.h>

#include <algorithm>

#include "core/drawing/Format.h"
#include "core/production/Block.h"

namespace trammel::mount {
namespace {

using production::Block;

constexpr double kMargin = 15.0, kFoot = 12.0;

/// Blocks one under the other.
class Stack {
  public:
    void add(const Block& block) {
        if (pages_.empty() || y_ - block.size.y() < kFoot) {
            pages_.push_back({sheet::lying(sheet::kA4), {}});
            y_ = sheet::kA4.width_mm - kMargin;
        }
        put(block, Vec2(kMargin, y_ - block.size.y()), pages_.back());
        y_ -= block.size.y() + 4.0;
    }
    std::vector<sheet::Sheet> finish(const std::string& headline) {
        const auto words = sheet::brokenToWidth(headline, 1.8, sheet::kA4.height_mm - 2 * kMargin - 40);
        for (std::size_t i = 0; i < pages_.size(); ++i)
            pages_[i].add(sheet::Text{
                Vec2(kMargin, 6),
                fmt::format("{}  Page {} of {}", words.empty() ? "" : words.front(), i + 1, pages_.size()),
                1.8});
        return std::move(pages_);
    }

  private:
    std::vector<sheet::Sheet> pages_;
    double y_ = 0.0;
};

std::vector<std::string> rowOf(const Schedule& s, const MountHole& m) {
    using drawing::fixed;
    const auto& h = m.hole;
    const auto* f = m.fastener;
    return {h.letter,
            h.name,
            production::placeWords(h, 0),
            production::placeWords(h, 1),
            "⌀" + drawing::withPlusMinus(h.diameter, h.diameterPlusMinus),
            f ? f->thread : "none",
            f ? fixed(m.clearance_mm, 3) : "",
            f ? fixed(f->tap_mm, 2) : "",
            f ? fixed(f->insert_mm, 1) : "",
            std::isfinite(m.room_mm) ? fixed(m.room_mm, 2) : "",
            s.fit && f ? chanceWords(*s.fit, m.chance) : ""};
}

}  // namespace

Result<std::vector<sheet::Sheet>> schedulePages(const Schedule& s) {
    const double width = sheet::kA4.height_mm - 2 * kMargin;
    Stack stack;
    std::vector<std::string> facts = factsOf(s);
    if (s.fit) facts.push_back(patternWords(*s.fit));
    stack.add(production::textBlock(headlineOf(s), facts, width));
    constexpr std::size_t kRowsOnPage = 30;
    for (std::size_t from = 0; from < s.holes.size(); from += kRowsOnPage) {
        std::vector<std::vector<std::string>> rows;
        for (std::size_t i = from; i < std::min(from + kRowsOnPage, s.holes.size()); ++i)
            rows.push_back(rowOf(s, s.holes[i]));
        const Block table = production::tableBlock(
            "Holes (mm, ± with k = 2)",
            {"Hole", "Name", "x", "y", "Diameter", "Screw", "Clearance", "Drill", "Insert", "Room", "Fits"},
            rows);
        if (table.size.x() > width)
            return Error{ErrorCode::Refused, "has names too long for the page's table", "mount schedule",
                         "shorten the names of the holes, or write text or CSV"};
        stack.add(table);
    }
    for (const auto& [title, list] : {std::pair{"Rules", &s.rules}, {"Remarks", &s.remarks}})
        for (std::size_t from = 0; from < list->size(); from += 20)
            stack.add(production::textBlock(
                title,
                {list->begin() + static_cast<std::ptrdiff_t>(from),
                 list->begin() + static_cast<std::ptrdiff_t>(std::min(from + 20, list->size()))},
                width));
    return stack.finish(headlineOf(s));
}

}  // namespace trammel::mount
