// SPDX-License-Identifier: GPL-3.0-or-later
#include <cmath>
#include <nlohmann/json.hpp>

#include "core/plan/PlanText.h"

namespace trammel::plan {
namespace {

using Json = nlohmann::ordered_json;

Json orNull(double value) { return std::isfinite(value) ? Json(value) : Json(nullptr); }

Json expectedJson(const Expectation& e) {
    Json j = {{"plan_plus_minus_mm", e.planWorst},
              {"plan_typical_mm", e.planTypical},
              {"worst", e.planWorstName},
              {"photographs", e.photographs},
              {"unseen", e.unseen}};
    j["height_plus_minus_mm"] = e.heightWorst ? Json(*e.heightWorst) : Json(nullptr);
    return j;
}

Json trialJson(const Trial& t) {
    Json j = {{"name", t.name}, {"chosen", t.chosen}, {"meets", t.meets}};
    if (t.expected)
        j["expected"] = expectedJson(*t.expected);
    else
        j["reason"] = t.reason;
    return j;
}

Json trialsJson(const std::vector<Trial>& trials) {
    Json list = Json::array();
    for (const Trial& t : trials) list.push_back(trialJson(t));
    return list;
}

Json useJson(const LensUse& u) {
    const Setup& s = u.setup;
    return {{"focal_mm", s.focal_mm},
            {"stand_off_mm", s.standOff_mm},
            {"f_number", s.fNumber},
            {"focus_mm", s.focus_mm},
            {"sharp_near_mm", u.sharp.near_mm},
            {"sharp_far_mm", orNull(u.sharp.far_mm)},
            {"pixel_mm", u.pixel_mm},
            {"magnification", s.magnification},
            {"blur_px", s.blur_px},
            {"airy_px", u.airy_px},
            {"uncorrected_mm", u.uncorrected_mm}};
}

}  // namespace

std::string planJson(const Plan& plan) {
    Json j = {{"format", "trammel plan"}, {"version", 1},      {"reachable", plan.reachable},
              {"verdict", verdict(plan)}, {"set_up", nullptr}, {"views", plan.views}};
    j["expected"] = nullptr;
    if (plan.served()) {
        j["set_up"] = useJson(plan.use);
        j["set_up"]["lens"] = plan.lens.title();
        j["expected"] = expectedJson(plan.expected);
    }
    j["lenses"] = Json::array();
    for (const LensTrial& l : plan.lenses) {
        j["lenses"].push_back(trialJson(l.trial));
        if (l.use) j["lenses"].back()["set_up"] = useJson(*l.use);
    }
    j["sets"] = trialsJson(plan.sets);
    j["reference_lengths"] = trialsJson(plan.referenceLengths);
    j["squaring"] = trialsJson(plan.squaring);
    j["squaring_without_obliques"] = trialsJson(plan.squaringAlone);
    j["help"] = trialsJson(plan.help);
    j["steps"] = steps(plan);
    j["cautions"] = cautions(plan);
    return j.dump(2) + "\n";
}

}  // namespace trammel::plan
