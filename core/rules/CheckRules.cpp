// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/rules/CheckRules.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "core/drawing/Format.h"
#include "core/rules/Webs.h"
#include "core/survey/Names.h"

namespace trammel::rules {
namespace {

using drawing::fixed;
using survey::OutlinePurpose;

constexpr double kRounding_mm = 1e-6;

/// A least length with the words for where it comes from.
struct Asked {
    double mm = 0.0;
    std::string words;
};

class Check {
  public:
    Check(const drawing::Drawing& d, const ShopRules& r, double thickness, double kerf)
        : d_(d), r_(r), thickness_(thickness), kerf_(kerf) {}

    Findings run() {
        holes();
        webs();
        shortPieces();
        bed();
        kerf();
        handOver();
        return std::move(out_);
    }

  private:
    Asked least(double fixedLength, double perThickness, const char* what) {
        Asked a{fixedLength, fixed(fixedLength, 2) + " mm"};
        if (!(perThickness > 0.0)) return a;
        if (!(thickness_ > 0.0)) {
            out_.notChecked.push_back(
                fmt::format("The {} against the thickness: state the thickness of the sheet.", what));
            return a;
        }
        const double mm = perThickness * thickness_;
        if (mm > a.mm)
            a = {mm, fmt::format("{} times the thickness of {} = {} mm", perThickness, fixed(thickness_, 2),
                                 fixed(mm, 2))};
        return a;
    }

    void add(Rule rule, const std::string& object, double is, const Asked& asked, const Vec2& at,
             const std::string& what, const std::string& remedy) {
        out_.violations.push_back(
            {rule, object, is, asked.mm, at,
             fmt::format("{}: {}, and {} asks for {}; {}.", object, what, r_.name, asked.words, remedy)});
    }

    void worstFirst(std::size_t from) {
        std::stable_sort(out_.violations.begin() + static_cast<std::ptrdiff_t>(from), out_.violations.end(),
                         [](const Violation& a, const Violation& b) {
                             return a.is_mm - a.asked_mm < b.is_mm - b.asked_mm;
                         });
    }

    void holes() {
        const Asked asked = least(r_.smallestHole_mm, r_.holePerThickness, "diameter of holes");
        for (const drawing::DrawnHole& h : d_.holes) {
            const double is = 2 * h.circle.radius;
            if (!h.cut || is >= asked.mm - kRounding_mm) continue;
            add(Rule::Hole, "hole " + h.name, is, asked, h.circle.centre,
                "its diameter is " + fixed(is, 2) + " mm",
                "drill it afterwards, enlarge it or take thinner sheet");
        }
        worstFirst(0);
    }

    void webs() {
        const std::size_t from = out_.violations.size();
        const Asked web = least(r_.smallestWeb_mm, r_.webPerThickness, "width of webs");
        const Asked gap{r_.smallestGap_mm, fixed(r_.smallestGap_mm, 2) + " mm"};
        for (const Web& w : websBelow(d_, std::max(web.mm, gap.mm))) {
            const Asked& asked = w.material ? web : gap;
            if (w.width_mm >= asked.mm - kRounding_mm) continue;
            const std::string object = w.a == w.b ? w.a : w.a + " and " + w.b;
            const Vec2 at = 0.5 * (w.from + w.to);
            const std::string where = fmt::format("at x {}, y {}", fixed(at.x(), 1), fixed(at.y(), 1));
            if (w.material)
                add(Rule::Web, object, w.width_mm, asked, at,
                    fmt::format("the web is {} mm wide {}", fixed(w.width_mm, 2), where),
                    "move one of them, or leave it out of this cut");
            else
                add(Rule::Gap, object, w.width_mm, asked, at,
                    fmt::format("the gap is {} mm wide {}", fixed(w.width_mm, 2), where),
                    "widen it, or finish it by hand");
        }
        worstFirst(from);
    }

    void shortPieces() {
        const std::size_t from = out_.violations.size();
        const Asked asked{r_.smallestPiece_mm, fixed(r_.smallestPiece_mm, 2) + " mm"};
        for (const drawing::DrawnChain& c : d_.chains) {
            if (c.purpose == OutlinePurpose::KeepOut) continue;
            for (const geometry::Piece& p : pieces(c.chain)) {
                const double is = p.length();
                if (is >= asked.mm - kRounding_mm) continue;
                const Vec2 at = p.middle();
                add(Rule::Piece, std::string(survey::purposeName(c.purpose)) + " " + c.name, is, asked, at,
                    fmt::format("one {} of it is {} mm long at x {}, y {}", p.isArc() ? "arc" : "line",
                                fixed(is, 2), fixed(at.x(), 1), fixed(at.y(), 1)),
                    "join it with its neighbour");
            }
        }
        worstFirst(from);
    }

    geometry::Bounds cutBounds(bool& any) const {
        geometry::Bounds box;
        any = false;
        const auto take = [&](const geometry::Bounds& b) {
            box = any ? united(box, b) : b;
            any = true;
        };
        for (const auto& c : d_.chains)
            if (c.purpose != OutlinePurpose::KeepOut) take(bounds(c.chain));
        for (const auto& h : d_.holes)
            if (h.cut) take(bounds(geometry::circleChain(h.circle)));
        return box;
    }

    void bed() {
        bool any = false;
        const geometry::Bounds box = cutBounds(any);
        if (!any || !r_.bed_mm) return;
        const Vec2 size = box.high - box.low, bed = *r_.bed_mm;
        const auto within = [&](double x, double y) {
            return size.x() <= x + kRounding_mm && size.y() <= y + kRounding_mm;
        };
        if (within(bed.x(), bed.y()) || within(bed.y(), bed.x())) return;
        out_.violations.push_back(
            {Rule::Bed, "part", size.maxCoeff(), bed.maxCoeff(), 0.5 * (box.low + box.high),
             fmt::format(
                 "part: it is {} by {} mm, and the bed of {} is {} by {} mm, so it fits neither as drawn nor "
                 "turned; choose a shop with a larger bed, or make it of several outlines.",
                 fixed(size.x(), 1), fixed(size.y(), 1), r_.name, fixed(bed.x(), 0), fixed(bed.y(), 0))});
    }

    void kerf() {
        if (!r_.compensates) return;
        const double width = kerf_;
        const auto wrong = [&](const std::string& what, double asked) {
            out_.violations.push_back({Rule::Kerf, "kerf", width, asked, Vec2::Zero(), "kerf: " + what});
        };
        if (*r_.compensates == Compensates::Shop && width > 0.0)
            wrong(
                fmt::format(
                    "{} compensates it and so does this file ({} mm), so that the part would come out wrong "
                    "by a kerf; hand it over without.",
                    r_.name, fixed(width, 3)),
                0.0);
        if (*r_.compensates == Compensates::File && std::abs(width - r_.kerf_mm) > kRounding_mm)
            wrong(
                fmt::format(
                    "{} cuts on the line with a kerf of {} mm, and this file is compensated for {}; hand it "
                    "over with --kerf {}.",
                    r_.name, fixed(r_.kerf_mm, 3), width > 0 ? fixed(width, 3) + " mm" : "none",
                    fixed(r_.kerf_mm, 3)),
                r_.kerf_mm);
    }

    void handOver() {
        auto& say = out_.handOver;
        if (r_.format)
            say.push_back(*r_.format == Format::Svg      ? "Give the SVG file."
                          : *r_.format == Format::DxfR12 ? "Give the DXF file in version R12 (--r12)."
                                                         : "Give the DXF file in version R2000.");
        if (r_.compensates)
            say.push_back(
                *r_.compensates == Compensates::Shop
                    ? "The shop compensates the kerf: hand over finished edges."
                    : fmt::format("The file compensates the kerf of {} mm (--kerf {}): the shop does not.",
                                  fixed(r_.kerf_mm, 3), fixed(r_.kerf_mm, 3)));
        else
            say.push_back(
                "The rules do not say who compensates the kerf: ask, it must be done exactly once.");
    }

    const drawing::Drawing& d_;
    const ShopRules& r_;
    double thickness_, kerf_;
    Findings out_;
};

}  // namespace

const char* ruleName(Rule rule) {
    switch (rule) {
        case Rule::Web:
            return "web";
        case Rule::Gap:
            return "gap";
        case Rule::Piece:
            return "piece";
        case Rule::Bed:
            return "bed";
        case Rule::Kerf:
            return "kerf";
        case Rule::Hole:
            break;
    }
    return "hole";
}

Result<Findings> check(const drawing::Drawing& d, const ShopRules& rules, double thickness_mm,
                       double kerf_mm) {
    if (d.kerf.width_mm > 0.0)
        return Error{ErrorCode::BadValue, "is the path of a tool", "drawing " + d.title,
                     "check the drawing of the finished edges and state the kerf beside it"};
    if (!(thickness_mm >= 0.0 && thickness_mm <= 1000.0))
        return Error{ErrorCode::BadValue, "is not from 0 to 1000 mm", "thickness", "measure the sheet in mm"};
    return Check(d, rules, thickness_mm, kerf_mm).run();
}

std::string findingsText(const Findings& f, const ShopRules& rules) {
    std::string s = rules.name + "\n";
    if (!rules.note.empty()) s += rules.note + "\n";
    s += f.violations.empty() ? "nothing is against these rules.\n"
                              : fmt::format("{} against these rules:\n", f.violations.size());
    for (const Violation& v : f.violations) s += "  " + v.sentence + "\n";
    for (const std::string& n : f.notChecked) s += "not checked: " + n + "\n";
    for (const std::string& h : f.handOver) s += h + "\n";
    return s;
}

std::string findingsJson(const Findings& f, const ShopRules& rules) {
    using Json = nlohmann::ordered_json;
    Json j;
    j["shop"] = rules.name;
    j["violations"] = Json::array();
    for (const Violation& v : f.violations)
        j["violations"].push_back({{"rule", ruleName(v.rule)},
                                   {"object", v.object},
                                   {"is", v.is_mm},
                                   {"asked", v.asked_mm},
                                   {"x", v.at.x()},
                                   {"y", v.at.y()},
                                   {"sentence", v.sentence}});
    j["not_checked"] = f.notChecked;
    j["hand_over"] = f.handOver;
    return j.dump(2) + "\n";
}

}  // namespace trammel::rules
