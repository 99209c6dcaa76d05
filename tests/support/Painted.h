// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <catch2/catch.hpp>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include "TemporaryFolder.h"

/// Pages painted by other programs (poppler, librsvg) at 600 dpi, to be measured.
namespace trammel::test {

struct Grey {
    int width = 0, height = 0;
    std::vector<unsigned char> data;
    int at(int x, int y) const {
        return data[static_cast<std::size_t>(y) * static_cast<std::size_t>(width) +
                    static_cast<std::size_t>(x)];
    }
};

/// Lets another program paint the bytes at 600 dpi and reads its portable grey map.
inline Grey painted(const std::string& bytes, const std::string& suffix, const std::string& command) {
    const TemporaryFolder place;
    const auto file = place / ("page" + suffix), out = place / "page.pgm";
    std::ofstream(file, std::ios::binary) << bytes;
    REQUIRE(std::system((command + " " + file.string() + " > " + out.string()).c_str()) == 0);
    std::ifstream in(out, std::ios::binary);
    std::string magic;
    Grey grey;
    int most = 0;
    in >> magic >> grey.width >> grey.height >> most;
    in.get();
    REQUIRE(magic == "P5");
    REQUIRE(most == 255);
    grey.data.resize(static_cast<std::size_t>(grey.width) * static_cast<std::size_t>(grey.height));
    in.read(reinterpret_cast<char*>(grey.data.data()), static_cast<std::streamsize>(grey.data.size()));
    return grey;
}

/// Middles of the dark runs along a row or a column of the picture, mm.
inline std::vector<double> darkMiddles(const Grey& g, bool row, int where) {
    std::vector<double> middles;
    double sum = 0, weight = 0;
    for (int i = 0; i < (row ? g.width : g.height); ++i) {
        const double dark = 255 - (row ? g.at(i, where) : g.at(where, i));
        if (dark > 8) {
            sum += dark * i, weight += dark;
        } else if (weight > 0) {
            middles.push_back((sum / weight + 0.5) * 25.4 / 600), sum = weight = 0;
        }
    }
    return middles;
}

/// Page n (from 1) of a PDF.
inline Grey paintedPage(const std::string& pdf, int n) {
    const std::string page = std::to_string(n);
    return painted(pdf, ".pdf", "pdftoppm -gray -r 600 -singlefile -f " + page + " -l " + page);
}

inline Grey paintedSvg(const std::string& svg) {
    return painted(
        svg, ".svg",
        "sh -c 'rsvg-convert -d 600 -p 600 -b white -f pdf \"$0\" | pdftoppm -gray -r 600 -singlefile -'");
}

/// Row or column of the picture, counted from the lower left corner of the page in mm.
inline int rowAt(const Grey& g, double y_mm) { return g.height - 1 - static_cast<int>(y_mm / 25.4 * 600); }
inline int columnAt(double x_mm) { return static_cast<int>(x_mm / 25.4 * 600); }

}  // namespace trammel::test
