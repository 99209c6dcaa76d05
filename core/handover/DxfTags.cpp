// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/handover/DxfTags.h"

#include <fmt/format.h>

#include <cmath>
#include <iterator>

namespace trammel::handover {
namespace {

/// Next code point of UTF-8; a wrong byte yields U+FFFD.
char32_t next(std::string_view s, std::size_t& i) {
    const auto byte = [&](std::size_t k) { return static_cast<unsigned char>(s[k]); };
    const unsigned lead = byte(i++);
    if (lead < 0x80) return lead;
    const int more = lead >= 0xF0 ? 3 : lead >= 0xE0 ? 2 : lead >= 0xC0 ? 1 : -1;
    if (more < 0) return 0xFFFD;
    char32_t c = lead & (0x3FU >> more);
    for (int k = 0; k < more; ++k) {
        if (i >= s.size() || (byte(i) & 0xC0) != 0x80) return 0xFFFD;
        c = (c << 6) | (byte(i++) & 0x3F);
    }
    return c;
}

}  // namespace

void DxfTags::text(int code, std::string_view value) {
    fmt::format_to(std::back_inserter(out_), "{:>3}\n{}\n", code, value);
}

void DxfTags::integer(int code, long value) {
    fmt::format_to(std::back_inserter(out_), "{:>3}\n{}\n", code, value);
}

void DxfTags::decimal(int code, double value, int decimals) {
    broken_ = broken_ || !std::isfinite(value);
    std::string s = fmt::format("{:.{}f}", value, decimals);
    s.erase(s.find_last_not_of('0') + 1);
    if (s.back() == '.') s += '0';
    text(code, s == "-0.0" ? "0.0" : s);
}

void DxfTags::number(int code, double value) { decimal(code, value, 9); }
void DxfTags::fine(int code, double value) { decimal(code, value, 15); }

void DxfTags::flat(int code, const Vec2& p) {
    number(code, p.x());
    number(code + 10, p.y());
}

void DxfTags::point(int code, const Vec2& p) {
    flat(code, p);
    number(code + 20, 0.0);
}

std::string dxfString(std::string_view utf8) {
    std::string out;
    for (std::size_t i = 0; i < utf8.size();) {
        const char32_t c = next(utf8, i);
        if (c == U'⌀' || c == U'Ø')
            out += "%%c";
        else if (c == U'±')
            out += "%%p";
        else if (c == U'°')
            out += "%%d";
        else if (c == U'%' && i < utf8.size() && utf8[i] == '%')
            out += "% ";  // two in a row would begin a code
        else if (c == U'^')
            out += "^ ";  // a bare caret begins a control letter
        else if (c < 0x20 || c == 0x7F)
            out += ' ';
        else if (c < 0x7F)
            out += static_cast<char>(c);
        else if (c <= 0xFFFF)
            out += fmt::format("\\U+{:04X}", static_cast<unsigned>(c));
        else
            out += '?';
    }
    return out;
}

}  // namespace trammel::handover
