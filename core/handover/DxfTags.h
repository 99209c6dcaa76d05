// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>
#include <string_view>

#include "core/math/Types.h"

namespace trammel::handover {

/// Writes the pairs of lines a DXF text file consists of: group code, value.
class DxfTags {
  public:
    void text(int code, std::string_view value);
    void integer(int code, long value);
    /// Always '.', nine decimals at most (1e-9 mm), trailing zeros dropped, never "-0.0".
    void number(int code, double value);
    /// Fifteen decimals: for bulges, whose error is magnified by the chord.
    void fine(int code, double value);
    /// code, code + 10, code + 20 with z = 0; or without z.
    void point(int code, const Vec2& p);
    void flat(int code, const Vec2& p);
    const std::string& str() const { return out_; }
    /// True once a value was not finite: the text must not be handed out.
    bool broken() const { return broken_; }

  private:
    void decimal(int code, double value, int decimals);
    std::string out_;
    bool broken_ = false;
};

/// UTF-8 to what TEXT may hold: %%c for ⌀, %%p for ±, %%d for °, \U+XXXX for other letters, no control codes.
std::string dxfString(std::string_view utf8);

}  // namespace trammel::handover
