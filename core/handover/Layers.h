// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <map>
#include <string>
#include <vector>

#include "core/drawing/Drawing.h"

namespace trammel::handover {

inline constexpr const char* kDimensionLayer = "DIMENSIONS";
inline constexpr const char* kCentreLayer = "CENTRE_MARKS";
inline constexpr const char* kNoteLayer = "NOTES";

struct Layer {
    std::string name;
    int colour = 7;  ///< DXF colour number 1..255
};

/// Layer names of a drawing: one per level and purpose, e.g. CUT_OUTLINE_UP_12_50, CUT_HOLE_DOWN_14_00,
/// CUT_OPENING_LEVEL_0, KEEP_OUT_UP_38_00, SEEN_RIM_DOWN_1_60. Heights in mm to two decimals; levels that
/// would share a name get a letter more. Only A-Z, 0-9 and _, at most 31 letters, so that they are legal in
/// every DXF version. Everything to be cut begins with CUT_, and nothing else does.
class LayerNames {
  public:
    explicit LayerNames(const drawing::Drawing& drawing);
    std::string of(const drawing::DrawnChain& chain) const;
    std::string of(const drawing::DrawnHole& hole) const;
    /// All layers that the drawing uses, each once.
    const std::vector<Layer>& all() const { return layers_; }

  private:
    std::string heightWord(const survey::Id& level) const;
    std::map<survey::Id, std::string> words_;
    std::vector<Layer> layers_;
};

}  // namespace trammel::handover
