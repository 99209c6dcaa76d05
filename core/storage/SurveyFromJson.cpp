// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/core.h>

#include "core/storage/JsonReader.h"
#include "core/storage/SurveyFile.h"
#include "core/survey/Names.h"
#include "core/survey/View.h"

namespace trammel::storage {
namespace {

using namespace survey;

Constant readConstant(JsonObject& o, const char* key, const Constant& fallback) {
    Constant c = fallback;
    o.object(key, true, [&c](JsonObject& x) {
        c.value = x.number("value");
        c.sigma = x.number("sigma", 0.0);
        c.mode = x.word("mode", modeFromName);
    });
    return c;
}

CameraGroup readGroup(JsonObject& o) {
    CameraGroup g;
    g.id = o.text("id");
    g.name = o.text("name", "");
    g.body = o.text("body", "");
    g.lens = o.text("lens", "");
    g.focalLength_mm = o.number("focal_length_mm", 0.0);
    g.pixelPitch_mm = o.number("pixel_pitch_mm", 0.0);
    g.principalDistance = readConstant(o, "principal_distance_px", g.principalDistance);
    g.principalX = readConstant(o, "principal_x_px", g.principalX);
    g.principalY = readConstant(o, "principal_y_px", g.principalY);
    g.k1 = readConstant(o, "k1", g.k1);
    g.k2 = readConstant(o, "k2", g.k2);
    g.k3 = readConstant(o, "k3", g.k3);
    g.p1 = readConstant(o, "p1", g.p1);
    g.p2 = readConstant(o, "p2", g.p2);
    g.pupil = readConstant(o, "pupil_mm", g.pupil);
    g.lightGrowth = readConstant(o, "light_growth", g.lightGrowth);
    g.refocusedFrom = o.text("refocused_from", "");
    g.focusSigma = o.number("focus_sigma", g.focusSigma);
    return g;
}

Photo readPhoto(JsonObject& o) {
    Photo p;
    p.path = o.text("path");
    p.sha256 = o.text("sha256", "");
    p.width = o.integer("width");
    p.height = o.integer("height");
    p.orientation = o.integer("orientation", 1);
    o.object("crop", true, [&p](JsonObject& x) {
        p.crop.known = x.flag("known");
        p.crop.fullWidth = x.integer("full_width", 0);
        p.crop.fullHeight = x.integer("full_height", 0);
        p.crop.offsetX = x.number("offset_x", 0.0);
        p.crop.offsetY = x.number("offset_y", 0.0);
    });
    return p;
}

Station readStation(JsonObject& o) {
    Station s;
    s.id = o.text("id");
    s.name = o.text("name", "");
    s.view = o.word("view", viewFromName);
    s.group = o.text("camera");
    s.squareSigma_rad = o.number("square_sigma_rad", s.squareSigma_rad);
    s.excluded = o.flag("excluded", false);
    o.object("photograph", false, [&s](JsonObject& x) { s.photo = readPhoto(x); });
    o.object("mirror", true, [&s](JsonObject& x) {
        s.mirror = MirrorMark{};
        s.mirror->px = Vec2(x.number("x_px"), x.number("y_px"));
        s.mirror->sigma_px = x.number("sigma_px", s.mirror->sigma_px);
        s.mirror->seat_rad = x.number("seat_rad", s.mirror->seat_rad);
    });
    return s;
}

Level readLevel(JsonObject& o) {
    Level l;
    l.id = o.text("id");
    l.name = o.text("name", "");
    l.form = o.word("form", formFromName, std::optional(LevelForm::Flat));
    return l;
}

Feature readFeature(JsonObject& o) {
    Feature f;
    f.id = o.text("id");
    f.name = o.text("name", "");
    f.kind = o.word("kind", kindFromName);
    f.level = o.text("level", "");
    f.transition = o.word("transition", transitionFromName, std::optional(Transition::Sharp));
    f.transition_mm = o.number("transition_mm", 0.0);
    return f;
}

Mark readMark(JsonObject& o) {
    Mark m;
    m.id = o.text("id");
    m.station = o.text("photograph");
    m.feature = o.text("feature");
    m.origin = o.word("origin", originFromName, std::optional(MarkOrigin::Hand));
    m.excluded = o.flag("excluded", false);
    o.each("points_px", [&m](const nlohmann::json& item, const std::string& at) {
        if (!item.is_array() || (item.size() != 3 && item.size() != 5))
            throw JsonFault{at + " must hold three numbers, x, y and σ, or five with the growth in x and y",
                            "correct it or take an older copy"};
        const auto pair = [&](std::size_t i) {
            return Vec2(jsonNumber(item[i], fmt::format("{}[{}]", at, i)),
                        jsonNumber(item[i + 1], fmt::format("{}[{}]", at, i + 1)));
        };
        m.points.push_back({pair(0), jsonNumber(item[2], at + "[2]")});
        if (item.size() == 5) m.points.back().growth_px = pair(3);
    });
    return m;
}

Reading readReading(JsonObject& o) {
    Reading r;
    r.id = o.text("id");
    r.name = o.text("name", "");
    r.quantity = o.word("quantity", quantityFromName);
    r.objects = o.texts("objects");
    r.measured.value = o.number("value");
    r.measured.sigma = o.number("sigma");
    r.jawFlat_mm = o.number("jaw_flat_mm", 0.0);
    r.reference = o.flag("reference", false);
    r.check = o.flag("check", false);
    r.excluded = o.flag("excluded", false);
    return r;
}

Dimension readDimension(JsonObject& o) {
    Dimension d;
    d.id = o.text("id");
    d.name = o.text("name", "");
    d.quantity = o.word("quantity", quantityFromName);
    d.objects = o.texts("objects");
    d.important = o.flag("important", false);
    d.target = o.number("target", 0.0);
    return d;
}

Outline readOutline(JsonObject& o) {
    Outline x;
    x.id = o.text("id");
    x.name = o.text("name", "");
    x.purpose = o.word("purpose", purposeFromName);
    x.level = o.text("level", "");
    x.chain = o.texts("chain");
    return x;
}

Condition readCondition(JsonObject& o) {
    Condition c;
    c.id = o.text("id");
    c.name = o.text("name", "");
    c.kind = o.word("kind", conditionFromName);
    c.objects = o.texts("objects");
    c.measured.value = o.number("value", 0.0);
    c.measured.sigma = o.number("sigma");
    c.excluded = o.flag("excluded", false);
    return c;
}

template <class T>
std::vector<T> readList(JsonObject& o, const char* key, T (*read)(JsonObject&)) {
    std::vector<T> list;
    o.eachObject(key, [&](JsonObject& x) { list.push_back(read(x)); });
    return list;
}

Survey readSurvey(JsonObject& o) {
    Survey s;
    s.title = o.text("title", "");
    s.unit = o.text("unit", "");
    s.note = o.text("note", "");
    o.object("datum", true, [&s](JsonObject& x) {
        s.datum.level = x.text("level", "");
        s.datum.origin = x.text("origin", "");
        s.datum.direction = x.text("direction", "");
    });
    s.groups = readList(o, "cameras", readGroup);
    s.stations = readList(o, "stations", readStation);
    s.levels = readList(o, "levels", readLevel);
    s.features = readList(o, "features", readFeature);
    s.marks = readList(o, "marks", readMark);
    s.readings = readList(o, "readings", readReading);
    s.dimensions = readList(o, "dimensions", readDimension);
    s.outlines = readList(o, "outlines", readOutline);
    s.conditions = readList(o, "conditions", readCondition);
    o.finish();
    return s;
}

}  // namespace

Result<Survey> fromJson(const std::string& text, const std::string& name) {
    try {
        if (text.empty()) throw JsonFault{"the file is empty", "take an older copy"};
        const nlohmann::json document = parseJson(text);
        JsonObject o(document, "");
        if (o.text("format", "") != "trammel survey")
            return Error{ErrorCode::FileDamaged, "is no survey (its \"format\" does not say so)", name,
                         "open a *.trammel file"};
        const int version = o.integer("version");
        if (version > kFormatVersion)
            return Error{
                ErrorCode::FileNewer,
                fmt::format(
                    "was written by a newer version of the program (format {}, this one reads up to {})",
                    version, kFormatVersion),
                name, "update the program"};
        if (version < 1) throw JsonFault{fmt::format("version {} never existed", version), "correct it"};
        return readSurvey(o);
    } catch (const JsonFault& fault) {
        return Error{ErrorCode::FileDamaged, fault.what, name, fault.remedy};
    }
}

}  // namespace trammel::storage
