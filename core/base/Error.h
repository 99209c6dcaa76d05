// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>

namespace trammel {

/// What kind of thing went wrong. Batch commands exit 2 on every one of them.
enum class ErrorCode {
    FileMissing,    ///< no such file, or it cannot be opened
    FileDamaged,    ///< truncated, or not the format it claims
    FileNewer,      ///< written by a newer version of the program
    FileChanged,    ///< content differs from the hash the survey recorded
    WriteFailed,    ///< disk full, no permission; the old file is still whole
    BadValue,       ///< NaN, infinity, sigma not positive, zero length...
    NotConnected,   ///< a station or feature shares nothing with the rest
    RankDefect,     ///< the data leave something undetermined
    NoConvergence,  ///< the adjustment did not settle
    NotFound,       ///< an id that the survey does not hold
    Refused,        ///< the evidence is too thin for what was asked
    Cancelled,
};

/// A failure as a value: what happened, to which object, and what to do.
struct Error {
    ErrorCode code = ErrorCode::BadValue;
    std::string what;    ///< "photograph is truncated"
    std::string object;  ///< "front.jpg", "reading R3"; may be empty
    std::string remedy;  ///< "copy it from the camera again"; may be empty

    /// One sentence for the user: "<object>: <what>; <remedy>."
    std::string sentence() const {
        std::string s = object.empty() ? what : object + ": " + what;
        if (!remedy.empty()) s += "; " + remedy;
        return s + ".";
    }
};

}  // namespace trammel
