// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/plan/PlanText.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "core/plan/Lenses.h"
#include "core/plan/Views.h"

namespace trammel::plan {
namespace {

bool shows(const Plan& plan, const char* view) {
    return std::any_of(plan.views.begin(), plan.views.end(),
                       [&](const std::string& v) { return v.starts_with(view); });
}

bool hasSideViews(const Plan& plan) {
    return shows(plan, "front") || shows(plan, "right") || shows(plan, "rear") || shows(plan, "left");
}

std::string levelsText(const Task& task) {
    std::string text;
    if (std::find(task.heights_mm.begin(), task.heights_mm.end(), 0.0) == task.heights_mm.end()) text = "0";
    for (const double h : task.heights_mm) text += fmt::format("{}{:g}", text.empty() ? "" : ", ", h);
    return text;
}

std::string expectedText(const Expectation& e) {
    std::string text = toleranceText(e.planWorst);
    if (e.heightWorst) text += ", heights " + toleranceText(*e.heightWorst);
    return text;
}

std::string trialLine(const Trial& t) {
    const char* mark = t.chosen ? "*" : " ";
    if (!t.expected) return fmt::format(" {} {}\n     no: {}\n", mark, t.name, t.reason);
    const Expectation& e = *t.expected;
    std::string line = fmt::format(" {} {}\n     {}, typical {}; {}", mark, t.name, expectedText(e),
                                   toleranceText(e.planTypical), t.meets ? "meets" : "does not meet");
    line += t.meets ? " the wanted ±" : " it";
    if (e.unseen > 0)
        line += fmt::format("; {} dimension{} not seen clearly", e.unseen, e.unseen == 1 ? "" : "s");
    return line + "\n";
}

std::string table(const std::string& title, const std::vector<Trial>& trials) {
    if (trials.empty()) return "";
    std::string text = "\n" + title + "\n";
    for (const Trial& t : trials) text += trialLine(t);
    return text;
}

std::string focusText(const Plan& plan) {
    const double nearer = plan.use.setup.standOff_mm - plan.use.setup.focus_mm;
    const double whole = std::round(nearer);
    if (std::abs(whole) < 1) return "on the middle of the datum level";
    return fmt::format("on a plane {:.0f} mm {} the datum level's middle", std::abs(whole),
                       whole > 0 ? "in front of" : "behind");
}

std::string squaringText(Squaring s) {
    switch (s) {
        case Squaring::Eye:
            return "by eye (within 2°): the part's edges run along the viewfinder's lines";
        case Squaring::Level:
            return "with a spirit level on the back of the camera and on the part, or a plumb line in the "
                   "picture (within 0.5°)";
        case Squaring::Mirror:
            return "with a small mirror flat on the part: turn the camera until its lens sits in the middle "
                   "of "
                   "the picture (within 0.1°); mark the reflected lens";
    }
    return {};
}

std::string setupText(const Plan& p) {
    const Setup& s = p.use.setup;
    std::string text = fmt::format(
        "\nSet-up\n  lens {}, stand-off {} from the lens to the middle of the datum level, "
        "f/{:g}, "
        "focus {}\n",
        lensText(p), lengthText(s.standOff_mm), s.fNumber, focusText(p));
    text += fmt::format(
        "  a pixel is {:.3f} mm on the part (magnification {:.4f}); the picture shows {:.0f} × {:.0f} mm\n",
        p.use.pixel_mm, s.magnification, p.use.fieldX_mm, p.use.fieldY_mm);
    text +=
        fmt::format("  sharp to two pixels from {} to {}; the part reaches from {} to {} in these views\n",
                    lengthText(p.use.sharp.near_mm),
                    std::isfinite(p.use.sharp.far_mm) ? lengthText(p.use.sharp.far_mm) : "infinity",
                    lengthText(p.use.nearest_mm), lengthText(p.use.furthest_mm));
    text += fmt::format(
        "  blur where it is worst σ {:.1f} px (defocus, diffraction and pixel); Airy disc {:.1f} px\n",
        s.blur_px, p.use.airy_px);
    const double before = p.use.sharp.near_mm - p.use.nearest_mm,
                 behind = std::isfinite(p.use.sharp.far_mm) ? p.use.furthest_mm - p.use.sharp.far_mm : 0.0;
    if (std::max(before, behind) > 0.5)
        text += fmt::format(
            "  the part leaves the sharp zone by up to {:.0f} mm: edges there are softer, marks on them up "
            "to "
            "{:.1f} times as coarse, and the promised ± counts that in\n",
            std::max(before, behind), blurFactor(s.blur_px));
    if (p.use.uncorrected_mm > 0.0005)
        text += fmt::format("  uncorrected, the height of the levels would shift places by up to {:.2f} mm\n",
                            p.use.uncorrected_mm);
    return text;
}

}  // namespace

std::string lengthText(double mm) {
    if (mm >= 1000.0) return fmt::format("{:.2f} m", mm / 1000.0);
    return fmt::format("{:.0f} mm", mm);
}

std::string toleranceText(double mm) {
    if (mm >= 1.0) return fmt::format("± {:.1f} mm", mm);
    if (mm >= 0.1) return fmt::format("± {:.2f} mm", mm);
    return fmt::format("± {:.3f} mm", mm);
}

std::string lensText(const Plan& plan) {
    if (plan.lens.shortest_mm == plan.lens.longest_mm) return plan.lens.title();
    return fmt::format("{} at {:g} mm", plan.lens.title(), plan.use.setup.focal_mm);
}

std::string verdict(const Plan& plan) {
    const Task& t = plan.task;
    std::string wanted = toleranceText(t.need_mm);
    if (t.needHeight_mm) wanted += ", heights " + toleranceText(*t.needHeight_mm);
    if (!plan.served())
        return fmt::format("The wanted {} is not reached: no lens serves. {}", wanted,
                           plan.lenses.empty() ? "" : plan.lenses.front().trial.reason);
    if (plan.reachable)
        return fmt::format("The wanted {} is reached: {} photographs promise {}.", wanted,
                           plan.expected.photographs, expectedText(plan.expected));
    std::string text = fmt::format("The wanted {} is not reached: the best that was found is {}.", wanted,
                                   expectedText(plan.expected));
    const Trial* best = nullptr;
    for (const Trial& h : plan.help)
        if (h.expected && (!best || h.expected->share(t) < best->expected->share(t))) best = &h;
    if (best)
        text += fmt::format(" What would help most: {}, which gives {}.", best->name,
                            expectedText(*best->expected));
    return text;
}

std::vector<std::string> steps(const Plan& plan) {
    if (!plan.served()) return {};
    const Task& t = plan.task;
    const Setup& s = plan.use.setup;
    std::vector<std::string> out;
    out.push_back(
        "Fix the part and the reference lengths on one board that can be turned and tipped: they must not "
        "move against each other from one photograph to the next. Stand the board upright before a camera "
        "that looks level, the part's upper face towards it; or lay it flat under one that looks down.");
    out.push_back(
        fmt::format("Reference lengths ({}): {:g} mm along x in front of the part and {:g} mm along y to its "
                    "right, both at the height of the datum level; {:g} mm along x behind it, raised to "
                    "{:g} mm above the datum level.",
                    t.reference.name, stretchAlong(t, true), stretchAlong(t, false), stretchAlong(t, true),
                    raisedHeight(t)));
    out.push_back(
        fmt::format("Camera on a tripod, the sensor's long side along the part's {}, lens {}, "
                    "{} from the lens to the middle of the datum level. It stays there: turn the part.",
                    s.upright ? "y" : "x", lensText(plan), lengthText(s.standOff_mm)));
    out.push_back(
        fmt::format("f/{:g}, lowest sensitivity, self-timer, stabiliser off. Focus by hand {}, then "
                    "tape focus and zoom: all photographs keep them.",
                    s.fNumber, focusText(plan)));
    out.push_back("Square the camera for the views that are not oblique " + squaringText(t.squaring) + ".");
    out.push_back(fmt::format(
        "Take {} photographs: {}.{}", plan.views.size(), joined(plan.views),
        shows(plan, "oblique") ? " Oblique front: tip the board by about 30° so that the part's front edge "
                                 "comes towards the camera; the others alike. The angle need not be exact."
                               : ""));
    if (hasSideViews(plan))
        out.push_back(
            "For a view from a side turn the part by a quarter, so that this side faces the camera. Take "
            "these "
            "last, without the reference lengths where they hide the part.");
    std::string readings = "Measure by hand: the tape from the lens to the part";
    if (t.caliper)
        readings += fmt::format("; with the caliper lengths up to {:g} mm and a hole, each three times",
                                t.caliperReach_mm);
    if (t.depthRod && t.highest() - t.lowest() > 0)
        readings +=
            "; with the depth rod every level from the datum level, entered as a height with its sign";
    out.push_back(readings + ". Keep one reading back as a check.");
    return out;
}

std::vector<std::string> cautions(const Plan& plan) {
    std::vector<std::string> out = {
        "Disconnect the supply, remove batteries, wait, and verify with a rated meter before you open a "
        "device; "
        "capacitors may hold a charge. Mains work is for qualified persons (IEC 62368-1).",
        "Boards: earthed mat and wrist strap (IEC 61340-5-1). Lithium cells: never puncture, crush or cut "
        "them; "
        "a swollen cell means stop.",
        "Secure tripod, cables and a part that stands on edge against falling; nobody stands beneath a "
        "camera.",
    };
    if (plan.task.squaring == Squaring::Mirror)
        out.push_back(
            "The mirror's edges cut, and it throws lamps and sun into eyes: cover it when not in use.");
    return out;
}

std::string planText(const Plan& plan) {
    const Task& t = plan.task;
    std::string text = fmt::format(
        "Part {:g} × {:g} mm, levels at {} mm. Sensor {:g} × {:g} mm, {} × {} pixels. Room {}. Marks {} "
        "(σ {:g} px), {}, squared by {}.\n\n{}\n",
        t.sizeX_mm, t.sizeY_mm, levelsText(t), t.sensor.width_mm, t.sensor.height_mm, t.sensor.width_px,
        t.sensor.height_px, lengthText(t.room_mm), t.marking == Marking::Clicked ? "clicked" : "fitted",
        t.markSigma(), t.reference.name, squaringName(t.squaring), verdict(plan));
    if (plan.served()) text += setupText(plan);
    text += "\nLenses, with " + joined(standardViews()) + " (* chosen)\n";
    for (const LensTrial& l : plan.lenses) {
        text += trialLine(l.trial);
        if (l.use)
            text += fmt::format("     {} away, {:.3f} mm a pixel, f/{:g}\n",
                                lengthText(l.use->setup.standOff_mm), l.use->pixel_mm, l.use->setup.fNumber);
    }
    text += table("Photographs (fewer than three leave mistakes unnoticed and are not chosen)", plan.sets);
    text += table("Where reference lengths lie (all three let a mistake in one show)", plan.referenceLengths);
    text += table("How the camera is squared", plan.squaring);
    text += table("The same with top, front and right alone", plan.squaringAlone);
    text += table("What would help", plan.help);
    if (!plan.served()) return text;
    text += "\nAt the bench\n";
    int number = 0;
    for (const std::string& s : steps(plan)) text += fmt::format("{:3}. {}\n", ++number, s);
    text +=
        "\nCautions (they do not replace local codes, the manufacturer's instructions, or a qualified "
        "person)\n";
    for (const std::string& c : cautions(plan)) text += "  - " + c + "\n";
    return text +
           "\nThe ± is that of a part with as many features as a plate with four holes and a block or two; "
           "what the glass itself smears is not in it.\n";
}

}  // namespace trammel::plan
