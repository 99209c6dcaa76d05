// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/handover/DxfWriter.h"

#include <fmt/core.h>

#include <cmath>
#include <numbers>

#include "core/handover/DxfDocument.h"

namespace trammel::handover {
namespace {

void writeChain(DxfDocument& out, const geometry::Chain& chain, const std::string& layer) {
    if (out.modern()) {
        out.entity("LWPOLYLINE", out.modelSpace, layer, "AcDbPolyline");
        out.tags.integer(90, static_cast<long>(chain.vertices.size()));
        out.tags.integer(70, 1);
        out.tags.number(43, 0.0);
        for (const auto& v : chain.vertices) {
            out.tags.flat(10, v.point);
            if (v.bulge != 0) out.tags.fine(42, v.bulge);
        }
        return;
    }
    out.entity("POLYLINE", "", layer, "");
    out.tags.integer(66, 1);
    out.tags.point(10, Vec2::Zero());
    out.tags.integer(70, 1);
    for (const auto& v : chain.vertices) {
        out.entity("VERTEX", "", layer, "");
        out.tags.point(10, v.point);
        if (v.bulge != 0) out.tags.fine(42, v.bulge);
    }
    out.entity("SEQEND", "", layer, "");
}

void writeCircle(DxfDocument& out, const geometry::Circle& c, const std::string& layer) {
    out.entity("CIRCLE", out.modelSpace, layer, "AcDbCircle");
    out.tags.point(10, c.centre);
    out.tags.number(40, c.radius);
}

void writeEntities(DxfDocument& out, const drawing::Drawing& d, const LayerNames& layers) {
    out.tags.text(0, "SECTION");
    out.tags.text(2, "ENTITIES");
    for (const auto& c : d.chains) writeChain(out, c.chain, layers.of(c));
    for (const auto& h : d.holes) writeCircle(out, h.circle, layers.of(h));
    for (const auto& m : d.centreMarks)
        for (const Vec2& arm : {Vec2(m.reach, 0), Vec2(0, m.reach)})
            writeLine(out, out.modelSpace, kCentreLayer, m.centre - arm, m.centre + arm);
    for (std::size_t i = 0; i < d.figures.size(); ++i) writeFigure(out, d.figures[i], i);
    for (const auto& t : d.text)
        writeText(out, out.modelSpace, kNoteLayer, t.at, d.textHeight, 0.0, t.text, false);
    out.tags.text(0, "ENDSEC");
}

void writeBlock(DxfDocument& out, const std::string& name, const std::string& record, bool anonymous,
                const drawing::Drawing* d, std::size_t index) {
    out.entity("BLOCK", record, "0", "AcDbBlockBegin");
    out.tags.text(2, name);
    out.tags.integer(70, anonymous ? 1 : 0);
    out.tags.point(10, Vec2::Zero());
    out.tags.text(3, name);
    if (out.modern()) out.tags.text(1, "");
    if (d) writeFigureBlock(out, d->figures[index], d->textHeight, index);
    out.entity("ENDBLK", record, "0", "AcDbBlockEnd");
}

void writeBlocks(DxfDocument& out, const drawing::Drawing& d) {
    out.tags.text(0, "SECTION");
    out.tags.text(2, "BLOCKS");
    if (out.modern()) {
        writeBlock(out, "*Model_Space", out.modelSpace, false, nullptr, 0);
        writeBlock(out, "*Paper_Space", out.paperSpace, false, nullptr, 0);
    }
    for (std::size_t i = 0; i < d.figures.size(); ++i)
        writeBlock(out, out.blockNames[i], out.modern() ? out.blockRecords[i] : "", true, &d, i);
    out.tags.text(0, "ENDSEC");
}

}  // namespace

std::string DxfDocument::handle() { return fmt::format("{:X}", nextHandle++); }

void DxfDocument::entity(const char* type, const std::string& owner, const std::string& layer,
                         const char* marker) {
    tags.text(0, type);
    if (modern()) {
        tags.text(5, handle());
        tags.text(330, owner);
        tags.text(100, "AcDbEntity");
    }
    tags.text(8, layer);
    this->marker(marker);
}

void writeLine(DxfDocument& out, const std::string& owner, const std::string& layer, const Vec2& a,
               const Vec2& b) {
    out.entity("LINE", owner, layer, "AcDbLine");
    out.tags.point(10, a);
    out.tags.point(11, b);
}

void writeText(DxfDocument& out, const std::string& owner, const std::string& layer, const Vec2& at,
               double height, double angle, const std::string& utf8, bool centred) {
    out.entity("TEXT", owner, layer, "AcDbText");
    // With an alignment the first point is only a hint: where the text would begin.
    const Vec2 along(std::cos(angle), std::sin(angle));
    out.tags.point(10, centred ? Vec2(at - 0.5 * drawing::textWidth(utf8, height) * along) : at);
    out.tags.number(40, height);
    out.tags.text(1, dxfString(utf8));
    if (angle != 0) out.tags.number(50, angle * 180 / std::numbers::pi);
    out.tags.text(7, "STANDARD");
    if (centred) {
        out.tags.integer(72, 1);
        out.tags.point(11, at);
    }
    out.marker("AcDbText");
    if (centred) out.tags.integer(73, 2);
}

Result<std::string> dxfText(const drawing::Drawing& d, DxfVersion version) {
    const LayerNames layers(d);
    DxfDocument body;
    body.version = version;
    for (std::size_t i = 0; i < d.figures.size(); ++i) body.blockNames.push_back(fmt::format("*D{}", i + 1));
    writeTables(body, d, layers);
    writeBlocks(body, d);
    writeEntities(body, d, layers);
    if (body.modern()) writeObjects(body);
    body.tags.text(0, "EOF");
    DxfDocument head;  // after the body, because it names the first handle that is still free
    head.version = version;
    writeHeader(head, d, body.handle());
    if (head.tags.broken() || body.tags.broken())
        return Error{ErrorCode::BadValue, "holds a coordinate that is not a number", "drawing " + d.title,
                     "adjust the survey again and look at its suspects"};
    return head.tags.str() + body.tags.str();
}

}  // namespace trammel::handover
