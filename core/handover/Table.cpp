// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/handover/Table.h"

#include <fmt/core.h>

#include "core/survey/Names.h"

namespace trammel::handover {
namespace {

std::string field(const std::string& s) {
    if (s.find_first_of(",\"\r\n") == std::string::npos) return s;
    std::string out = "\"";
    for (const char c : s) out += c == '"' ? std::string("\"\"") : std::string(1, c);
    return out + "\"";
}

}  // namespace

std::string dimensionsCsv(const drawing::Drawing& d) {
    std::string out =
        "id,name,quantity,objects,value,plus_minus_k2,unit,text,drawn,part,part_unit,revision\r\n";
    for (const auto& r : d.rows)
        out += fmt::format("{},{},{},{},{:.9g},{},{},{},{},{},{},{}\r\n", field(r.id), field(r.name),
                           quantityName(r.quantity), field(r.objects), r.value,
                           r.plusMinus > 0 ? fmt::format("{:.3g}", r.plusMinus) : std::string(), r.unit,
                           field(r.text), r.drawn ? "yes" : "no", field(d.title), field(d.unit),
                           field(d.revision));
    return out;
}

}  // namespace trammel::handover
