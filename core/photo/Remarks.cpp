// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/photo/Remarks.h"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <optional>

#include "core/photo/FileFormat.h"
#include "core/photo/Metadata.h"
#include "core/photo/Orientation.h"
#include "core/photo/PrincipalDistance.h"
#include "core/photo/ToneCurve.h"

namespace trammel::photo {
namespace {

constexpr double kSameProportion = 0.01;                 ///< wider apart is a crop
constexpr double kSameFocus = 0.1;                       ///< of the distance: what autofocus tells is rough
constexpr int kTransferSrgb = 13, kTransferUnknown = 2;  // ITU-T H.273

bool merged(const Exif& e) {
    return e.merged || e.customRendered.value_or(0) > 1 || e.compositeImage.value_or(0) > 1;
}

/// Ratio of the 35 mm equivalent to the focal length: the frame's diagonal against that of 36 × 24 mm. Frames
/// of cameras lie between 54 × 40 mm (0.65) and the smallest of telephones (about 10).
bool oddFocalLength(const Exif& e) {
    if (!e.focalLength_mm) return false;
    if (*e.focalLength_mm < 1.0 || *e.focalLength_mm > 2000.0) return true;
    if (!e.focalLength35_mm) return false;
    const double ratio = *e.focalLength35_mm / *e.focalLength_mm / e.digitalZoom.value_or(1.0);
    return ratio < 0.5 || ratio > 15.0;
}

std::string focalSentence(const Exif& e) {
    if (!e.focalLength35_mm || *e.focalLength_mm < 1.0 || *e.focalLength_mm > 2000.0)
        return fmt::format(
            "The file names a focal length of {:g} mm, which no camera lens here would have: "
            "enter the right one with the lens.",
            *e.focalLength_mm);
    return fmt::format(
        "The file names a focal length of {:g} mm and an equivalent of {:g} mm, which fit no "
        "sensor: enter the right one with the lens.",
        *e.focalLength_mm, *e.focalLength35_mm);
}

std::optional<Remark> sizeRemark(const Exif& e, int width, int height) {
    if (!e.pixelWidth || !e.pixelHeight)
        return Remark{
            RemarkKind::FrameUnknown,
            "The file does not say which part of the camera's full frame this picture is: enter the "
            "frame's size and the crop's offset, or add the uncropped photograph."};
    const double across = static_cast<double>(width) / *e.pixelWidth,
                 down = static_cast<double>(height) / *e.pixelHeight;
    if (width == *e.pixelWidth && height == *e.pixelHeight) return std::nullopt;
    if (std::abs(across / down - 1.0) < kSameProportion)
        return Remark{RemarkKind::Resized,
                      fmt::format("The picture was resized from {} × {}: details finer than its pixels are "
                                  "gone; use the original if you can.",
                                  *e.pixelWidth, *e.pixelHeight)};
    return Remark{RemarkKind::Cropped,
                  fmt::format("The picture of {} × {} is part of one of {} × {}: enter the crop's offset, or "
                              "add the uncropped photograph.",
                              width, height, *e.pixelWidth, *e.pixelHeight)};
}

/// Names of the photographs whose value differs from the first one that has any.
template <class Value>
std::string differing(const std::vector<Named>& all,
                      const std::function<std::optional<Value>(const Named&)>& value,
                      const std::function<bool(const Value&, const Value&)>& same, std::string& first) {
    std::optional<Value> reference;
    std::string out;
    for (const Named& n : all) {
        const std::optional<Value> v = value(n);
        if (!v) continue;
        if (!reference) {
            reference = v, first = n.name;
        } else if (!same(*reference, *v)) {
            out += (out.empty() ? "" : ", ") + n.name;
        }
    }
    return out;
}

void say(std::vector<Remark>& out, RemarkKind kind, const char* what, const std::string& names,
         const std::string& first, const char* remedy) {
    if (!names.empty())
        out.push_back(
            {kind, fmt::format("{} of {} differs from that of {}: {}.", what, names, first, remedy)});
}

std::optional<std::string> textOf(const std::string& s) {
    return s.empty() ? std::nullopt : std::optional<std::string>(s);
}

}  // namespace

std::string_view remarkName(RemarkKind kind) {
    static constexpr std::array<std::string_view, 15> names = {
        "merged",          "digital-zoom",         "straightened",
        "no-focal-length", "odd-focal-length",     "cropped",
        "resized",         "frame-unknown",        "mirrored",
        "other-curve",     "focal-length-changed", "focus-changed",
        "size-changed",    "body-changed",         "lens-changed"};
    return names[static_cast<std::size_t>(kind)];
}

std::vector<Remark> remarksOn(const Exif& e, int width, int height) {
    std::vector<Remark> out;
    if (const auto size = sizeRemark(e, width, height)) out.push_back(*size);
    if (isMirrored(e.orientation))
        out.push_back(
            {RemarkKind::Mirrored,
             fmt::format("The file says that the picture is mirrored (orientation {}): make sure that "
                         "writing on the part reads rightly.",
                         e.orientation)});
    if (!principalDistancePrior(e, width, height))
        out.push_back({RemarkKind::NoFocalLength,
                       e.focalLength_mm
                           ? "The file names a focal length, but not the size of its sensor's pixels: "
                             "the adjustment must find the principal distance by itself."
                           : "The file names no focal length: the adjustment must find the principal "
                             "distance by itself."});
    if (oddFocalLength(e)) out.push_back({RemarkKind::OddFocalLength, focalSentence(e)});
    if (e.digitalZoom.value_or(1.0) > 1.0)
        out.push_back({RemarkKind::DigitalZoom,
                       "The camera zoomed digitally: this adds no detail and blurs the pixel size; switch it "
                       "off."});
    if (merged(e))
        out.push_back(
            {RemarkKind::Merged,
             "The picture was merged from several exposures, which warps it in places as no lens does: "
             "switch off range, portrait and panorama modes, and trust its residuals only."});
    if (e.straightened)
        out.push_back({RemarkKind::Straightened,
                       "The camera or a program has removed lens distortion already: what is left follows no "
                       "lens of its own; switch the correction off, or keep it on for every photograph."});
    return out;
}

std::vector<Remark> remarksOnCurve(const std::filesystem::path& file) {
    const Result<FileFormat> format = formatOf(file);
    if (!format) return {};
    const Result<Metadata> m = readMetadata(file, *format);
    if (!m) return {};
    const int transfer = m->icc.empty() ? m->transfer.value_or(kTransferSrgb) : kTransferSrgb;
    // 1 and 6 are video's curve, which still pictures name and do not mean.
    const bool plain =
        transfer == kTransferSrgb || transfer == kTransferUnknown || transfer == 1 || transfer == 6;
    if (plain && curveOf(m->icc) != CurveKind::Unknown) return {};
    return {
        {RemarkKind::OtherCurve,
         "Its colour profile does not tell the curve from codes to light plainly: edges may come out too far "
         "to the light or the dark; have the camera write sRGB."}};
}

std::vector<Remark> remarksOnGroup(const std::vector<Named>& all) {
    std::vector<Remark> out;
    std::string first, names;
    const std::function<bool(const double&, const double&)> near = [](const double& a, const double& b) {
        return std::abs(a - b) <= 0.002 * a;
    };
    const std::function<bool(const double&, const double&)> focused = [](const double& a, const double& b) {
        return std::abs(a - b) <= kSameFocus * std::max(a, b);
    };
    const std::function<bool(const std::string&, const std::string&)> equal = std::equal_to<std::string>();
    names = differing<std::string>(
        all, [](const Named& n) { return textOf(n.exif.make + n.exif.model + n.exif.bodySerial); }, equal,
        first);
    say(out, RemarkKind::BodyChanged, "The camera", names, first, "each camera is found by itself");
    names = differing<std::string>(
        all, [](const Named& n) { return textOf(n.exif.lensMake + n.exif.lensModel); }, equal, first);
    say(out, RemarkKind::LensChanged, "The lens", names, first, "each lens is found by itself");
    names = differing<double>(
        all, [](const Named& n) { return n.exif.focalLength_mm; }, near, first);
    say(out, RemarkKind::FocalLengthChanged, "The focal length", names, first,
        "keep the zoom untouched, for each setting is a lens of its own");
    names = differing<double>(
        all, [](const Named& n) { return n.exif.subjectDistance_m; }, focused, first);
    say(out, RemarkKind::FocusChanged, "The distance of focus", names, first,
        "it moves the principal distance; focus once and then by hand");
    names = differing<double>(
        all,
        [](const Named& n) -> std::optional<double> {
            return 1e6 * std::max(n.width, n.height) + std::min(n.width, n.height);
        },
        [](const double& a, const double& b) { return a == b; }, first);
    say(out, RemarkKind::SizeChanged, "The size", names, first,
        "use every photograph as the camera wrote it");
    return out;
}

}  // namespace trammel::photo
