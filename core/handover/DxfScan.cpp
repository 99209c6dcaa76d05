// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/handover/DxfScan.h"

#include <charconv>
#include <cmath>

namespace trammel::handover {
namespace {

std::string_view trimmed(std::string_view s) {
    const auto first = s.find_first_not_of(" \t\r");
    if (first == std::string_view::npos) return {};
    return s.substr(first, s.find_last_not_of(" \t\r") - first + 1);
}

void appendUtf8(std::string& out, unsigned c) {
    if (c < 0x80) {
        out += static_cast<char>(c);
    } else if (c < 0x800) {
        out += static_cast<char>(0xC0 | (c >> 6));
        out += static_cast<char>(0x80 | (c & 0x3F));
    } else {
        out += static_cast<char>(0xE0 | (c >> 12));
        out += static_cast<char>(0x80 | ((c >> 6) & 0x3F));
        out += static_cast<char>(0x80 | (c & 0x3F));
    }
}

bool isUtf8(std::string_view s) {
    int more = 0;
    for (const char ch : s) {
        const auto c = static_cast<unsigned char>(ch);
        if (more > 0) {
            if ((c & 0xC0) != 0x80) return false;
            --more;
        } else if (c >= 0x80) {
            more = c >= 0xF0 ? 3 : c >= 0xE0 ? 2 : c >= 0xC0 ? 1 : -1;
            if (more < 0) return false;
        }
    }
    return more == 0;
}

std::optional<unsigned> hex4(std::string_view s) {
    unsigned v = 0;
    const auto [end, problem] = std::from_chars(s.data(), s.data() + s.size(), v, 16);
    if (problem != std::errc() || end != s.data() + 4 || s.size() != 4) return std::nullopt;
    return v;
}

}  // namespace

bool DxfRecord::has(int code) const {
    for (const auto& t : tags)
        if (t.first == code) return true;
    return false;
}

std::string_view DxfRecord::text(int code) const {
    for (const auto& t : tags)
        if (t.first == code) return t.second;
    return {};
}

double DxfRecord::parse(std::string_view value) const {
    std::string_view s = trimmed(value);
    if (!s.empty() && s[0] == '+') s.remove_prefix(1);
    double v = 0.0;
    const auto [end, problem] = std::from_chars(s.data(), s.data() + s.size(), v);
    if (problem != std::errc() || end != s.data() + s.size() || !std::isfinite(v)) {
        if (!bad) badValue = value;
        bad = true;
        return 0.0;
    }
    return v;
}

double DxfRecord::number(int code, double otherwise) const {
    for (const auto& t : tags)
        if (t.first == code) return parse(t.second);
    return otherwise;
}

int DxfRecord::integer(int code) const {
    const double v = number(code);
    return std::abs(v) < 1e9 ? static_cast<int>(v) : 0;
}

std::string DxfRecord::layer() const {
    const std::string_view name = trimmed(text(8));
    return name.empty() ? "0" : std::string(name);
}

DxfScan::DxfScan(std::string_view text) : text_(text) {
    if (text_.substr(0, 3) == "\xEF\xBB\xBF") text_.remove_prefix(3);
}

std::optional<std::string_view> DxfScan::nextLine() {
    if (at_ >= text_.size()) return std::nullopt;
    const auto end = text_.find('\n', at_);
    std::string_view s = text_.substr(at_, end == std::string_view::npos ? end : end - at_);
    at_ = end == std::string_view::npos ? text_.size() : end + 1;
    ++line_;
    if (!s.empty() && s.back() == '\r') s.remove_suffix(1);
    return s;
}

std::optional<std::pair<int, std::string_view>> DxfScan::tag() {
    while (true) {
        const auto first = nextLine();
        if (!first) return std::nullopt;
        const std::string_view digits = trimmed(*first);
        if (digits.empty() && at_ >= text_.size()) return std::nullopt;  // blank line at the end
        int code = 0;
        const auto [end, problem] = std::from_chars(digits.data(), digits.data() + digits.size(), code);
        if (problem != std::errc() || end != digits.data() + digits.size()) {
            complaint_ = "has \"" + std::string(digits.substr(0, 40)) +
                         "\" where a group code belongs, in line " + std::to_string(line_);
            return std::nullopt;
        }
        const auto value = nextLine();
        if (!value) return std::nullopt;
        if (code == 999) continue;  // comment
        return std::pair{code, *value};
    }
}

std::optional<DxfRecord> DxfScan::record() {
    if (failed()) return std::nullopt;
    startAt_ = at_, startLine_ = line_, startPending_ = pending_, startPendingLine_ = pendingLine_;
    const bool held = pending_.has_value();
    auto head = pending_ ? std::exchange(pending_, std::nullopt) : tag();
    if (!head || head->first != 0) return std::nullopt;
    DxfRecord r;
    r.type = trimmed(head->second);
    r.line = held ? pendingLine_ : line_ - 1;
    while (auto next = tag()) {
        if (next->first == 0) {
            pending_ = next;
            pendingLine_ = line_ - 1;
            break;
        }
        r.tags.push_back(*next);
    }
    if (failed()) return std::nullopt;
    return r;
}

void DxfScan::putBack() {
    at_ = startAt_;
    line_ = startLine_;
    pending_ = startPending_;
    pendingLine_ = startPendingLine_;
}

void DxfScan::check(const DxfRecord& r) {
    if (!r.bad || failed()) return;
    complaint_ = "has \"" + std::string(r.badValue.substr(0, 40)) + "\" where a number belongs, in the " +
                 std::string(r.type) + " of line " + std::to_string(r.line);
}

std::string decodeDxf(std::string_view s) {
    std::string out;
    const bool utf8 = isUtf8(s);
    for (std::size_t i = 0; i < s.size(); ++i) {
        const auto c = static_cast<unsigned char>(s[i]);
        if (c == '%' && i + 2 < s.size() && s[i + 1] == '%') {
            const char code = s[i + 2];
            const char* word = code == 'c' || code == 'C'   ? "⌀"
                               : code == 'p' || code == 'P' ? "±"
                               : code == 'd' || code == 'D' ? "°"
                                                            : nullptr;
            if (word) {
                out += word;
                i += 2;
                continue;
            }
        }
        if (c == '\\' && s.substr(i, 3) == "\\U+")
            if (const auto v = hex4(s.substr(i + 3, 4))) {
                appendUtf8(out, *v);
                i += 6;
                continue;
            }
        if (c == '^' && i + 1 < s.size()) {
            if (s[i + 1] == ' ') out += '^';
            ++i;
            continue;
        }
        if (c < 0x80 || utf8)
            out += s[i];
        else
            appendUtf8(out, c);
    }
    return out;
}

}  // namespace trammel::handover
