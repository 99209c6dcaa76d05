// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "core/production/Class.h"
#include "core/production/Placing.h"
#include "core/production/Production.h"
#include "core/production/TitleBlock.h"

namespace trammel::production {
namespace {

using geometry::Bounds;
using standard::Scale;

constexpr double kLeastScale = 0.5;  // a sheet is taken that shows the part at 1:2 or larger
constexpr double kRoom = 4.0;        // between blocks on paper, and to the frame

bool meet(const Bounds& a, const Bounds& b) {
    return (a.low.array() < b.high.array() + kRoom).all() && (b.low.array() < a.high.array() + kRoom).all();
}

/// What is taken of a page's drawing space.
class Space {
  public:
    explicit Space(const sheet::Paper& paper) : whole_(drawingSpace(paper)) {}
    Vec2 size() const { return whole_.high - whole_.low; }
    const Bounds& whole() const { return whole_; }
    void take(const Bounds& b) { taken_.push_back(b); }
    bool free(const Bounds& b) const {
        const Vec2 room = Vec2::Constant(kRoom);
        if (((b.low - room - whole_.low).array() < -1e-9).any() ||
            ((whole_.high - room - b.high).array() < -1e-9).any())
            return false;
        return std::none_of(taken_.begin(), taken_.end(), [&](const Bounds& t) { return meet(t, b); });
    }
    /// The free place for a block that lies farthest to the right and, there, highest.
    std::optional<Vec2> place(const Vec2& size) const {
        constexpr double kStep = 5.0;
        for (double x = whole_.high.x() - kRoom - size.x(); x >= whole_.low.x() + kRoom - 1e-9; x -= kStep)
            for (double y = whole_.high.y() - kRoom - size.y(); y >= whole_.low.y() + kRoom - 1e-9;
                 y -= kStep) {
                const Vec2 low(x, y);
                if (free({low, low + size})) return low;
            }
        return std::nullopt;
    }

  private:
    Bounds whole_;
    std::vector<Bounds> taken_;
};

struct Chosen {
    sheet::Paper paper;
    Scale scale;
    PlacedViews views;
    Vec2 at = Vec2::Zero();  ///< of the views' lower left corner
    bool legible = true;
};

/// Where all views stand clear of the title block: from the upper left corner downwards and to the right.
std::optional<Vec2> roomFor(const PlacedViews& v, const Space& space) {
    const Vec2 slack = space.size() - v.size - Vec2::Constant(2 * kRoom);
    if (slack.minCoeff() < 0) return std::nullopt;
    const Vec2 low = space.whole().low + Vec2::Constant(kRoom);
    for (const double down : {0.5, 0.25, 0.0, 1.0})
        for (const double right : {0.15, 0.0, 0.5, 1.0}) {
            const Vec2 at = low + Vec2(right * slack.x(), (1 - down) * slack.y());
            const bool clear = std::all_of(v.views.begin(), v.views.end(), [&](const PlacedView& view) {
                return space.free({view.room.low + at, view.room.high + at});
            });
            if (clear) return at;
        }
    return std::nullopt;
}

Result<Chosen> choose(const Views& views, const Terms& terms, const Block& title) {
    std::vector<sheet::Paper> papers;
    if (terms.paper)
        papers = {*terms.paper};
    else
        papers = {sheet::kA4, sheet::kA3, sheet::kA2, sheet::kA1, sheet::kA0};
    const double least = terms.scale || terms.paper ? 0.0 : kLeastScale;
    std::optional<Chosen> fallback;  // the first with values over each other
    for (const sheet::Paper& p : papers) {
        const sheet::Paper paper = laid(p);
        Space space(paper);
        const Vec2 corner(space.whole().high.x() - title.size.x(), space.whole().low.y());
        space.take({corner, corner + title.size});
        const Vec2 part = (views.box.high - views.box.low).head<2>();
        for (const Scale& scale : standard::kScales) {
            if (terms.scale && terms.scale->factor() != scale.factor()) continue;
            if (p.name != papers.back().name && scale.factor() < least) break;
            if (scale.factor() * part.maxCoeff() > space.size().maxCoeff()) continue;
            auto placed = placedAt(views, terms.method, scale.factor(), kText_mm);
            const auto at = roomFor(placed, space);
            if (!at) continue;
            const bool clear = legible(placed, scale.factor(), kText_mm);
            if (clear || !fallback) fallback = Chosen{paper, scale, std::move(placed), *at, clear};
            if (clear) return *fallback;
        }
    }
    if (fallback) return *fallback;
    return Error{
        ErrorCode::Refused,
        fmt::format("no room for these views{}{}", terms.paper ? std::string(" on ") + terms.paper->name : "",
                    terms.scale ? " at " + terms.scale->words() : ""),
        "drawing", "choose larger paper, a smaller scale or fewer views"};
}

void drawViews(const Chosen& c, sheet::Sheet& page) {
    const LineGroup group = groupFor(c.paper);
    for (const PlacedView& v : c.views.views) {
        const OnPage to{c.scale.factor(), c.at + v.origin};
        // Wide lines last: a dashed line that touches one must not blunt it.
        for (const bool visible : {false, true})
            for (const ViewLine& l : v.seen->lines)
                if ((l.kind == LineKind::Visible) == visible) drawLine(l, to, group, page);
        for (const drawing::Figure& f : v.figures) drawFigure(f, to, kText_mm, group, page);
        for (const drawing::Figure& f : v.figures) writeFigure(f, to, kText_mm, page);
    }
}

/// Lays blocks out on pages, opening further ones where they find no room.
class Pages {
  public:
    Pages(const sheet::Paper& paper, const Block& title) : paper_(paper), title_(title) {}

    Space& open() {
        pages_.push_back({paper_, {}});
        drawFrame(pages_.back());
        spaces_.emplace_back(paper_);
        const Bounds whole = spaces_.back().whole();
        const Vec2 corner(whole.high.x() - title_.size.x(), whole.low.y());
        spaces_.back().take({corner, corner + title_.size});
        return spaces_.back();
    }
    sheet::Sheet& first() { return pages_.front(); }
    bool tryPut(const Block& block) {
        for (std::size_t i = 0; i < pages_.size(); ++i)
            if (const auto at = spaces_[i].place(block.size)) {
                production::put(block, *at, pages_[i]);
                spaces_[i].take({*at, *at + block.size});
                return true;
            }
        return false;
    }
    std::size_t count() const { return pages_.size(); }
    /// How high a block may be that opens a page.
    double highest() const { return Space(paper_).size().y() - title_.size.y() - 3 * kRoom; }
    double widest() const { return Space(paper_).size().x() - 2 * kRoom; }
    std::vector<sheet::Sheet> finish(TitleFields fields) {
        fields.pages = pages_.size();
        for (std::size_t i = 0; i < pages_.size(); ++i) {
            fields.page = i + 1;
            const Bounds whole = drawingSpace(paper_);
            production::put(titleBlock(fields), Vec2(whole.high.x() - title_.size.x(), whole.low.y()),
                            pages_[i]);
        }
        return std::move(pages_);
    }

  private:
    sheet::Paper paper_;
    const Block& title_;
    std::vector<sheet::Sheet> pages_;
    std::vector<Space> spaces_;
};

Result<void> putHoles(const std::vector<HoleRow>& holes, Pages& pages) {
    const double width = pages.widest();
    if (holes.empty() || pages.tryPut(holeTable(holes, 0, holes.size(), width))) return {};
    const auto most = static_cast<std::size_t>(std::max(1.0, pages.highest() / kLine_mm - 3.0));
    for (std::size_t from = 0; from < holes.size(); from += most) {
        const Block part = holeTable(holes, from, std::min(from + most, holes.size()), width);
        if (pages.tryPut(part)) continue;
        pages.open();
        if (!pages.tryPut(part))
            return Error{ErrorCode::Refused, "the hole table is wider than the sheet", "drawing",
                         "choose larger paper"};
    }
    return {};
}

/// Notes of which each fits a page of this width and height.
std::vector<std::string> broken(const std::vector<std::string>& notes, double width, double highest) {
    std::vector<std::string> out;
    for (const std::string& note : notes) {
        if (textBlock("Notes", {note}, width).size.y() <= highest) {
            out.push_back(note);
            continue;
        }
        std::string part;
        for (const std::string& line : sheet::brokenToWidth(note, kText_mm, width)) {
            const std::string longer = part.empty() ? line : part + " " + line;
            if (!part.empty() && textBlock("Notes", {longer}, width).size.y() > highest) {
                out.push_back(part);
                part = line;
            } else {
                part = longer;
            }
        }
        if (!part.empty()) out.push_back(part);
    }
    return out;
}

/// The most that fits goes into each block; widths from wide to narrow.
/// A note longer than a page goes on as several.
Result<void> putNotes(const std::vector<std::string>& given, Pages& pages) {
    const double wide = std::min(172.0, pages.widest());
    const auto notes = broken(given, wide, pages.highest());
    std::size_t from = 0;
    while (from < notes.size()) {
        const std::string title = from == 0 ? "Notes" : "Notes (continued)";
        const auto block = [&](std::size_t to, double width) {
            return textBlock(title,
                             {notes.begin() + static_cast<std::ptrdiff_t>(from),
                              notes.begin() + static_cast<std::ptrdiff_t>(to)},
                             width);
        };
        bool put = false;
        for (const double width : {170.0, 130.0, 100.0, 75.0})
            if (!put && width <= pages.widest()) put = pages.tryPut(block(notes.size(), width));
        if (put) return {};
        pages.open();
        std::size_t to = notes.size();
        while (to > from + 1 && block(to, wide).size.y() > pages.highest()) --to;
        if (!pages.tryPut(block(to, wide)))
            return Error{ErrorCode::Refused, "a note finds no room on a sheet of its own", "drawing",
                         "choose larger paper or shorten the notes"};
        from = to;
    }
    return {};
}

Result<void> check(const drawing::Drawing& d, const Terms& terms) {
    const auto refuse = [](const std::string& what, const std::string& remedy) {
        return Error{ErrorCode::BadValue, what, "drawing", remedy};
    };
    if (d.face != drawing::Face::Top || d.kerf.width_mm != 0.0)
        return refuse("is not of the finished part's top face", "build it so; views show the other faces");
    for (const View v : terms.views)
        if (v == View::Oblique) return refuse("an oblique view has no place on it", "choose principal views");
    if (!(terms.thickness_mm >= 0.0 && terms.thickness_mm <= 1000.0))
        return refuse("a thickness must be from 0 to 1000 mm", "measure it in mm");
    return {};
}

}  // namespace

Result<Production> productionOf(const survey::Survey& survey, const adjust::Solution& solution,
                                const drawing::Drawing& d, const Terms& terms) {
    if (const auto ok = check(d, terms); !ok) return ok.error();
    Production out;
    const Shape shape = shapeOf(d, survey, solution, terms.thickness_mm);
    out.holes = holeRows(d, survey, solution);
    out.tolerance = classOf(survey, solution, out.holes);
    const Views views = viewsOf(survey, solution, d, shape, out.holes, terms.views);
    TitleFields fields;
    fields.title = d.title, fields.unit = d.unit, fields.revision = d.revision, fields.date = terms.date;
    fields.hash = terms.hash, fields.method = terms.method;
    fields.tolerance = standard::className(out.tolerance);
    fields.disagrees = std::any_of(d.remarks.begin(), d.remarks.end(),
                                   [](const std::string& r) { return r.rfind("DO NOT CUT", 0) == 0; });
    const Block title = titleBlock(fields);
    const auto chosen = choose(views, terms, title);
    if (!chosen) return chosen.error();
    out.paper = chosen->paper, out.scale = chosen->scale;
    fields.scale = out.scale.words(), fields.paper = out.paper.name;
    Pages pages(out.paper, title);
    Space& first = pages.open();
    for (const PlacedView& v : chosen->views.views)
        first.take({v.room.low + chosen->at, v.room.high + chosen->at});
    drawViews(*chosen, pages.first());
    if (const auto ok = putHoles(out.holes, pages); !ok) return ok.error();
    auto notes = notesOf(d, shape.envelope, views.notShown);
    if (const std::string words = originWords(survey, solution); !words.empty())
        notes.insert(notes.begin(), words);
    if (!chosen->legible) {
        out.remark = "values lie over each other: choose larger paper, fewer views or fewer dimensions";
        notes.insert(notes.begin(), "Remark: " + out.remark + ".");
    }
    if (const auto ok = putNotes(notes, pages); !ok) return ok.error();
    out.pages = pages.finish(fields);
    return out;
}

}  // namespace trammel::production
