// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/photo/Remarks.h"

#include <algorithm>
#include <catch2/catch.hpp>

#include "MakePhotographs.h"
#include "TemporaryFolder.h"

using namespace trammel;
using namespace trammel::photo;
using namespace trammel::test;

namespace {

/// EXIF as a camera for this work writes it: nothing to remark.
Exif sound() {
    Exif e;
    e.make = "Example Optics", e.model = "Example One", e.lensModel = "Example 200";
    e.focalLength_mm = 200.0, e.focalLength35_mm = 300.0, e.focalPlaneResolution_per_mm = 250.0;
    e.pixelWidth = 6000, e.pixelHeight = 4000;
    e.customRendered = 0, e.compositeImage = 1, e.digitalZoom = 1.0;
    return e;
}

std::vector<RemarkKind> kinds(const std::vector<Remark>& remarks) {
    std::vector<RemarkKind> out;
    for (const Remark& r : remarks) {
        CHECK(r.sentence.size() > 30);
        CHECK(r.sentence.back() == '.');
        out.push_back(r.kind);
    }
    return out;
}

using Kinds = std::vector<RemarkKind>;

}  // namespace

TEST_CASE("a sound file has no remark; each thing to mind has one") {
    CHECK(kinds(remarksOn(sound(), 6000, 4000)).empty());
    const auto with = [](auto change, int w = 6000, int h = 4000) {
        Exif e = sound();
        change(e);
        return kinds(remarksOn(e, w, h));
    };
    CHECK(with([](Exif& e) { e.customRendered = 3; }) == Kinds{RemarkKind::Merged});
    CHECK(
        with([](Exif& e) { e.customRendered = 1; }).empty());  // "custom process" is any ordinary art filter
    CHECK(with([](Exif& e) { e.compositeImage = 3; }) == Kinds{RemarkKind::Merged});
    CHECK(with([](Exif& e) { e.merged = true; }) == Kinds{RemarkKind::Merged});
    CHECK(with([](Exif& e) { e.digitalZoom = 1.5; }) == Kinds{RemarkKind::DigitalZoom});
    CHECK(with([](Exif& e) { e.straightened = true; }) == Kinds{RemarkKind::Straightened});
    CHECK(with([](Exif& e) { e.orientation = 5; }) == Kinds{RemarkKind::Mirrored});
    CHECK(with([](Exif& e) { e.focalLength_mm.reset(), e.focalLength35_mm.reset(); }) ==
          Kinds{RemarkKind::NoFocalLength});
    CHECK(with([](Exif& e) { e.focalLength35_mm.reset(), e.focalPlaneResolution_per_mm.reset(); }) ==
          Kinds{RemarkKind::NoFocalLength});
    CHECK(with([](Exif& e) { e.focalLength_mm = 0.5; }) == Kinds{RemarkKind::OddFocalLength});
    CHECK(with([](Exif& e) { e.focalLength35_mm = 28.0; }) == Kinds{RemarkKind::OddFocalLength});
    CHECK(with([](Exif&) {}, 3000, 2000) == Kinds{RemarkKind::Resized});
    CHECK(with([](Exif&) {}, 3000, 3000) == Kinds{RemarkKind::Cropped});
    CHECK(with([](Exif& e) { e.pixelWidth.reset(); }) == Kinds{RemarkKind::FrameUnknown});
}

TEST_CASE("what changed between photographs is named with those that differ") {
    std::vector<Named> all = {
        {"a", sound(), 6000, 4000}, {"b", sound(), 6000, 4000}, {"c", sound(), 4000, 6000}};
    for (Named& n : all) n.exif.subjectDistance_m = 5.0;
    CHECK(remarksOnGroup(all).empty());
    CHECK(remarksOnGroup({}).empty());
    all[1].exif.focalLength_mm = 180.0;
    all[2].exif.subjectDistance_m = 3.0;
    const auto remarks = remarksOnGroup(all);
    CHECK(kinds(remarks) == Kinds{RemarkKind::FocalLengthChanged, RemarkKind::FocusChanged});
    CHECK(remarks[0].sentence.starts_with("The focal length of b differs from that of a: "));
    CHECK(remarks[1].sentence.starts_with("The distance of focus of c differs"));
    all[1] = {"b", sound(), 3000, 2000};
    all[2] = {"c", sound(), 6000, 4000};
    all[2].exif.model = "Example Two";
    all[2].exif.lensModel = "Example 100";
    CHECK(kinds(remarksOnGroup(all)) ==
          Kinds{RemarkKind::BodyChanged, RemarkKind::LensChanged, RemarkKind::SizeChanged});
}

TEST_CASE("tags of a file's own bytes become remarks") {
    TemporaryFolder folder;
    const auto file = folder / "a.jpg";
    makeJpeg(file, 96, 64, 3, texture,
             ExifBytes()
                 .ratio(0x920A, 200, 1)
                 .whole(0xA405, 300)
                 .longer(0xA002, 96)
                 .longer(0xA003, 64)
                 .whole(0xA401, 2)
                 .whole(0xA460, 3)
                 .ratio(0xA404, 2, 1)
                 .bytes());
    const Result<Exif> e = readExif(file);
    REQUIRE(e);
    CHECK(e->customRendered == 2);
    CHECK(e->compositeImage == 3);
    CHECK(kinds(remarksOn(*e, 96, 64)) == Kinds{RemarkKind::DigitalZoom, RemarkKind::Merged});
    CHECK(remarksOnCurve(file).empty());
}
