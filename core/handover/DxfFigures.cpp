// SPDX-License-Identifier: GPL-3.0-or-later
// Dimensions: the DIMENSION entity and the anonymous block with its picture, which readers that do not
// regenerate dimensions show.
#include <cmath>
#include <numbers>

#include "core/handover/DxfDocument.h"

namespace trammel::handover {
namespace {

using drawing::Figure;
using drawing::FigureKind;

double degrees(double rad) { return rad * 180 / std::numbers::pi; }

/// Slim arrow head, its tip at `tip`, pointing along `u`.
void arrow(DxfDocument& out, const std::string& owner, const Vec2& tip, const Vec2& u, double size) {
    const Vec2 back = tip - size * u, side = size / 6 * Vec2(-u.y(), u.x());
    out.entity("SOLID", owner, kDimensionLayer, "AcDbTrace");
    out.tags.point(10, tip);
    out.tags.point(11, back + side);
    out.tags.point(12, back - side);
    out.tags.point(13, back - side);
}

/// Extension line from the part towards the dimension line, with a gap at the one and a bit past the other.
void extension(DxfDocument& out, const std::string& owner, const Vec2& from, const Vec2& to, double h) {
    const Vec2 d = to - from;
    const double length = d.norm();
    if (length < h) return;
    writeLine(out, owner, kDimensionLayer, from + 0.4 * h / length * d, to + 0.5 * h / length * d);
}

void linear(DxfDocument& out, const std::string& owner, const Figure& f, double h) {
    const Vec2 u(std::cos(f.angle), std::sin(f.angle)), n(-u.y(), u.x());
    const Vec2 a = f.first + (f.linePoint - f.first).dot(n) * n, b = f.linePoint;
    extension(out, owner, f.first, a, h);
    extension(out, owner, f.second, b, h);
    const double run = (b - a).dot(u), sign = run < 0 ? -1.0 : 1.0;
    const bool inside = std::abs(run) > 3 * h;  // else the arrows point inwards from outside
    const Vec2 tail = inside ? Vec2::Zero() : Vec2(sign * 2 * h * u);
    writeLine(out, owner, kDimensionLayer, a - tail, b + tail);
    arrow(out, owner, a, inside ? Vec2(-sign * u) : Vec2(sign * u), h);
    arrow(out, owner, b, inside ? Vec2(sign * u) : Vec2(-sign * u), h);
}

void round(DxfDocument& out, const std::string& owner, const Figure& f, double h) {
    const Vec2 u(std::cos(f.angle), std::sin(f.angle));
    writeLine(out, owner, kDimensionLayer, f.second, f.linePoint);
    const Vec2 shelf(f.textMiddle.x() >= f.linePoint.x() ? 0.5 * h : -0.5 * h, 0);
    writeLine(out, owner, kDimensionLayer, f.linePoint, f.linePoint + shelf);
    arrow(out, owner, f.second, -u, h);
}

}  // namespace

void writeFigureBlock(DxfDocument& out, const Figure& f, double h, std::size_t index) {
    const std::string owner = out.modern() ? out.blockRecords[index] : "";
    if (f.kind == FigureKind::Linear)
        linear(out, owner, f, h);
    else
        round(out, owner, f, h);
    writeText(out, owner, kDimensionLayer, f.textMiddle, h, f.textAngle, f.text, true);
}

void writeFigure(DxfDocument& out, const Figure& f, std::size_t index) {
    const bool isLinear = f.kind == FigureKind::Linear;
    out.entity("DIMENSION", out.modelSpace, kDimensionLayer, "AcDbDimension");
    out.tags.text(2, out.blockNames[index]);
    out.tags.point(10, isLinear ? f.linePoint : f.first);
    out.tags.point(11, f.textMiddle);
    // 32: its block is its own; 128: the text stands where we put it.
    const int type = isLinear ? 0 : f.kind == FigureKind::Diameter ? 3 : 4;
    out.tags.integer(70, type + 128 + (out.modern() ? 32 : 0));
    if (out.modern()) {
        out.tags.integer(71, 5);
        out.tags.number(42, f.measured());
    }
    out.tags.text(1, dxfString(f.text));
    out.tags.text(3, "STANDARD");
    if (isLinear) {
        out.marker("AcDbAlignedDimension");
        out.tags.point(13, f.first);
        out.tags.point(14, f.second);
        out.tags.number(50, degrees(f.angle));
        out.marker("AcDbRotatedDimension");
        return;
    }
    out.marker(f.kind == FigureKind::Diameter ? "AcDbDiametricDimension" : "AcDbRadialDimension");
    out.tags.point(15, f.second);
    out.tags.number(40, (f.linePoint - f.second).norm());
}

}  // namespace trammel::handover
