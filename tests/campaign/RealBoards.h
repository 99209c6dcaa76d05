// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <filesystem>
#include <opencv2/core.hpp>
#include <optional>
#include <string>
#include <vector>

#include "core/math/Types.h"

/// Photographs of boards of squares, with the sides and corners fitted in them; for RealEdges.cpp.
namespace trammel::campaign {

struct Board {
    std::string name;
    std::filesystem::path folder;
    std::string pattern;  // of the file names, by number
    int numbers, across, along;
    std::optional<cv::Matx33d> camera;  // published; calibrated from the corners where there is none
    std::vector<double> distortion;
    bool codesAreLight = false;  // read the files as of a camera without a tone curve
    std::size_t size() const { return static_cast<std::size_t>(across) * static_cast<std::size_t>(along); }
};

/// A point of a square's side, on its grid line; `dark` points across it to the dark side.
struct SidePoint {
    int line;
    Vec2 px, dark;
    double sigma;
    double pitch = 0.0, blur = 0.0;  // of its side, px; the pixel's own square counted in
    Vec2 growth = Vec2::Zero();      // px a unit of the camera's growth of light
};

struct Picture {
    std::string name;
    std::vector<cv::Point2d> theirs;                  // cornerSubPix, all corners
    std::vector<std::optional<Vec2>> ours, opposite;  // two legs; mean of the two opposite pairs of legs
    std::vector<Vec2> growth;                         // of two legs, px a unit of growth
    std::vector<SidePoint> sides;
    int triedSides = 0, fittedSides = 0;
    double blur = 0.0, ringing = 0.0;
    double uneven = 0.0;  // σ of the codes 7 px into the light: next to none where white is at its ceiling
    double light = 0.0, dark = 0.0;  // codes of the squares away from their sides
};

/// Every photograph of the board in which it is found, `most` at most.
std::vector<Picture> measureAll(const Board& board, int most);

/// Corners of a photograph by one method, with their numbers on the grid.
struct Corners {
    std::vector<cv::Point2f> px;
    std::vector<std::size_t> number;
};

struct Grid {
    cv::Mat camera, distortion;
    std::vector<double> rms;  // a photograph, px, both coordinates
    double all = 0.0;         // px
    double spread =
        0.0;  // of a corner's plane coordinates over the photographs, in squares, both coordinates
};

/// Camera (unless published) and poses from the corners of one method, and what they leave.
Grid gridOf(const Board& board, const std::vector<Corners>& photographs);

inline Vec2 vec(const cv::Point2d& p) { return {p.x, p.y}; }

}  // namespace trammel::campaign
