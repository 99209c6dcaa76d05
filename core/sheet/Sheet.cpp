// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/sheet/Sheet.h"

#include <algorithm>
#include <sstream>
#include <utility>

#include "core/sheet/Cairo.h"

namespace trammel::sheet {
namespace {

/// Height of DejaVu Sans' capitals over its em (its OS/2 table: 1493 of 2048 units).
constexpr double kCapitalsPerEm = 1493.0 / 2048.0;

/// A context to measure text with: nothing is drawn on it.
cairo_t* measuring() {
    thread_local const Surface surface(cairo_recording_surface_create(CAIRO_CONTENT_ALPHA, nullptr));
    thread_local const Context context(cairo_create(surface.get()));
    return context.get();
}

char small(char c) { return static_cast<char>(c >= 'A' && c <= 'Z' ? c + 32 : c); }

}  // namespace

std::optional<Paper> paperNamed(std::string_view name) {
    for (const Paper& p : kPapers)
        if (std::ranges::equal(name, std::string_view(p.name), {}, small, small)) return p;
    return std::nullopt;
}

void setFont(cairo_t* cairo, double height_mm, bool bold) {
    cairo_select_font_face(cairo, "DejaVu Sans", CAIRO_FONT_SLANT_NORMAL,
                           bold ? CAIRO_FONT_WEIGHT_BOLD : CAIRO_FONT_WEIGHT_NORMAL);
    cairo_set_font_size(cairo, height_mm / kCapitalsPerEm);
    // Widths of the letters themselves, not rounded to some screen's pixels: paper has none.
    cairo_font_options_t* options = cairo_font_options_create();
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_set_font_options(cairo, options);
    cairo_font_options_destroy(options);
}

void Sheet::add(Item item) { items.push_back(std::move(item)); }

double widthOf(const Text& text) {
    setFont(measuring(), text.height_mm, text.bold);
    cairo_text_extents_t extents;
    cairo_text_extents(measuring(), text.words.c_str(), &extents);
    return extents.x_advance;
}

std::vector<std::string> brokenToWidth(const std::string& words, double height_mm, double width_mm) {
    std::vector<std::string> lines;
    std::istringstream in(words);
    for (std::string word, line; in >> word || !line.empty();) {
        const std::string longer = line.empty() ? word : line + " " + word;
        if (in && (line.empty() || widthOf({Vec2::Zero(), longer, height_mm}) <= width_mm)) {
            line = longer;
            continue;
        }
        lines.push_back(line);
        line = in ? word : "";
    }
    return lines;
}

}  // namespace trammel::sheet
