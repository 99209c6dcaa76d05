// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>
#include <vector>

#include "core/handover/DxfTags.h"
#include "core/handover/DxfWriter.h"
#include "core/handover/Layers.h"

/// The inside of the DXF writer; include DxfWriter.h instead.
namespace trammel::handover {

/// Where the parts of a document go while handles are given out. Handles and owners are left out for R12.
struct DxfDocument {
    DxfVersion version = DxfVersion::R2000;
    DxfTags tags;
    unsigned long nextHandle = 0x10;
    std::string modelSpace, paperSpace;     ///< handles of their block records
    std::vector<std::string> blockNames;    ///< of the dimensions' pictures, "*D1" ...
    std::vector<std::string> blockRecords;  ///< their handles

    bool modern() const { return version == DxfVersion::R2000; }
    std::string handle();
    /// Opens an entity: type, handle, owner, layer and its class marker ("AcDbLine").
    void entity(const char* type, const std::string& owner, const std::string& layer, const char* marker);
    void marker(const char* name) {
        if (modern()) tags.text(100, name);
    }
};

void writeHeader(DxfDocument& out, const drawing::Drawing& drawing, const std::string& handleSeed);
void writeTables(DxfDocument& out, const drawing::Drawing& drawing, const LayerNames& layers);
void writeObjects(DxfDocument& out);

/// The block that shows a dimension: extension lines, dimension line, arrow heads, text.
void writeFigureBlock(DxfDocument& out, const drawing::Figure& figure, double textHeight, std::size_t index);
void writeFigure(DxfDocument& out, const drawing::Figure& figure, std::size_t index);

void writeLine(DxfDocument& out, const std::string& owner, const std::string& layer, const Vec2& a,
               const Vec2& b);
/// Centred on `at` when centred, else `at` is its left end on the base line. Angle in rad.
void writeText(DxfDocument& out, const std::string& owner, const std::string& layer, const Vec2& at,
               double height, double angle, const std::string& utf8, bool centred);

}  // namespace trammel::handover
