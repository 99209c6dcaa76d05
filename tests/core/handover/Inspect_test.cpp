// SPDX-License-Identifier: GPL-3.0-or-later
// Files of other writers, made here by hand after the published DXF reference.
#include "core/handover/Inspect.h"

#include <unistd.h>

#include <catch2/catch.hpp>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <numbers>
#include <sstream>

using namespace trammel;
using namespace trammel::handover;

namespace {

/// "0 LINE 8 A 10 1.5" → pairs of lines, with CR LF as some writers have it.
std::string pairs(const std::string& words, const char* end = "\r\n") {
    std::istringstream in(words);
    std::string out;
    for (std::string w; in >> w;) out += w + end;
    return out;
}

std::string entities(const std::string& words, const std::string& header = "") {
    return pairs("0 SECTION 2 HEADER " + header + " 0 ENDSEC 0 SECTION 2 ENTITIES " + words +
                 " 0 ENDSEC 0 EOF");
}

Contents contents(const std::string& text) {
    const auto f = parseDxf(text, "foreign.dxf");
    if (!f) FAIL(f.error().sentence());
    return inspect(*f, "foreign.dxf");
}

std::string refusal(const std::string& text) {
    const auto f = parseDxf(text, "bad.dxf");
    return f ? "" : f.error().sentence();
}

bool warned(const Contents& c, const std::string& part) {
    for (const auto& w : c.warnings)
        if (w.find(part) != std::string::npos) return true;
    return false;
}

const std::string kMillimetres = "9 $INSUNITS 70 4 9 $MEASUREMENT 70 1";

}  // namespace

TEST_CASE("loose lines and arcs are joined into a closed contour whatever their order and direction") {
    // 20 × 10 with its right end rounded by a half circle of radius 5.
    const Contents c =
        contents(entities("0 LINE 8 A 10 0 20 0 11 15 21 0 "
                          "0 LINE 8 A 10 0 20 10 11 0 21 0 "
                          "0 ARC 8 A 10 15 20 5 40 5 50 270 51 90 "
                          "0 LINE 8 A 10 0 20 10 11 15 21 10",
                          kMillimetres));
    REQUIRE(c.contours.size() == 1);
    CHECK(c.contours[0].closed);
    CHECK(c.contours[0].pieces == 4);
    CHECK(c.contours[0].area == Approx(150 + 12.5 * std::numbers::pi).epsilon(1e-12));
    CHECK(c.contours[0].perimeter == Approx(40 + 5 * std::numbers::pi).epsilon(1e-12));
    CHECK(c.extents->high.x() == Approx(20));
    CHECK(c.warnings.empty());
}

TEST_CASE("hairline gaps, doubled lines and open ends are counted") {
    const Contents gap =
        contents(entities("0 LINE 8 A 10 0 20 0 11 10 21 0 0 LINE 8 A 10 10.05 20 0 11 10 21 10 "
                          "0 LINE 8 A 10 10 20 10 11 0 21 0",
                          kMillimetres));
    CHECK(gap.hairlineGaps == 1);
    REQUIRE(gap.contours.size() == 1);
    CHECK_FALSE(gap.contours[0].closed);
    CHECK(warned(gap, "1 hairline gap"));
    const Contents doubled =
        contents(entities("0 LINE 8 A 10 0 20 0 11 10 21 0 0 LINE 8 A 10 10 20 0 11 0 21 0 "
                          "0 LINE 8 A 10 4 20 0 11 14 21 0 0 CIRCLE 8 A 10 5 20 5 40 1 "
                          "0 CIRCLE 8 A 10 5 20 5 40 1 0 CIRCLE 8 B 10 5 20 5 40 1",
                          kMillimetres));
    CHECK(doubled.doubled == 4);  // the line again, the longer one over both, the circle again
    CHECK(doubled.doubledAcrossLayers == 1);
    REQUIRE(doubled.circles.size() == 2);
    CHECK(doubled.circles[0].count == 2);
}

TEST_CASE(
    "polylines of both kinds, closed by flag or by a repeated vertex, and a full circle of two vertices") {
    const Contents c = contents(entities(
        "0 LWPOLYLINE 8 A 90 2 70 1 10 0 20 0 42 1 10 10 20 0 42 1 "
        "0 LWPOLYLINE 8 B 90 4 70 0 10 0 20 0 10 4 20 0 10 4 20 3 10 0 20 0 "
        "0 POLYLINE 8 C 66 1 70 1 0 VERTEX 8 C 10 20 20 0 42 0.4142135623730951 0 VERTEX 8 C 10 21 20 1 "
        "0 VERTEX 8 C 10 20 20 1 0 SEQEND",
        kMillimetres));
    REQUIRE(c.contours.size() == 3);
    for (const auto& k : c.contours) CHECK(k.closed);
    CHECK(c.contours[0].area == Approx(25 * std::numbers::pi).epsilon(1e-12));
    CHECK(c.contours[1].area == Approx(6));
    CHECK(c.contours[2].area == Approx(std::numbers::pi / 4).epsilon(1e-12));  // quarter disc of radius 1
}

TEST_CASE("shapes drawn on a plane seen from behind are turned round") {
    const Contents c =
        contents(entities("0 CIRCLE 8 A 10 -30 20 5 40 2 210 0 220 0 230 -1 "
                          "0 LINE 8 B 10 0 20 0 11 0 21 2 "
                          "0 ARC 8 B 10 0 20 1 40 1 50 90 51 270 210 0 220 0 230 -1",
                          kMillimetres));
    CHECK(c.extents->high.x() == Approx(32));
    CHECK(c.extents->low.x() == Approx(0).margin(1e-12));  // the arc bulges to +x
    REQUIRE(c.contours.size() == 1);
    CHECK(c.contours[0].closed);
}

TEST_CASE("unit mistakes are named in words") {
    const std::string plate =
        "0 LWPOLYLINE 8 A 90 4 70 1 10 0 20 0 10 %X 20 0 10 %X 20 %X 10 0 20 %X "
        "0 CIRCLE 8 A 10 %H 20 %H 40 %R";
    const auto with = [&](const char* x, const char* h, const char* r) {
        std::string s = plate;
        for (const auto& [key, value] : {std::pair{"%X", x}, {"%H", h}, {"%R", r}})
            for (std::size_t i; (i = s.find(key)) != std::string::npos;) s.replace(i, 2, value);
        return s;
    };
    CHECK(warned(contents(entities(with("300", "20", "1.6"), "9 $INSUNITS 70 1")),
                 "the numbers look like millimetres"));
    CHECK(warned(contents(entities(with("11.811", "0.787", "0.063"), "9 $INSUNITS 70 4")),
                 "the numbers look like inches"));
    CHECK(warned(contents(entities(with("300", "20", "1.6"))), "names no unit"));
    CHECK(warned(contents(entities(with("300", "20", "1.6"), "9 $INSUNITS 70 4 9 $MEASUREMENT 70 0")),
                 "contradicts itself"));
    CHECK(contents(entities(with("300", "20", "1.6"), kMillimetres)).warnings.empty());
    const Contents scaled = contents(entities(
        with("300", "20", "1.6"), kMillimetres + " 9 $EXTMIN 10 0 20 0 9 $EXTMAX 10 11.811 20 11.811"));
    CHECK(warned(scaled, "header's extents are 25.4 times off"));
}

TEST_CASE("dimensions are compared with what their points measure") {
    const auto dimension = [](const std::string& text, const std::string& more) {
        return "0 DIMENSION 8 D 2 *D1 1 " + text + " 70 32 10 25.4 20 -5 13 0 23 0 14 25.4 24 0 " + more +
               " ";
    };
    const std::string line = "0 LINE 8 A 10 0 20 0 11 25.4 21 0 ";
    const Contents good = contents(entities(line + dimension("25.4", "")));
    REQUIRE(good.dimensions.size() == 1);
    CHECK(good.dimensions[0].measured == Approx(25.4));
    CHECK(good.dimensions[0].agrees);
    CHECK_FALSE(good.dimensions[0].pictured);
    CHECK(contents(entities(line + dimension("25%%p0.5", ""))).dimensions[0].agrees);
    CHECK_FALSE(contents(entities(line + dimension("26", ""))).dimensions[0].agrees);
    CHECK(contents(entities(line + dimension("<>", ""))).dimensions[0].agrees);
    const Contents inch = contents(entities(line + dimension("1.000", "")));
    CHECK(warned(inch, "1 of 1 dimensions show a number 25.4 times off"));
    // A rotated dimension measures along its own direction: 25.4 cos 60°.
    CHECK(contents(entities(line + dimension("12.70", "50 60"))).dimensions[0].agrees);
}

TEST_CASE("curves, blocks and paper space are mentioned, not measured") {
    const Contents c = contents(entities(
        "0 SPLINE 8 A 70 8 0 INSERT 8 A 2 X 10 0 20 0 0 LINE 8 A 67 1 10 0 20 0 11 9 21 9", kMillimetres));
    CHECK(warned(c, "1 SPLINE"));
    CHECK(warned(c, "1 INSERT"));
    CHECK(warned(c, "lie on the paper"));
    CHECK(warned(c, "Nothing is drawn"));
}

TEST_CASE("what is no sound DXF is refused with one sentence") {
    CHECK(refusal("") == "bad.dxf: is not a DXF file; choose a file that a drawing program wrote as DXF.");
    CHECK(refusal("GIF89a and so on\nmore\n") ==
          "bad.dxf: is not a DXF file; choose a file that a drawing program wrote as DXF.");
    CHECK(refusal(std::string("some binary \x1a\0 record", 21)) ==
          "bad.dxf: is a binary file, not a DXF text file; write it again as text (ASCII) DXF.");
    const std::string whole = entities("0 LINE 8 A 10 0 20 0 11 10 21 0", kMillimetres);
    CHECK(refusal(whole).empty());
    const std::size_t lastPair = whole.rfind("EOF");
    for (std::size_t n = 0; n < lastPair; n += 3) {
        INFO("cut after " << n << " bytes");
        CHECK_FALSE(refusal(whole.substr(0, n)).empty());
    }
    CHECK(refusal(whole.substr(0, whole.size() / 2)).find("cut short") != std::string::npos);
    CHECK(refusal(entities("0 LINE 8 A 10 1,5 20 0 11 10 21 0"))
              .find("\"1,5\" where a number belongs, in the LINE of line ") != std::string::npos);
    CHECK_FALSE(refusal(entities("0 LINE 8 A 10 nan 20 0 11 10 21 0")).empty());
    CHECK_FALSE(refusal(entities("0 LINE 8 A ten 0 20 0")).empty());
    // Files of the wild: byte order mark, comments, LF only, a blank line at the end.
    std::string odd = "\xEF\xBB\xBF" + pairs("999 remark", "\n") +
                      pairs("0 SECTION 2 ENTITIES 0 CIRCLE 8 A 10 +1 20 1e0 40 2 0 ENDSEC 0 EOF", "\n") +
                      "\n";
    CHECK(contents(odd).circles.size() == 1);
}

TEST_CASE("random damage never crashes the reader") {
    const std::string whole = entities(
        "0 LINE 8 A 10 0 20 0 11 10 21 0 0 POLYLINE 8 B 66 1 70 1 0 VERTEX 8 B 10 1 20 2 "
        "0 VERTEX 8 B 10 3 20 4 0 SEQEND 0 DIMENSION 8 D 2 *D1 1 x 70 0 0 TEXT 8 A 1 \\U+00B1%%",
        kMillimetres);
    unsigned state = 7;
    const auto random = [&state] { return state = state * 1664525U + 1013904223U, state >> 8; };
    for (int round = 0; round < 3000; ++round) {
        std::string s = whole;
        for (int k = 0; k < 1 + round % 6; ++k) s[random() % s.size()] = static_cast<char>(random() % 256);
        if (round % 3 == 0) s.resize(random() % s.size());
        if (const auto f = parseDxf(s, "bad.dxf")) {
            const Contents c = inspect(*f, "bad.dxf");
            CHECK(!contentsJson(c).empty());
            CHECK(!contentsText(c).empty());
        }
    }
}

TEST_CASE("missing and huge files are refused without being read") {
    const auto folder = std::filesystem::temp_directory_path();
    const auto none = readDxf(folder / "no-such-file.dxf");
    REQUIRE_FALSE(none);
    CHECK(none.error().code == ErrorCode::FileMissing);
    CHECK_FALSE(readDxf(folder));
    const auto huge = folder / ("trammel-huge-" + std::to_string(::getpid()) + ".dxf");
    std::ofstream(huge).put('0');
    std::filesystem::resize_file(huge, 200u << 20);  // sparse: takes no room
    const auto r = readDxf(huge);
    std::filesystem::remove(huge);
    REQUIRE_FALSE(r);
    CHECK(r.error().sentence().find("is 200 MiB, more than the 64 MiB") != std::string::npos);
}
