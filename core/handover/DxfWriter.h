// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>

#include "core/base/Result.h"
#include "core/drawing/Drawing.h"

namespace trammel::handover {

enum class DxfVersion {
    R12,    ///< AC1009: POLYLINE and plain TEXT, for old machines
    R2000,  ///< AC1015: LWPOLYLINE, handles, all tables
};

/// The drawing as a DXF text file in millimetres ($INSUNITS 4, $MEASUREMENT 1), laid out after the published
/// DXF reference: outlines as closed polylines with bulges, holes as CIRCLE, one layer per level and purpose
/// (Layers.h), every dimension as a DIMENSION entity with the block that pictures it, notes as TEXT. All flat
/// (z = 0). Numbers do not follow the locale. Fails when a value is not finite.
Result<std::string> dxfText(const drawing::Drawing& drawing, DxfVersion version = DxfVersion::R2000);

}  // namespace trammel::handover
