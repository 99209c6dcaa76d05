// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <cairo.h>

#include <memory>

#include "core/sheet/Sheet.h"

/// Only for this folder: cairo's handles with an owner, and its font.
namespace trammel::sheet {

struct CairoFree {
    void operator()(cairo_t* c) const { cairo_destroy(c); }
    void operator()(cairo_surface_t* s) const { cairo_surface_destroy(s); }
};
using Context = std::unique_ptr<cairo_t, CairoFree>;
using Surface = std::unique_ptr<cairo_surface_t, CairoFree>;

/// Sets the font so that capital letters are `height_mm` of the context's units tall. The context's y axis
/// points down.
void setFont(cairo_t* cairo, double height_mm, bool bold);

}  // namespace trammel::sheet
