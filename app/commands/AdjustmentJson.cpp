// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/commands/AdjustmentJson.h"

#include <nlohmann/json.hpp>
#include <optional>

#include "core/adjust/Report.h"
#include "core/survey/Names.h"
#include "core/survey/View.h"

namespace trammel::app {
namespace {

using Json = nlohmann::ordered_json;  // writes numbers that are not finite as null

std::optional<double> plusMinus(const adjust::Solution& solution, survey::Quantity quantity,
                                std::vector<survey::Id> objects) {
    survey::Dimension d;
    d.quantity = quantity;
    d.objects = std::move(objects);
    const auto measured = solution.measure(d);
    return measured ? std::optional<double>(measured->plusMinus) : std::nullopt;
}

Json orNull(const std::optional<double>& v) { return v ? Json(*v) : Json(nullptr); }

Json carriersJson(const adjust::DimensionResult& r) {
    Json list = Json::array();
    for (const adjust::Carrier& c : r.carriers)
        list.push_back({{"object", c.object}, {"description", c.description}, {"share", c.share}});
    return list;
}

Json dimensionsJson(const adjust::Solution& solution) {
    Json list = Json::array();
    for (const adjust::DimensionResult& r : solution.dimensions) {
        const survey::Dimension& d = r.dimension;
        list.push_back({{"id", d.id},
                        {"name", d.name},
                        {"quantity", survey::quantityName(d.quantity)},
                        {"objects", d.objects},
                        {"important", d.important},
                        {"target", d.target},
                        {"unit", d.quantity == survey::Quantity::Angle ? "rad" : "mm"},
                        {"value", r.value},
                        {"plus_minus", r.plusMinus},
                        {"carried_by", carriersJson(r)}});
    }
    return list;
}

Json levelsJson(const survey::Survey& survey, const adjust::Solution& solution) {
    Json list = Json::array();
    for (const survey::Level& l : survey.levels) {
        const auto it = solution.levels.find(l.id);
        if (it == solution.levels.end()) continue;
        list.push_back({{"id", l.id},
                        {"name", l.name},
                        {"height_mm", it->second},
                        {"plus_minus_mm", orNull(plusMinus(solution, survey::Quantity::Height, {l.id}))}});
    }
    return list;
}

Json levelShapesJson(const adjust::Solution& solution) {
    Json list = Json::array();
    for (const adjust::LevelShape& s : solution.levelShapes)
        list.push_back({{"level", s.level},
                        {"form", survey::formName(s.form)},
                        {"allowed", s.allowed},
                        {"amount_mm", s.amount_mm},
                        {"plus_minus_mm", s.plusMinus_mm},
                        {"over_mm", s.over_mm},
                        {"probability", s.probability},
                        {"sentence", s.sentence}});
    return list;
}

Json featureJson(const survey::Survey& survey, const adjust::Solution& solution, const survey::Feature& f,
                 const adjust::FeatureGeometry& g) {
    Json j = {{"id", f.id},
              {"name", f.name},
              {"kind", survey::kindName(f.kind)},
              {"level", f.level},
              {"point_mm", {g.point.x(), g.point.y(), g.point.z()}}};
    if (f.kind == survey::FeatureKind::Edge) {
        j["direction"] = {g.direction.x(), g.direction.y()};
        return j;
    }
    const survey::Id& origin = survey.datum.origin;
    if (!origin.empty() && origin != f.id)
        j["plus_minus_mm"] = {orNull(plusMinus(solution, survey::Quantity::OffsetX, {origin, f.id})),
                              orNull(plusMinus(solution, survey::Quantity::OffsetY, {origin, f.id}))};
    if (f.kind == survey::FeatureKind::Corner) return j;
    if (!g.course.empty()) {
        Json course = Json::array();
        for (const Vec3& p : g.course) course.push_back({p.x(), p.y(), p.z()});
        j["course_mm"] = std::move(course);
    }
    if (f.kind == survey::FeatureKind::Curve) {
        j["closed"] = g.closed;
        return j;
    }
    j["radius_mm"] = g.radius;
    j["radius_plus_minus_mm"] = orNull(plusMinus(solution, survey::Quantity::Radius, {f.id}));
    return j;
}

Json featuresJson(const survey::Survey& survey, const adjust::Solution& solution) {
    Json list = Json::array();
    for (const survey::Feature& f : survey.features) {
        const auto it = solution.features.find(f.id);
        if (it != solution.features.end()) list.push_back(featureJson(survey, solution, f, it->second));
    }
    return list;
}

Json photographsJson(const survey::Survey& survey, const adjust::Solution& solution) {
    Json list = Json::array();
    for (const survey::Station& st : survey.stations) {
        const auto it = solution.stations.find(st.id);
        if (it == solution.stations.end()) continue;
        list.push_back({{"id", st.id},
                        {"name", st.name},
                        {"stand_off_mm", it->second.standOff_mm},
                        {"px_per_mm", it->second.scale_px_per_mm}});
    }
    return list;
}

Json suspectsJson(const adjust::Solution& solution) {
    Json list = Json::array();
    for (const adjust::Suspect& s : solution.suspects)
        list.push_back({{"object", s.object},
                        {"sentence", s.sentence},
                        {"estimated_error", s.estimatedError},
                        {"w", s.w},
                        {"cause", adjust::causeName(s.cause)},
                        {"alternatives", s.alternatives},
                        {"decided_by", s.decidedBy},
                        {"likely_value", s.likelyValue},
                        {"likely_feature", s.likelyFeature}});
    return list;
}

Json observationsJson(const adjust::Solution& solution) {
    Json list = Json::array();
    for (const adjust::ObservationResult& o : solution.observations)
        list.push_back(
            {{"object", o.object},
             {"description", o.description},
             {"residual", std::vector<double>(o.residual.data(), o.residual.data() + o.residual.size())},
             {"sigma", o.sigma},
             {"redundancy", o.redundancy},
             {"test", o.test},
             {"size", o.size},
             {"probability", o.probability},
             {"w", o.w},
             {"smallest_detectable", o.smallestDetectable},
             {"controlled", o.controlled},
             {"check", o.check}});
    return list;
}

Json judgedJson(const adjust::Judged& j) {
    return {{"dimension", j.dimension.id}, {"plus_minus", j.plusMinus}, {"figure", j.figure}};
}

Json proposalJson(const adjust::Proposal& p) {
    Json j;
    if (const auto* r = std::get_if<adjust::AdvisedReading>(&p.what))
        j["reading"] = {{"quantity", survey::quantityName(r->quantity)},
                        {"objects", r->objects},
                        {"instrument", adjust::instrumentName(r->instrument)},
                        {"sigma", r->sigma}};
    else if (const auto* v = std::get_if<adjust::AdvisedView>(&p.what))
        j["photograph"] = {{"view", survey::viewName(v->view)},
                           {"azimuth_rad", v->azimuth_rad},
                           {"elevation_rad", v->elevation_rad},
                           {"camera", v->group},
                           {"stand_off_mm", v->standOff_mm},
                           {"sigma_px", v->sigma_px},
                           {"marks", v->marks}};
    j["same"] = judgedJson(p.same);
    j["worst"] = judgedJson(p.worst);
    j["sentence"] = p.sentence;
    return j;
}

Json adviceJson(const Result<adjust::Advice>& advice) {
    if (!advice) return {{"sentence", advice.error().sentence()}};
    Json proposals = Json::array();
    for (const adjust::Proposal& p : advice->proposals) proposals.push_back(proposalJson(p));
    return {{"good_enough", advice->goodEnough},
            {"helps", advice->helps},
            {"sentence", advice->sentence},
            {"worst", judgedJson(advice->worst)},
            {"proposals", std::move(proposals)}};
}

}  // namespace

std::string adjustmentJson(const survey::Survey& survey, const adjust::Solution& solution,
                           const Result<adjust::Advice>& advice, const std::string& surveyFile) {
    const adjust::GlobalTest& g = solution.global;
    const Json document = {{"format", "trammel adjustment"},
                           {"version", 1},
                           {"survey", surveyFile},
                           {"agrees", adjust::agrees(solution)},
                           {"global_test", Json{{"variance_factor", g.varianceFactor},
                                                {"degrees_of_freedom", g.degreesOfFreedom},
                                                {"low", g.low},
                                                {"high", g.high},
                                                {"passed", g.passed}}},
                           {"dimensions", dimensionsJson(solution)},
                           {"levels", levelsJson(survey, solution)},
                           {"level_shapes", levelShapesJson(solution)},
                           {"features", featuresJson(survey, solution)},
                           {"photographs", photographsJson(survey, solution)},
                           {"suspects", suspectsJson(solution)},
                           {"observations", observationsJson(solution)},
                           {"limits", solution.limits},
                           {"notes", solution.notes},
                           {"iterations", solution.iterations},
                           {"condition_number", solution.conditionNumber},
                           {"advice", adviceJson(advice)}};
    return document.dump(2, ' ', false, Json::error_handler_t::replace);
}

}  // namespace trammel::app
