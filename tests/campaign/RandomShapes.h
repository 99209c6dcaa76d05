// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "Shapes.h"
#include "core/base/Error.h"

namespace trammel::campaign {

/// What makes a sound survey hard to start; each also stands alone in the table of `campaign convergence`.
enum class Hard {
    Plain,        ///< cameras square to about their prior, obliques of any direction
    Tilted,       ///< principal views up to 20° off square, prior wide or off
    ThreeMarks,   ///< one photograph shows only three marked points
    TopObliques,  ///< a long lens: one photograph from the top and obliques, no height known
};
inline constexpr Hard kAllHard[] = {Hard::Plain, Hard::Tilted, Hard::ThreeMarks, Hard::TopObliques};
const char* hardName(Hard hard);

/// A random part seen by random cameras, whose marks and readings hold everything (checked at the truth, see
/// `sound`; a draw that is not sound is replaced by the next).
Drawn randomSound(Hard hard, std::uint64_t seed);

/// A random sound survey with one thing taken away that it cannot do without.
struct Unsound {
    Drawn drawn;
    std::string missing;           ///< what was taken away, for the table
    std::vector<ErrorCode> codes;  ///< any of these is right
    std::string named;             ///< must occur in the sentence
};
inline constexpr int kUnsoundKinds = 7;
/// Kinds 0 … kUnsoundKinds − 1.
Unsound randomUnsound(int kind, std::uint64_t seed);

}  // namespace trammel::campaign
