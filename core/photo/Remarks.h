// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

#include "core/photo/Exif.h"

namespace trammel::photo {

/// What a file says that stands against measuring in its picture, or weakens it.
enum class RemarkKind {
    Merged,              ///< made of several exposures, or warped: no lens model holds
    DigitalZoom,         ///< enlarged in the camera
    Straightened,        ///< lens distortion was removed already
    NoFocalLength,       ///< names none
    OddFocalLength,      ///< names one that its other figures contradict
    Cropped,             ///< part of what the camera wrote
    Resized,             ///< another size than the camera wrote
    FrameUnknown,        ///< does not say what the camera wrote
    Mirrored,            ///< orientation 2, 4, 5 or 7
    OtherCurve,          ///< codes follow a curve that could not be read
    FocalLengthChanged,  ///< those below are of a group of photographs
    FocusChanged,
    SizeChanged,
    BodyChanged,
    LensChanged,
};

/// One word for machines ("merged", "digital-zoom", ...).
std::string_view remarkName(RemarkKind kind);

struct Remark {
    RemarkKind kind;
    std::string sentence;  ///< what it is, and what to do
};

/// Of one file; `width` and `height` are those of the picture as stored. Tags: CIPA DC-008 (CustomRendered,
/// CompositeImage, DigitalZoomRatio, PixelXDimension, FocalLength and its 35 mm equivalent). Values of
/// CustomRendered above 1 are not in the standard; telephones write them for merged exposures (from memory).
std::vector<Remark> remarksOn(const Exif& exif, int width, int height);

/// Codes that follow a curve which could not be read (see ToneCurve.h), if so: empty else.
std::vector<Remark> remarksOnCurve(const std::filesystem::path& file);

/// What one of the photographs says, with the name that the user knows it by.
struct Named {
    std::string name;
    Exif exif;
    int width = 0, height = 0;  ///< as stored
};

/// What changed from photograph to photograph that one camera's constants cannot bear. Each kind once, with
/// the names of those that differ from the first that tells.
std::vector<Remark> remarksOnGroup(const std::vector<Named>& photographs);

}  // namespace trammel::photo
