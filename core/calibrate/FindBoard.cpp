// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/calibrate/FindBoard.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <opencv2/calib3d.hpp>
#include <opencv2/imgproc.hpp>
#include <optional>

#include "core/calibrate/Grid.h"

namespace trammel::calibrate {
namespace {

constexpr int kLongSide = 1600;  // px that the search looks at

/// The picture in grey as the search sees it; picture px = (x + ½) scale − ½ of its own.
struct Small {
    cv::Mat grey;
    double scale = 1.0;
    Vec2 toPicture(const cv::Point2f& p) const {
        return {(p.x + 0.5) * scale - 0.5, (p.y + 0.5) * scale - 0.5};
    }
};

Small shrink(const photo::Image& image) {
    const cv::Mat pixels(image.height, image.width, image.channels == 3 ? CV_8UC3 : CV_8UC1,
                         const_cast<std::uint8_t*>(image.data.data()));
    Small out;
    if (image.channels == 3)
        cv::cvtColor(pixels, out.grey, cv::COLOR_RGB2GRAY);
    else
        out.grey = pixels.clone();
    const int side = std::max(image.width, image.height);
    if (side > kLongSide) {
        out.scale = static_cast<double>(side) / kLongSide;
        cv::Mat less;
        cv::resize(out.grey, less,
                   {static_cast<int>(std::lround(image.width / out.scale)),
                    static_cast<int>(std::lround(image.height / out.scale))},
                   0, 0, cv::INTER_AREA);
        out.grey = less;
    }
    return out;
}

/// Grid of at least this size by its saddle points, nothing where there is none.
std::optional<Grid> saddles(const Small& small, int across, int down, bool larger, bool thorough) {
    std::vector<cv::Point2f> found;
    cv::Mat meta;
    int flags = cv::CALIB_CB_NORMALIZE_IMAGE;
    if (larger) flags |= cv::CALIB_CB_LARGER;
    if (thorough) flags |= cv::CALIB_CB_EXHAUSTIVE | cv::CALIB_CB_ACCURACY;
    try {
        if (!cv::findChessboardCornersSB(small.grey, {across, down}, found, flags, meta)) return std::nullopt;
    } catch (const cv::Exception&) {
        return std::nullopt;  // pictures smaller than its filters
    }
    Grid grid{meta.cols, meta.rows, {}};
    if (grid.across * grid.down != static_cast<int>(found.size())) return std::nullopt;
    for (const cv::Point2f& p : found) grid.px.push_back(small.toPicture(p));
    return grid;
}

std::optional<Grid> quads(const Small& small, int across, int down) {
    std::vector<cv::Point2f> found;
    if (!cv::findChessboardCorners(small.grey, {across, down}, found)) return std::nullopt;
    // Not closer than the corners' own rounding, not so wide that the next corner comes in.
    double nearest = 1e9;
    for (std::size_t k = 1; k < found.size(); ++k)
        nearest = std::min(nearest, cv::norm(found[k] - found[k - 1]));
    const int half = std::clamp(static_cast<int>(nearest / 3.0), 2, 5);
    cv::cornerSubPix(small.grey, found, {half, half}, {-1, -1},
                     {cv::TermCriteria::EPS | cv::TermCriteria::COUNT, 30, 0.01});
    Grid grid{across, down, {}};
    for (const cv::Point2f& p : found) grid.px.push_back(small.toPicture(p));
    return grid;
}

Error otherSize(const Grid& grid, const Board& board) {
    return {ErrorCode::Refused,
            fmt::format("a board of {} by {} squares is seen where {} by {} were told",
                        std::max(grid.across, grid.down) + 1, std::min(grid.across, grid.down) + 1,
                        board.columns, board.rows),
            "", "count the squares again, the outermost ones too"};
}

Result<std::vector<SeenCorner>> findPlain(const Small& small, const Board& board, const photo::Image& image) {
    const int across = board.cornerColumns(), down = board.cornerRows();
    std::optional<Grid> grid = saddles(small, across, down, true, false);
    if (!grid) grid = saddles(small, across, down, false, true);
    if (!grid) grid = quads(small, across, down);
    if (!grid) {
        // Another board, perhaps: look for any.
        const int least = std::max(2, std::min({across, down, 3}));
        if (const auto other = saddles(small, least, least, true, true)) return otherSize(*other, board);
        return Error{ErrorCode::Refused, "no board of squares is found", "",
                     "show all of it, sharp and evenly lit, with a white rim around"};
    }
    const bool asTold =
        (grid->across == across && grid->down == down) || (grid->across == down && grid->down == across);
    if (!asTold) {
        // Clutter beside the board may have been taken for more squares of it.
        const auto exact = saddles(small, across, down, false, true);
        if (!exact || squaresGoOn(*exact, image)) return otherSize(*grid, board);
        grid = exact;
    }
    return numberPlain(*grid, board, image);
}

}  // namespace

Result<std::vector<SeenCorner>> findBoard(const photo::Image& image, const Board& board) {
    if (const auto no = unusable(board)) return *no;
    if (image.empty() || image.width < 32 || image.height < 32)
        return Error{ErrorCode::Refused, "the picture is too small", "", "use the original photograph"};
    const Small small = shrink(image);
    if (board.code == BoardCode::Plain) return findPlain(small, board, image);
    for (const bool thorough : {false, true}) {
        const auto grid = saddles(small, 4, 4, true, thorough);
        if (!grid) continue;
        auto numbered = numberByDots(*grid, board, image);
        if (numbered || thorough) return numbered;
    }
    return Error{ErrorCode::Refused, "no board of squares is found", "",
                 "show at least 6 by 6 squares of it, sharp and evenly lit"};
}

}  // namespace trammel::calibrate
