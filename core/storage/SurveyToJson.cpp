// SPDX-License-Identifier: GPL-3.0-or-later
#include <nlohmann/json.hpp>

#include "core/storage/SurveyFile.h"
#include "core/survey/Names.h"
#include "core/survey/View.h"

namespace trammel::storage {
namespace {

using Json = nlohmann::ordered_json;
using namespace survey;

Json toJson(const Constant& c) {
    return {{"value", c.value}, {"sigma", c.sigma}, {"mode", modeName(c.mode)}};
}

Json toJson(const CameraGroup& g) {
    return {{"id", g.id},
            {"name", g.name},
            {"body", g.body},
            {"lens", g.lens},
            {"focal_length_mm", g.focalLength_mm},
            {"pixel_pitch_mm", g.pixelPitch_mm},
            {"principal_distance_px", toJson(g.principalDistance)},
            {"principal_x_px", toJson(g.principalX)},
            {"principal_y_px", toJson(g.principalY)},
            {"k1", toJson(g.k1)},
            {"k2", toJson(g.k2)},
            {"k3", toJson(g.k3)},
            {"p1", toJson(g.p1)},
            {"p2", toJson(g.p2)},
            {"pupil_mm", toJson(g.pupil)},
            {"light_growth", toJson(g.lightGrowth)},
            {"refocused_from", g.refocusedFrom},
            {"focus_sigma", g.focusSigma}};
}

Json toJson(const Photo& p) {
    const FrameCrop& c = p.crop;
    return {{"path", p.path},
            {"sha256", p.sha256},
            {"width", p.width},
            {"height", p.height},
            {"orientation", p.orientation},
            {"crop", Json{{"known", c.known},
                          {"full_width", c.fullWidth},
                          {"full_height", c.fullHeight},
                          {"offset_x", c.offsetX},
                          {"offset_y", c.offsetY}}}};
}

Json toJson(const Station& s) {
    Json j = {{"id", s.id},
              {"name", s.name},
              {"view", viewName(s.view)},
              {"camera", s.group},
              {"square_sigma_rad", s.squareSigma_rad},
              {"excluded", s.excluded},
              {"photograph", toJson(s.photo)}};
    if (s.mirror)
        j["mirror"] = {{"x_px", s.mirror->px.x()},
                       {"y_px", s.mirror->px.y()},
                       {"sigma_px", s.mirror->sigma_px},
                       {"seat_rad", s.mirror->seat_rad}};
    return j;
}

Json toJson(const Level& l) { return {{"id", l.id}, {"name", l.name}, {"form", formName(l.form)}}; }

Json toJson(const Feature& f) {
    return {{"id", f.id},
            {"name", f.name},
            {"kind", kindName(f.kind)},
            {"level", f.level},
            {"transition", transitionName(f.transition)},
            {"transition_mm", f.transition_mm}};
}

Json toJson(const Mark& m) {
    Json points = Json::array();
    for (const MarkPoint& p : m.points) {
        points.push_back(Json::array({p.px.x(), p.px.y(), p.sigma_px}));
        if (p.growth_px == Vec2::Zero()) continue;
        points.back().push_back(p.growth_px.x());
        points.back().push_back(p.growth_px.y());
    }
    return {{"id", m.id},
            {"photograph", m.station},
            {"feature", m.feature},
            {"origin", originName(m.origin)},
            {"excluded", m.excluded},
            {"points_px", std::move(points)}};
}

Json toJson(const Reading& r) {
    return {{"id", r.id},
            {"name", r.name},
            {"quantity", quantityName(r.quantity)},
            {"objects", r.objects},
            {"value", r.measured.value},
            {"sigma", r.measured.sigma},
            {"jaw_flat_mm", r.jawFlat_mm},
            {"reference", r.reference},
            {"check", r.check},
            {"excluded", r.excluded}};
}

Json toJson(const Dimension& d) {
    return {{"id", d.id},           {"name", d.name},           {"quantity", quantityName(d.quantity)},
            {"objects", d.objects}, {"important", d.important}, {"target", d.target}};
}

Json toJson(const Outline& o) {
    return {{"id", o.id},
            {"name", o.name},
            {"purpose", purposeName(o.purpose)},
            {"level", o.level},
            {"chain", o.chain}};
}

Json toJson(const Condition& c) {
    return {{"id", c.id},
            {"name", c.name},
            {"kind", conditionName(c.kind)},
            {"objects", c.objects},
            {"value", c.measured.value},
            {"sigma", c.measured.sigma},
            {"excluded", c.excluded}};
}

template <class T>
Json listToJson(const std::vector<T>& list) {
    Json out = Json::array();
    for (const T& item : list) out.push_back(toJson(item));
    return out;
}

std::string scalarText(const Json& j) { return j.dump(-1, ' ', false, Json::error_handler_t::replace); }

/// Containers of plain values take one line each, so that a mark's point is a line and differences between
/// two files read well.
void print(std::string& out, const Json& j, int indent) {
    const auto nested = [](const Json& item) { return item.is_structured() && !item.empty(); };
    if (!j.is_structured() || std::none_of(j.begin(), j.end(), nested)) {
        out += scalarText(j);
        return;
    }
    const std::string margin(static_cast<std::size_t>(indent) + 2, ' ');
    out += j.is_object() ? "{" : "[";
    bool first = true;
    for (const auto& [key, value] : j.items()) {
        out += first ? "\n" : ",\n";
        out += margin;
        if (j.is_object()) out += scalarText(Json(key)) + ": ";
        print(out, value, indent + 2);
        first = false;
    }
    out += "\n" + std::string(static_cast<std::size_t>(indent), ' ') + (j.is_object() ? "}" : "]");
}

}  // namespace

std::string toJson(const Survey& s) {
    const Json document = {
        {"format", "trammel survey"},
        {"version", kFormatVersion},
        {"title", s.title},
        {"unit", s.unit},
        {"note", s.note},
        {"datum",
         Json{{"level", s.datum.level}, {"origin", s.datum.origin}, {"direction", s.datum.direction}}},
        {"cameras", listToJson(s.groups)},
        {"stations", listToJson(s.stations)},
        {"levels", listToJson(s.levels)},
        {"features", listToJson(s.features)},
        {"marks", listToJson(s.marks)},
        {"readings", listToJson(s.readings)},
        {"dimensions", listToJson(s.dimensions)},
        {"outlines", listToJson(s.outlines)},
        {"conditions", listToJson(s.conditions)}};
    std::string text;
    print(text, document, 0);
    text += "\n";
    return text;
}

}  // namespace trammel::storage
