// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <algorithm>
#include <memory>
#include <vector>

#include "core/math/Types.h"

namespace trammel::fit {

/// What of a picture a fit compares with its model.
enum class Channel { Luma, Red, Green, Blue };

/// How light becomes the code of brightness that the picture stores: luma Y' = 0.299 R' + 0.587 G' + 0.114 B'
/// of the sRGB codes (ITU-T T.871; IEC 61966-2-1), 0..1. Blur mixes the light of two surfaces, so across
/// their edge each channel follows its own curve; `light` is the mixture's luminance (Rec. 709 weights). A
/// single channel's code follows the curve of grey, its light is its own.
///
/// Fits compare codes, not light, for three reasons. The noise of a camera and the rounding by 8 bits and
/// JPEG are even in the codes. JPEG smooths the codes evenly to both sides, which in linear light moves an
/// edge towards its bright side. And luma is stored at full size and most finely, while linear luminance
/// mixes in the roundings of colour.
class Tone {
  public:
    Tone();  ///< grey or a single channel: the curve itself
    /// Two surfaces of these linear RGB values. Where their luma does not rise with their luminance all the
    /// way, the mixture's brightness does not tell its share: grey then.
    Tone(const Vec3& first, const Vec3& second);

    struct Value {
        double code = 0.0, slope = 0.0;  ///< slope: dcode/dlight
    };
    Value at(double light) const { return read(*table_, light); }
    double light(double code) const;
    /// False where two surfaces were given and the mixture's luma does not tell its share.
    bool tells() const { return tells_; }

    static double lumaOf(const Vec3& codes) {
        return 0.299 * codes.x() + 0.587 * codes.y() + 0.114 * codes.z();
    }
    static double luminanceOf(const Vec3& light) {
        return 0.2126 * light.x() + 0.7152 * light.y() + 0.0722 * light.z();
    }

  private:
    struct Table {
        double from = 0.0, spacing = 1.0, perSpacing = 1.0;
        std::vector<Value> nodes;
        void setSpacing(double s) {
            spacing = s;
            perSpacing = 1.0 / s;
        }
    };
    static std::shared_ptr<const Table> greyTable();
    /// Here, because a fit reads it for every pixel at every step.
    static Value read(const Table& table, double light) {
        const double f = (light - table.from) * table.perSpacing;
        const int last = static_cast<int>(table.nodes.size()) - 2;
        const int i = f > 0.0 ? std::min(static_cast<int>(std::min(f, 1e6)), last) : 0;
        const Value &a = table.nodes[static_cast<std::size_t>(i)],
                    &b = table.nodes[static_cast<std::size_t>(i) + 1];
        const double u = f - i, h = table.spacing;
        if (u < 0.0) return {a.code + u * h * a.slope, a.slope};
        if (u > 1.0) return {b.code + (u - 1.0) * h * b.slope, b.slope};
        const double rise = b.code - a.code;
        const double c = 3 * rise - h * (2 * a.slope + b.slope), d = h * (a.slope + b.slope) - 2 * rise;
        return {a.code + u * (h * a.slope + u * (c + u * d)),
                a.slope + u * (2 * c + 3 * u * d) * table.perSpacing};
    }
    std::shared_ptr<const Table> table_;
    bool tells_ = true;
};

}  // namespace trammel::fit
