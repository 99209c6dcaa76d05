// SPDX-License-Identifier: GPL-3.0-or-later
// Header, tables and objects that R13 and later require, after the published DXF reference.
#include <algorithm>

#include "core/handover/DxfDocument.h"

namespace trammel::handover {
namespace {

/// Opens a table and returns its handle.
std::string openTable(DxfDocument& out, const char* name, std::size_t entries) {
    out.tags.text(0, "TABLE");
    out.tags.text(2, name);
    std::string handle;
    if (out.modern()) {
        handle = out.handle();
        out.tags.text(5, handle);
        out.tags.text(330, "0");
        out.tags.text(100, "AcDbSymbolTable");
    }
    out.tags.integer(70, static_cast<long>(entries));
    return handle;
}

/// Opens a table's entry and returns its handle.
std::string openEntry(DxfDocument& out, const char* type, const std::string& table, const char* marker,
                      const std::string& name, int flags = 0) {
    out.tags.text(0, type);
    std::string handle;
    if (out.modern()) {
        handle = out.handle();
        out.tags.text(std::string_view(type) == "DIMSTYLE" ? 105 : 5, handle);
        out.tags.text(330, table);
        out.tags.text(100, "AcDbSymbolTableRecord");
        out.tags.text(100, marker);
    }
    out.tags.text(2, name);
    if (flags >= 0) out.tags.integer(70, flags);
    return handle;
}

void closeTable(DxfDocument& out) { out.tags.text(0, "ENDTAB"); }

void viewports(DxfDocument& out, const drawing::Drawing& d) {
    const std::string table = openTable(out, "VPORT", 1);
    openEntry(out, "VPORT", table, "AcDbViewportTableRecord", "*ACTIVE");
    const Vec2 middle = 0.5 * (d.extents.low + d.extents.high), size = d.extents.high - d.extents.low;
    out.tags.flat(10, Vec2(0, 0));
    out.tags.flat(11, Vec2(1, 1));
    out.tags.flat(12, middle);
    out.tags.flat(13, Vec2(0, 0));
    out.tags.flat(14, Vec2(10, 10));
    out.tags.flat(15, Vec2(10, 10));
    out.tags.point(16, Vec2(0, 0));
    out.tags.number(36, 1.0);
    out.tags.point(17, Vec2(0, 0));
    out.tags.number(40, 1.1 * std::max(1.0, std::max(size.y(), size.x() / 1.5)));
    out.tags.number(41, 1.5);
    out.tags.number(42, 50.0);
    closeTable(out);
}

void linetypes(DxfDocument& out) {
    const std::string table = openTable(out, "LTYPE", out.modern() ? 3 : 1);
    for (const char* name : {"ByBlock", "ByLayer", "CONTINUOUS"}) {
        if (!out.modern() && std::string_view(name) != "CONTINUOUS") continue;
        openEntry(out, "LTYPE", table, "AcDbLinetypeTableRecord", name);
        out.tags.text(3, std::string_view(name) == "CONTINUOUS" ? "Solid line" : "");
        out.tags.integer(72, 65);
        out.tags.integer(73, 0);
        out.tags.number(40, 0.0);
    }
    closeTable(out);
}

void layerTable(DxfDocument& out, const LayerNames& layers) {
    const std::string table = openTable(out, "LAYER", layers.all().size() + 1);
    std::vector<Layer> all{{"0", 7}};
    all.insert(all.end(), layers.all().begin(), layers.all().end());
    for (const Layer& l : all) {
        openEntry(out, "LAYER", table, "AcDbLayerTableRecord", l.name);
        out.tags.integer(62, l.colour);
        out.tags.text(6, "CONTINUOUS");
    }
    closeTable(out);
}

std::string textStyle(DxfDocument& out) {
    const std::string table = openTable(out, "STYLE", 1);
    const std::string handle = openEntry(out, "STYLE", table, "AcDbTextStyleTableRecord", "STANDARD");
    out.tags.number(40, 0.0);
    out.tags.number(41, 1.0);
    out.tags.number(50, 0.0);
    out.tags.integer(71, 0);
    out.tags.number(42, 2.5);
    out.tags.text(3, "txt");
    out.tags.text(4, "");
    closeTable(out);
    return handle;
}

void dimensionStyle(DxfDocument& out, double height, const std::string& style) {
    const std::string table = openTable(out, "DIMSTYLE", 1);
    if (out.modern()) {
        out.tags.text(100, "AcDbDimStyleTable");
        out.tags.integer(71, 0);
    }
    openEntry(out, "DIMSTYLE", table, "AcDbDimStyleTableRecord", "STANDARD");
    out.tags.number(40, 1.0);           // overall scale
    out.tags.number(41, height);        // arrow
    out.tags.number(42, 0.4 * height);  // gap at the part
    out.tags.number(44, 0.5 * height);  // extension beyond the dimension line
    out.tags.integer(73, 0);            // text along the line
    out.tags.integer(74, 0);
    out.tags.integer(77, 1);  // text above the line
    out.tags.number(140, height);
    out.tags.number(147, 0.4 * height);
    if (out.modern()) {
        out.tags.integer(271, 3);
        out.tags.integer(277, 2);
        out.tags.integer(278, '.');
        out.tags.text(340, style);
    }
    closeTable(out);
}

void blockRecords(DxfDocument& out) {
    const std::string table = openTable(out, "BLOCK_RECORD", 2 + out.blockNames.size());
    out.modelSpace = openEntry(out, "BLOCK_RECORD", table, "AcDbBlockTableRecord", "*Model_Space", -1);
    out.paperSpace = openEntry(out, "BLOCK_RECORD", table, "AcDbBlockTableRecord", "*Paper_Space", -1);
    for (const std::string& name : out.blockNames)
        out.blockRecords.push_back(openEntry(out, "BLOCK_RECORD", table, "AcDbBlockTableRecord", name, -1));
    closeTable(out);
}

}  // namespace

void writeHeader(DxfDocument& out, const drawing::Drawing& d, const std::string& handleSeed) {
    const auto variable = [&](const char* name) { out.tags.text(9, name); };
    out.tags.text(0, "SECTION");
    out.tags.text(2, "HEADER");
    variable("$ACADVER");
    out.tags.text(1, out.modern() ? "AC1015" : "AC1009");
    if (out.modern()) {
        variable("$DWGCODEPAGE");
        out.tags.text(3, "ANSI_1252");
        variable("$HANDSEED");
        out.tags.text(5, handleSeed);
    }
    variable("$EXTMIN");
    out.tags.point(10, d.extents.low);
    variable("$EXTMAX");
    out.tags.point(10, d.extents.high);
    variable("$LIMMIN");
    out.tags.flat(10, d.extents.low);
    variable("$LIMMAX");
    out.tags.flat(10, d.extents.high);
    variable("$LUNITS");
    out.tags.integer(70, 2);
    variable("$LUPREC");
    out.tags.integer(70, 4);
    variable("$INSUNITS");  // younger than R12, yet read by most of its readers
    out.tags.integer(70, 4);
    variable("$MEASUREMENT");
    out.tags.integer(70, 1);
    out.tags.text(0, "ENDSEC");
    if (!out.modern()) return;
    out.tags.text(0, "SECTION");
    out.tags.text(2, "CLASSES");
    out.tags.text(0, "ENDSEC");
}

void writeTables(DxfDocument& out, const drawing::Drawing& d, const LayerNames& layers) {
    out.tags.text(0, "SECTION");
    out.tags.text(2, "TABLES");
    viewports(out, d);
    linetypes(out);
    layerTable(out, layers);
    const std::string style = textStyle(out);
    for (const char* empty : {"VIEW", "UCS"}) {
        openTable(out, empty, 0);
        closeTable(out);
    }
    const std::string apps = openTable(out, "APPID", 1);
    openEntry(out, "APPID", apps, "AcDbRegAppTableRecord", "ACAD");
    closeTable(out);
    dimensionStyle(out, d.textHeight, style);
    if (out.modern()) blockRecords(out);
    out.tags.text(0, "ENDSEC");
}

void writeObjects(DxfDocument& out) {
    const std::string root = out.handle(), groups = out.handle();
    out.tags.text(0, "SECTION");
    out.tags.text(2, "OBJECTS");
    out.tags.text(0, "DICTIONARY");
    out.tags.text(5, root);
    out.tags.text(330, "0");
    out.tags.text(100, "AcDbDictionary");
    out.tags.integer(281, 1);
    out.tags.text(3, "ACAD_GROUP");
    out.tags.text(350, groups);
    out.tags.text(0, "DICTIONARY");
    out.tags.text(5, groups);
    out.tags.text(330, root);
    out.tags.text(100, "AcDbDictionary");
    out.tags.integer(281, 1);
    out.tags.text(0, "ENDSEC");
}

}  // namespace trammel::handover
