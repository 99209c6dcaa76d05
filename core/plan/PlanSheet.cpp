// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/plan/PlanSheet.h"

#include <fmt/core.h>

#include <algorithm>

#include "core/plan/PlanFigures.h"
#include "core/plan/PlanText.h"

namespace trammel::plan {
namespace {

using sheet::Text;

constexpr double kEdge = 12.0;  // mm free at every side: printers do not reach the paper's edge

struct Column {
    double left = 0.0, width = 0.0, letters = 2.0;
    double step() const { return 1.75 * letters; }
};

/// Lines of a list entry, hanging behind its number.
struct Entry {
    std::string mark;
    std::vector<std::string> lines;
};

std::vector<Entry> entries(const std::vector<std::string>& sentences, const Column& c, bool numbered) {
    std::vector<Entry> out;
    for (std::size_t i = 0; i < sentences.size(); ++i)
        out.push_back({numbered ? fmt::format("{}.", i + 1) : "–",
                       sheet::brokenToWidth(sentences[i], c.letters, c.width - 5.0)});
    return out;
}

double heightOf(const std::vector<Entry>& list, const Column& c) {
    std::size_t lines = 0;
    for (const Entry& e : list) lines += e.lines.size();
    return c.step() * static_cast<double>(lines) + 0.6 * static_cast<double>(list.size());
}

/// Draws downwards from y and returns where it ended.
double drawEntries(sheet::Sheet& page, const std::vector<Entry>& list, const Column& c, double y) {
    for (const Entry& e : list) {
        for (std::size_t i = 0; i < e.lines.size(); ++i) {
            y -= c.step();
            if (i == 0) page.add(Text{{c.left, y}, e.mark, c.letters});
            page.add(Text{{c.left + 5.0, y}, e.lines[i], c.letters});
        }
        y -= 0.6;
    }
    return y;
}

double drawParagraph(sheet::Sheet& page, const std::string& words, const Column& c, double y,
                     bool bold = false) {
    for (const std::string& line : sheet::brokenToWidth(words, c.letters, bold ? 0.88 * c.width : c.width)) {
        y -= c.step();
        page.add(Text{{c.left, y}, line, c.letters, sheet::Anchor::Left, 0.0, bold});
    }
    return y;
}

double drawTitle(sheet::Sheet& page, const Plan& plan, double y) {
    const Task& t = plan.task;
    Column c{kEdge, page.paper.width_mm - 2 * kEdge, 3.5};
    y = drawParagraph(page,
                      fmt::format("Plan for a part of {:g} × {:g} mm, wanted {}", t.sizeX_mm, t.sizeY_mm,
                                  toleranceText(t.need_mm)),
                      c, y, true);
    c.letters = 2.2;
    y = drawParagraph(page, verdict(plan), c, y - 1.0);
    if (!plan.served()) return y;
    const Setup& s = plan.use.setup;
    return drawParagraph(
        page,
        fmt::format(
            "Lens {}{}, stand-off {}, f/{:g}, {:.3f} mm a pixel on the part.", plan.lens.title(),
            plan.lens.shortest_mm == plan.lens.longest_mm ? "" : fmt::format(" at {:g} mm", s.focal_mm),
            lengthText(s.standOff_mm), s.fNumber, plan.use.pixel_mm),
        c, y);
}

void drawFigures(sheet::Sheet& page, const Plan& plan, double low, double high) {
    const double left = kEdge, right = page.paper.width_mm - kEdge, gap = 3.0;
    const double each = (high - low - 2 * gap) / 3.0;
    const double middle = left + 0.42 * (right - left);
    drawStanding(page, {{left, high - each}, {right, high}}, plan, true);
    drawStanding(page, {{left, high - 2 * each - gap}, {right, high - each - gap}}, plan, false);
    drawZone(page, {{left, low}, {middle - 2, low + each}}, plan);
    drawPicture(page, {{middle + 2, low}, {right, low + each}}, plan);
}

}  // namespace

sheet::Sheet planSheet(const Plan& plan, const sheet::Paper& paper) {
    sheet::Sheet page;
    page.paper = paper;
    double y = drawTitle(page, plan, paper.height_mm - kEdge);
    if (!plan.served()) {
        std::vector<std::string> reasons;
        for (const LensTrial& l : plan.lenses) reasons.push_back(l.trial.name + ": " + l.trial.reason);
        const Column c{kEdge, paper.width_mm - 2 * kEdge, 2.5};
        drawEntries(page, entries(reasons, c, false), c, y - 4.0);
        return page;
    }
    const Column c{kEdge, paper.width_mm - 2 * kEdge, 1.9};
    const auto todo = entries(steps(plan), c, true), care = entries(cautions(plan), c, false);
    constexpr double kHead = 5.0, kFoot = 4.0, kBetween = 2.0;
    const double textTop = kEdge + kFoot + heightOf(todo, c) + heightOf(care, c) + 2 * kHead + kBetween;
    drawFigures(page, plan, textTop + 2.0, y - 3.0);
    const auto head = [&](const char* words, double at) {
        page.add(Text{{kEdge, at - 3.0}, words, 2.5, sheet::Anchor::Left, 0.0, true});
        return at - kHead + 1.2;
    };
    y = drawEntries(page, todo, c, head("What to do", textTop));
    drawEntries(page, care, c, head("Cautions", y - kBetween));
    page.add(Text{
        {kEdge, kEdge},
        fmt::format("Printed at 100 %: scales hold on {} paper. Cautions do not replace local codes, the "
                    "manufacturer's instructions, or a qualified person.",
                    paper.name),
        1.8,
        sheet::Anchor::Left,
        0.0,
        false,
        sheet::kGrey});
    return page;
}

}  // namespace trammel::plan
