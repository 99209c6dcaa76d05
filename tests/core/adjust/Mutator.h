// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <functional>
#include <limits>
#include <random>
#include <string>
#include <vector>

#include "core/survey/Survey.h"

/// Spoils surveys: single numbers by every value that should not be there, and random changes of anything.
namespace trammel::test {

/// A number of a survey, with the id of the object that it belongs to.
struct Field {
    std::string name;
    survey::Id object;
    double* value;
};

inline std::vector<Field> fieldsOf(survey::Survey& s) {
    std::vector<Field> out;
    for (survey::CameraGroup& g : s.groups) {
        out.push_back({"focal length", g.id, &g.focalLength_mm});
        out.push_back({"pixel pitch", g.id, &g.pixelPitch_mm});
        for (survey::Constant* c :
             {&g.principalDistance, &g.principalX, &g.principalY, &g.k1, &g.k2, &g.k3, &g.p1, &g.p2}) {
            out.push_back({"constant", g.id, &c->value});
            out.push_back({"σ of constant", g.id, &c->sigma});
        }
    }
    for (survey::Station& st : s.stations) {
        out.push_back({"crop x", st.id, &st.photo.crop.offsetX});
        out.push_back({"crop y", st.id, &st.photo.crop.offsetY});
        out.push_back({"σ square", st.id, &st.squareSigma_rad});
    }
    for (survey::Mark& m : s.marks)
        for (survey::MarkPoint& p : m.points) {
            out.push_back({"mark x", m.id, &p.px.x()});
            out.push_back({"mark y", m.id, &p.px.y()});
            out.push_back({"mark σ", m.id, &p.sigma_px});
        }
    for (survey::Reading& r : s.readings) {
        out.push_back({"reading", r.id, &r.measured.value});
        out.push_back({"reading σ", r.id, &r.measured.sigma});
    }
    for (survey::Dimension& d : s.dimensions) out.push_back({"target", d.id, &d.target});
    return out;
}

inline const std::vector<double>& badValues() {
    using Limits = std::numeric_limits<double>;
    static const std::vector<double> values = {Limits::quiet_NaN(),
                                               Limits::infinity(),
                                               -Limits::infinity(),
                                               0.0,
                                               -1.0,
                                               1e300,
                                               -1e300,
                                               Limits::max(),
                                               1e-300,
                                               1e-310,
                                               Limits::denorm_min(),
                                               1e12};
    return values;
}

class Mutator {
  public:
    explicit Mutator(unsigned seed) : random_(seed) {}

    /// One random change; returns what was done, for the report of a failing test.
    std::string spoil(survey::Survey& s) {
        static const std::vector<std::pair<const char*, void (Mutator::*)(survey::Survey&)>> ways = {
            {"number", &Mutator::number},   {"number", &Mutator::number},
            {"scale", &Mutator::scale},     {"drop", &Mutator::drop},
            {"double", &Mutator::twice},    {"tie", &Mutator::tie},
            {"swap", &Mutator::swapMarks},  {"exclude", &Mutator::exclude},
            {"kind", &Mutator::kind},       {"view", &Mutator::view},
            {"points", &Mutator::points},   {"same place", &Mutator::samePlace},
            {"reading", &Mutator::reading}, {"datum", &Mutator::datum},
            {"picture", &Mutator::picture}, {"constant", &Mutator::constant},
            {"flip", &Mutator::flip}};
        const auto& [name, way] = ways[below(ways.size())];
        (this->*way)(s);
        return name;
    }

  private:
    std::size_t below(std::size_t n) {
        return n == 0 ? 0 : std::uniform_int_distribution<std::size_t>(0, n - 1)(random_);
    }
    bool coin() { return below(2) == 1; }
    template <class T>
    T* pick(std::vector<T>& list) {
        return list.empty() ? nullptr : &list[below(list.size())];
    }
    /// An id of anything in the survey, of nothing, or none.
    survey::Id anyId(survey::Survey& s) {
        switch (below(7)) {
            case 0:
                return "";
            case 1:
                return "X99";
            case 2:
                return s.stations.empty() ? "" : pick(s.stations)->id;
            case 3:
                return s.levels.empty() ? "" : pick(s.levels)->id;
            case 4:
                return s.marks.empty() ? "" : pick(s.marks)->id;
            default:
                return s.features.empty() ? "" : pick(s.features)->id;
        }
    }
    void number(survey::Survey& s) {
        auto fields = fieldsOf(s);
        if (!fields.empty()) *pick(fields)->value = *pick(values_);
    }
    void scale(survey::Survey& s) {
        auto fields = fieldsOf(s);
        if (!fields.empty())
            *pick(fields)->value *= std::pow(10.0, std::normal_distribution<double>(0, 2)(random_));
    }
    template <class T>
    void dropFrom(std::vector<T>& list) {
        if (!list.empty()) list.erase(list.begin() + static_cast<std::ptrdiff_t>(below(list.size())));
    }
    template <class T>
    void doubleIn(std::vector<T>& list) {
        if (list.empty()) return;
        T copy = *pick(list);
        if (coin()) copy.id += "b";
        list.push_back(copy);
    }
    void drop(survey::Survey& s) {
        switch (below(6)) {
            case 0:
                return dropFrom(s.groups);
            case 1:
                return dropFrom(s.stations);
            case 2:
                return dropFrom(s.levels);
            case 3:
                return dropFrom(s.features);
            case 4:
                return dropFrom(s.readings);
            default:
                return dropFrom(s.marks);
        }
    }
    void twice(survey::Survey& s) {
        switch (below(5)) {
            case 0:
                return doubleIn(s.groups);
            case 1:
                return doubleIn(s.stations);
            case 2:
                return doubleIn(s.features);
            case 3:
                return doubleIn(s.readings);
            default:
                return doubleIn(s.marks);
        }
    }
    void tie(survey::Survey& s) {
        if (s.marks.empty() || s.features.empty() || s.stations.empty()) return;
        switch (below(4)) {
            case 0:
                pick(s.marks)->feature = anyId(s);
                break;
            case 1:
                pick(s.marks)->station = anyId(s);
                break;
            case 2:
                pick(s.features)->level = anyId(s);
                break;
            default:
                pick(s.stations)->group = anyId(s);
        }
    }
    void swapMarks(survey::Survey& s) {
        if (!s.marks.empty()) std::swap(pick(s.marks)->feature, pick(s.marks)->feature);
    }
    void exclude(survey::Survey& s) {
        for (survey::Mark& m : s.marks) m.excluded = below(4) == 0;
        if (!s.stations.empty() && coin()) pick(s.stations)->excluded = true;
    }
    void kind(survey::Survey& s) {
        if (!s.features.empty()) pick(s.features)->kind = static_cast<survey::FeatureKind>(below(4));
    }
    void view(survey::Survey& s) {
        if (!s.stations.empty()) pick(s.stations)->view = static_cast<survey::View>(below(7));
    }
    void points(survey::Survey& s) {
        if (s.marks.empty()) return;
        survey::Mark& m = *pick(s.marks);
        m.points.resize(coin() ? below(3) : 40, m.points.empty() ? survey::MarkPoint{} : m.points.front());
    }
    void samePlace(survey::Survey& s) {
        if (s.stations.empty()) return;
        const survey::Id station = pick(s.stations)->id;
        for (survey::Mark& m : s.marks)
            if (m.station == station)
                for (survey::MarkPoint& p : m.points) p.px = coin() ? Vec2(7, 7) : p.px;
    }
    void reading(survey::Survey& s) {
        if (s.readings.empty()) return;
        survey::Reading& r = *pick(s.readings);
        r.quantity = static_cast<survey::Quantity>(below(9));
        r.objects.assign(below(4), "");
        for (survey::Id& id : r.objects) id = anyId(s);
        r.check = coin();
    }
    void datum(survey::Survey& s) {
        s.datum = {coin() ? s.datum.level : anyId(s), anyId(s), coin() ? s.datum.direction : anyId(s)};
    }
    void picture(survey::Survey& s) {
        if (s.stations.empty()) return;
        survey::Photo& p = pick(s.stations)->photo;
        p.width = coin() ? p.width : static_cast<int>(below(3)) - 1;
        p.crop.known = coin();
        p.crop.fullWidth = coin() ? std::numeric_limits<int>::max() : p.width;
        p.crop.fullHeight = p.height;
        p.orientation = static_cast<int>(below(10));
    }
    void constant(survey::Survey& s) {
        if (s.groups.empty()) return;
        survey::CameraGroup& g = *pick(s.groups);
        for (survey::Constant* c : {&g.principalDistance, &g.principalX, &g.k1, &g.k3, &g.p2})
            c->mode = static_cast<survey::ConstantMode>(below(3));
    }
    void flip(survey::Survey& s) {
        if (s.stations.empty()) return;
        const survey::Id station = pick(s.stations)->id;
        for (survey::Mark& m : s.marks)
            if (m.station == station)
                for (survey::MarkPoint& p : m.points) p.px.x() = 3000 - p.px.x();
    }

    std::mt19937 random_;
    std::vector<double> values_ = badValues();
};

}  // namespace trammel::test
