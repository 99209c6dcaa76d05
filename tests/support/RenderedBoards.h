// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <cmath>
#include <filesystem>
#include <string>
#include <vector>

#include "SimulatedBoards.h"
#include "core/base/Result.h"
#include "core/render/Observe.h"
#include "core/render/Picture.h"

/// Photographs of a board with known truth, by core/render.
namespace trammel::tests {

inline render::Scene boardScene(const calibrate::Board& board, const Lens& lens, int count) {
    render::Scene scene;
    scene.title = "board of squares";
    scene.levels.push_back({"board", 0.0});
    const Vec2 half = 0.5 * board.size() + Vec2::Constant(1.5 * board.pitchX_mm);
    render::Solid solid;
    solid.name = "board";
    solid.bottom = -3.0;
    solid.texture = render::Texture::Print;
    solid.colour = Vec3(0.62, 0.62, 0.62);
    solid.outline.vertices = {
        {{-half.x(), -half.y()}}, {{half.x(), -half.y()}}, {half}, {{-half.x(), half.y()}}};
    render::Checker checker;
    checker.corner = Vec2(-0.5 * board.size().x(), 0.5 * board.size().y());
    checker.pitchX = board.pitchX_mm;
    checker.pitchY = board.pitchY_mm;
    checker.columns = board.columns;
    checker.rows = board.rows;
    if (board.code == calibrate::BoardCode::Dots) {
        checker.dotDiameter = calibrate::kDotDiameter * std::min(board.pitchX_mm, board.pitchY_mm);
        for (int r = 0; r < board.rows; ++r)
            for (int c = 0; c < board.columns; ++c) checker.dots.push_back(calibrate::hasDot(c, r));
    }
    solid.checker = checker;
    scene.solids.push_back(solid);
    render::SceneLens made;
    made.name = "lens";
    made.make = "Example Optics";
    made.body = "Body 1";
    made.lens = "Example Optics 35";
    made.focalLength_mm = 35.0;
    made.pixelPitch_mm = 35.0 / lens.truth.c;
    made.frameWidth = lens.width;
    made.frameHeight = lens.height;
    made.truth = lens.truth;
    scene.lenses.push_back(made);
    for (int n = 0; n < count; ++n) {
        render::SceneCamera camera;
        camera.name = "board" + std::to_string(n + 1);
        camera.view = survey::View::Oblique;
        const double whole = lens.truth.c * board.size().x() / (0.9 * lens.width);
        camera.standOff_mm = whole * (n % 3 == 0 ? 1.0 : n % 3 == 1 ? 0.8 : 1.3);
        camera.azimuth = 2.0 * M_PI * n / count + 0.3;
        camera.offAxis = n == 0 ? 0.05 : 0.45 + 0.03 * (n % 4);
        // The camera's level axis lies across the azimuth: turn it back to the board's, or by 90° more.
        camera.roll = -(camera.azimuth + M_PI / 2) + (n % 3 == 2 ? M_PI / 2 : 0.0);
        const double aside = n % 3 == 0 ? 0.0 : 0.25;
        camera.aim = Vec3(aside * board.size().x() * (n % 2 == 0 ? 1 : -1),
                          aside * board.size().y() * (n % 4 < 2 ? 1 : -1), 0.0);
        camera.cropWidth = lens.width;
        camera.cropHeight = lens.height;
        camera.blur_px = 0.7;
        camera.readNoise = 0.002;
        camera.shotNoise = 0.005;
        camera.quality = 95;
        camera.backdrop.offset = -60.0;
        scene.cameras.push_back(camera);
    }
    return scene;
}

inline Result<std::vector<std::filesystem::path>> renderBoard(const calibrate::Board& board, const Lens& lens,
                                                              int count,
                                                              const std::filesystem::path& folder) {
    const render::Scene scene = boardScene(board, lens, count);
    std::filesystem::create_directories(folder);
    if (auto done = render::writePhotographs(scene, folder); !done) return done.error();
    std::vector<std::filesystem::path> files;
    for (const auto& camera : scene.cameras) files.push_back(folder / render::photographPath(camera));
    return files;
}

}  // namespace trammel::tests
