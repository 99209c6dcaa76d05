// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/sheet/WriteSheet.h"

#include <cairo-pdf.h>
#include <cairo-svg.h>

#include <cmath>

#include "core/sheet/Cairo.h"

namespace trammel::sheet {
namespace {

constexpr double kPointsPerMm = 72.0 / 25.4;

cairo_status_t append(void* closure, const unsigned char* data, unsigned int length) {
    static_cast<std::string*>(closure)->append(reinterpret_cast<const char*>(data), length);
    return CAIRO_STATUS_SUCCESS;
}

bool finite(const Vec2& v) { return std::isfinite(v.x()) && std::isfinite(v.y()); }
bool finite(const std::vector<Vec2>& points) {
    for (const Vec2& p : points)
        if (!finite(p)) return false;
    return true;
}
bool finite(const Polyline& p) { return finite(p.points) && std::isfinite(p.pen.width_mm); }
bool finite(const Area& a) { return finite(a.points); }
bool finite(const Arc& a) { return finite(a.centre) && std::isfinite(a.radius_mm + a.from + a.sweep); }
bool finite(const Text& t) { return finite(t.at) && std::isfinite(t.height_mm + t.angle); }

Result<void> check(const Sheet& page) {
    const bool paper = std::isfinite(page.paper.width_mm + page.paper.height_mm) &&
                       page.paper.width_mm > 0.0 && page.paper.height_mm > 0.0;
    if (!paper) return Error{ErrorCode::BadValue, "has no size", "page", "choose a format of paper"};
    for (const Item& item : page.items)
        if (!std::visit([](const auto& i) { return finite(i); }, item))
            return Error{ErrorCode::BadValue, "holds a place that is no number", "page",
                         "check the figures that it is drawn from"};
    return {};
}

/// Draws in mm with y up: the context's matrix turns the paper over, text is turned back.
class Hand {
  public:
    explicit Hand(cairo_t* cairo) : cairo_(cairo) {}

    void operator()(const Polyline& line) const {
        trace(line.points, line.closed);
        stroke(line.pen);
    }
    void operator()(const Area& area) const {
        trace(area.points, true);
        colour(area.colour);
        cairo_fill(cairo_);
    }
    void operator()(const Arc& arc) const {
        cairo_new_path(cairo_);
        const auto way = arc.sweep < 0.0 ? cairo_arc_negative : cairo_arc;
        way(cairo_, arc.centre.x(), arc.centre.y(), arc.radius_mm, arc.from, arc.from + arc.sweep);
        stroke(arc.pen);
    }
    void operator()(const Text& text) const {
        const double width = widthOf(text);
        const double back = text.anchor == Anchor::Left    ? 0.0
                            : text.anchor == Anchor::Right ? width
                                                           : width / 2;
        cairo_save(cairo_);
        cairo_translate(cairo_, text.at.x(), text.at.y());
        cairo_rotate(cairo_, text.angle);
        cairo_scale(cairo_, 1.0, -1.0);
        cairo_move_to(cairo_, -back, 0.0);
        setFont(cairo_, text.height_mm, text.bold);
        colour(text.colour);
        cairo_show_text(cairo_, text.words.c_str());
        cairo_restore(cairo_);
    }

  private:
    void colour(const Colour& c) const { cairo_set_source_rgb(cairo_, c[0], c[1], c[2]); }
    void trace(const std::vector<Vec2>& points, bool closed) const {
        cairo_new_path(cairo_);
        for (const Vec2& p : points) cairo_line_to(cairo_, p.x(), p.y());
        if (closed) cairo_close_path(cairo_);
    }
    void stroke(const Pen& pen) const {
        colour(pen.colour);
        cairo_set_line_width(cairo_, pen.width_mm);
        cairo_set_dash(cairo_, pen.dashes_mm.data(), static_cast<int>(pen.dashes_mm.size()), 0.0);
        cairo_stroke(cairo_);
    }
    cairo_t* cairo_;
};

void draw(cairo_t* cairo, const Sheet& page, double unitsPerMm) {
    cairo_save(cairo);
    cairo_translate(cairo, 0.0, page.paper.height_mm * unitsPerMm);
    cairo_scale(cairo, unitsPerMm, -unitsPerMm);
    cairo_set_line_cap(cairo, CAIRO_LINE_CAP_BUTT);
    cairo_set_line_join(cairo, CAIRO_LINE_JOIN_MITER);
    const Hand hand(cairo);
    for (const Item& item : page.items) std::visit(hand, item);
    cairo_restore(cairo);
    cairo_show_page(cairo);
}

Result<std::string> finished(cairo_t* cairo, cairo_surface_t* surface, std::string bytes) {
    const cairo_status_t status =
        cairo_status(cairo) != CAIRO_STATUS_SUCCESS ? cairo_status(cairo) : cairo_surface_status(surface);
    if (status == CAIRO_STATUS_SUCCESS) return bytes;
    return Error{ErrorCode::BadValue, std::string("cannot be drawn (") + cairo_status_to_string(status) + ")",
                 "page", "check its text and sizes"};
}

}  // namespace

Result<std::string> pdf(const std::vector<Sheet>& pages, const std::string& title) {
    if (pages.empty()) return Error{ErrorCode::BadValue, "has no pages", "document", "draw at least one"};
    for (const Sheet& page : pages)
        if (auto sound = check(page); !sound) return sound.error();
    std::string bytes;
    const Surface surface(cairo_pdf_surface_create_for_stream(append, &bytes, 1.0, 1.0));
    cairo_pdf_surface_set_metadata(surface.get(), CAIRO_PDF_METADATA_TITLE, title.c_str());
    const Context cairo(cairo_create(surface.get()));
    for (const Sheet& page : pages) {
        cairo_pdf_surface_set_size(surface.get(), page.paper.width_mm * kPointsPerMm,
                                   page.paper.height_mm * kPointsPerMm);
        draw(cairo.get(), page, kPointsPerMm);
    }
    cairo_surface_finish(surface.get());
    return finished(cairo.get(), surface.get(), std::move(bytes));
}

Result<std::string> svg(const Sheet& page) {
    if (auto sound = check(page); !sound) return sound.error();
    std::string bytes;
    // cairo counts in points; with the unit set to mm it writes these as user units of one millimetre.
    const Surface surface(
        cairo_svg_surface_create_for_stream(append, &bytes, page.paper.width_mm, page.paper.height_mm));
    cairo_svg_surface_set_document_unit(surface.get(), CAIRO_SVG_UNIT_MM);
    const Context cairo(cairo_create(surface.get()));
    draw(cairo.get(), page, 1.0);
    cairo_surface_finish(surface.get());
    return finished(cairo.get(), surface.get(), std::move(bytes));
}

}  // namespace trammel::sheet
