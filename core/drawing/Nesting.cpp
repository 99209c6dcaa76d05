// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/drawing/Nesting.h"

#include "core/geometry/Piece.h"

namespace trammel::drawing {
namespace {

using survey::OutlinePurpose;

struct Item {
    std::string name;
    geometry::Chain chain;
    geometry::Bounds box;
    bool hole = false, opening = false;
};

std::string_view word(OutlinePurpose p) {
    return p == OutlinePurpose::Outline ? "outline" : p == OutlinePurpose::Cutout ? "cutout" : "keep-out";
}

bool apart(const geometry::Bounds& a, const geometry::Bounds& b) {
    return (a.low.array() > b.high.array()).any() || (b.low.array() > a.high.array()).any();
}

bool inside(const Item& inner, const geometry::Chain& outer) {
    return contains(outer, inner.chain.vertices.front().point) && !touch(inner.chain, outer);
}

Result<void> checkLevel(const std::vector<Item>& outlines, const std::vector<Item>& inner) {
    for (const Item& item : inner) {
        bool held = outlines.empty();
        for (const Item& o : outlines) held = held || inside(item, o.chain);
        if (!held)
            return Error{ErrorCode::BadValue, "does not lie inside " + outlines.front().name, item.name,
                         "check its marks and its level, or the outline's"};
    }
    for (std::size_t i = 0; i < inner.size(); ++i)
        for (std::size_t j = 0; j < inner.size(); ++j) {
            const Item &a = inner[i], &b = inner[j];
            if (i == j || apart(a.box, b.box)) continue;
            if (i < j && touch(a.chain, b.chain))
                return Error{ErrorCode::BadValue, "touches " + b.name, a.name,
                             "take one of them out or mark both again"};
            if (b.opening && inside(a, b.chain))
                return Error{ErrorCode::BadValue, "lies within " + b.name, a.name,
                             "take one of them out or give it its own level"};
        }
    return {};
}

}  // namespace

Result<void> checkNesting(const Drawing& drawing) {
    for (const DrawnLevel& level : drawing.levels) {
        std::vector<Item> outlines, inner;
        for (const DrawnChain& c : drawing.chains) {
            if (c.level != level.id || c.purpose == OutlinePurpose::KeepOut) continue;
            const bool cutout = c.purpose == OutlinePurpose::Cutout;
            Item item{std::string(word(c.purpose)) + " " + c.name, c.chain, bounds(c.chain), false, cutout};
            (cutout ? inner : outlines).push_back(item);
        }
        for (const DrawnHole& h : drawing.holes) {
            if (h.level != level.id || !h.cut) continue;
            const auto chain = geometry::circleChain(h.circle);
            inner.push_back({"hole " + h.name, chain, bounds(chain), true, false});
        }
        for (std::size_t i = 0; i < outlines.size(); ++i)
            for (std::size_t j = i + 1; j < outlines.size(); ++j)
                if (touch(outlines[i].chain, outlines[j].chain))
                    return Error{ErrorCode::BadValue, "touches " + outlines[j].name, outlines[i].name,
                                 "take one of them out or give it its own level"};
        if (const auto ok = checkLevel(outlines, inner); !ok) return ok.error();
    }
    return {};
}

}  // namespace trammel::drawing
