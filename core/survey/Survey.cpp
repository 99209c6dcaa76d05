// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/survey/Survey.h"

#include "core/survey/Names.h"

namespace trammel::survey {
namespace {

std::string label(const std::string& kind, const std::string& name, const Id& id) {
    return kind + " " + (name.empty() ? id : name);
}

}  // namespace

std::string describe(const Survey& s, const Id& id) {
    if (const auto* f = find(s.features, id)) return label(std::string(kindName(f->kind)), f->name, id);
    if (const auto* st = find(s.stations, id)) return label("photograph", st->name, id);
    if (const auto* l = find(s.levels, id)) return label("level", l->name, id);
    if (const auto* g = find(s.groups, id)) return label("camera", g->name, id);
    if (const auto* o = find(s.outlines, id)) return label("outline", o->name, id);
    if (const auto* d = find(s.dimensions, id)) return label("dimension", d->name, id);
    if (const auto* c = find(s.conditions, id))
        return label("condition \"" + std::string(conditionName(c->kind)) + "\"", c->name, id);
    if (const auto* r = find(s.readings, id))
        return label(r->reference ? "reference" : "reading", r->name, id);
    if (const auto* m = find(s.marks, id)) {
        // A damaged mark may name itself, or a mark that names it.
        const auto named = [&](const Id& of) { return find(s.marks, of) ? of : describe(s, of); };
        return "mark of " + named(m->feature) + " in " + named(m->station);
    }
    return id;
}

}  // namespace trammel::survey
