// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/render/Picture.h"

#include <algorithm>
#include <array>
#include <atomic>
#include <cmath>
#include <opencv2/imgproc.hpp>
#include <thread>

#include "core/photo/Encode.h"
#include "core/photo/Exif.h"
#include "core/render/Observe.h"
#include "core/render/Random.h"
#include "core/render/Surface.h"

namespace trammel::render {
namespace {

constexpr int kFine = 64;  // samples of a square that an edge may cross

/// Points of Hammersley's set in the unit square, centred in their strata.
std::array<Vec2, kFine> finePoints() {
    std::array<Vec2, kFine> points;
    for (int i = 0; i < kFine; ++i) {
        int reversed = 0;
        for (int bit = 0; bit < 6; ++bit) reversed |= ((i >> bit) & 1) << (5 - bit);
        points[i] = Vec2((i + 0.5) / kFine - 0.5, (reversed + 0.5) / kFine - 0.5);
    }
    return points;
}

/// Runs rows 0..count-1 on some threads; each row is computed alone, so the result does not depend on them.
template <class Work>
void overRows(int count, int threads, const Progress* progress, double from, double to, Work work) {
    std::atomic<int> next{0};
    const auto run = [&] {
        for (int row = next++; row < count; row = next++) {
            if (progress && progress->cancelled()) return;
            work(row);
            if (progress && row % 64 == 0) progress->report(from + (to - from) * row / count);
        }
    };
    std::vector<std::thread> others;
    for (int i = 1; i < threads; ++i) others.emplace_back(run);
    run();
    for (std::thread& t : others) t.join();
}

class Gatherer {
  public:
    Gatherer(const Scene& scene, const SceneCamera& camera, bool texture)
        : camera_(camera),
          shader_(scene, camera, texture),
          k_(constantsOf(scene, camera)),
          pose_(poseOf(camera)),
          centre_(pose_.centre()) {}

    Look at(double x, double y, int number) const {
        const auto ray = camera::rayDirection(k_, Vec2(camera_.cropX + x, camera_.cropY + y));
        return ray ? shader_.look({centre_, pose_.R.transpose() * *ray}, number) : Look{Vec3::Zero(), -2};
    }

  private:
    const SceneCamera& camera_;
    Shader shader_;
    camera::Constants k_;
    camera::Pose pose_;
    Vec3 centre_;
};

/// Looks at the corners of all pixels: (width + 1) × (height + 1).
struct Corners {
    int width = 0, height = 0;
    std::vector<Look> looks;
    const Look& at(int x, int y) const { return looks[static_cast<std::size_t>(y) * width + x]; }
    /// Whether the squares around pixel (x, y), its neighbours included, all show one surface.
    bool calm(int x, int y) const {
        const int surface = at(x, y).surface;
        for (int j = std::max(0, y - 1); j <= std::min(height - 1, y + 2); ++j)
            for (int i = std::max(0, x - 1); i <= std::min(width - 1, x + 2); ++i)
                if (at(i, j).surface != surface) return false;
        return true;
    }
};

photo::Exif exifOf(const SceneLens& lens, const SceneCamera& camera, const photo::Image& stored) {
    photo::Exif e;
    e.make = lens.make;
    e.model = lens.body;
    e.bodySerial = lens.serial;
    e.lensMake = lens.lensMake;
    e.lensModel = lens.lens;
    e.orientation = camera.orientation;
    e.focalLength_mm = lens.focalLength_mm;
    e.focalLength35_mm = lens.focalLength_mm * 36.0 / (lens.pixelPitch_mm * lens.frameWidth);
    e.focalPlaneResolution_per_mm = 1.0 / lens.pixelPitch_mm;
    e.pixelWidth = stored.width;
    e.pixelHeight = stored.height;
    if (lens.fNumber > 0) e.fNumber = lens.fNumber;
    e.subjectDistance_m = lens.nominalStandOff_mm / 1000.0;
    e.dateTimeOriginal = "2026:03:14 10:30:00";
    return e;
}

double codeOf(double v, Curve curve) {
    const auto standard = [v] { return v <= 0.0031308 ? 12.92 * v : 1.055 * std::pow(v, 1 / 2.4) - 0.055; };
    switch (curve) {
        case Curve::Standard:
            return standard();
        case Curve::Bare:
            return v;
        case Curve::Crisp:
            return std::pow(v, 1 / 1.8);
        case Curve::Soft:
            return std::pow(v, 1 / 2.6);
        case Curve::Bold: {
            const double c = standard();
            return 0.5 * c + 0.5 * c * c * (3 - 2 * c);
        }
    }
    return v;
}

Result<void> writeOne(const Scene& scene, std::size_t index, const std::filesystem::path& folder,
                      const PictureOptions& options) {
    const SceneCamera& camera = scene.cameras[index];
    const Light light = expose(camera, gatherLight(scene, camera, options), options, index);
    const photo::Image stored = asStored(develop(light, camera.curve), camera.orientation);
    const std::filesystem::path file = folder / photographPath(camera);
    std::error_code failed;
    std::filesystem::create_directories(file.parent_path(), failed);
    if (auto done = photo::encodeJpeg(stored, file, camera.quality); !done) return done;
    return photo::writeExif(file,
                            exifOf(scene.lenses[static_cast<std::size_t>(camera.lens)], camera, stored));
}

}  // namespace

Light gatherLight(const Scene& scene, const SceneCamera& camera, const PictureOptions& options,
                  const Progress* progress) {
    const Gatherer gatherer(scene, camera, options.texture);
    Corners corners{camera.cropWidth + 1, camera.cropHeight + 1, {}};
    corners.looks.resize(static_cast<std::size_t>(corners.width) * corners.height);
    overRows(corners.height, options.threads, progress, 0.0, 0.5, [&](int y) {
        for (int x = 0; x < corners.width; ++x)
            corners.looks[static_cast<std::size_t>(y) * corners.width + x] =
                gatherer.at(x - 0.5, y - 0.5, 2 * (y & 1) + (x & 1));
    });
    Light light{camera.cropWidth, camera.cropHeight, {}};
    light.rgb.resize(static_cast<std::size_t>(light.width) * light.height * 3);
    const auto points = finePoints();
    overRows(light.height, options.threads, progress, 0.5, 1.0, [&](int y) {
        for (int x = 0; x < light.width; ++x) {
            Vec3 sum = Vec3::Zero();
            if (corners.calm(x, y)) {
                for (const int j : {0, 1})
                    for (const int i : {0, 1}) sum += corners.at(x + i, y + j).light / 4;
            } else {
                for (int i = 0; i < kFine; ++i)
                    sum += gatherer.at(x + points[i].x(), y + points[i].y(), i ^ (i >> 2)).light / kFine;
            }
            float* out = &light.rgb[(static_cast<std::size_t>(y) * light.width + x) * 3];
            for (int c = 0; c < 3; ++c) out[c] = static_cast<float>(sum[c]);
        }
    });
    return light;
}

Light expose(const SceneCamera& camera, Light light, const PictureOptions& options, std::uint64_t stream) {
    cv::Mat picture(light.height, light.width, CV_32FC3, light.rgb.data());
    if (options.blur && camera.blur_px > 0) {
        const int reach = 2 * static_cast<int>(std::ceil(5 * camera.blur_px)) + 1;
        cv::GaussianBlur(picture, picture, cv::Size(reach, reach), camera.blur_px, camera.blur_px,
                         cv::BORDER_REPLICATE);
    }
    overRows(light.height, options.threads, nullptr, 0, 0, [&](int y) {
        Random random(options.seed * 1000003u + stream * 100019u + static_cast<std::uint64_t>(y));
        float* row = &light.rgb[static_cast<std::size_t>(y) * light.width * 3];
        for (int i = 0; i < light.width * 3; ++i) {
            const double value = camera.exposure * row[i];
            const double variance = camera.shotNoise * camera.shotNoise * std::max(0.0, value) +
                                    camera.readNoise * camera.readNoise;
            row[i] =
                static_cast<float>(options.noise ? value + std::sqrt(variance) * random.normal() : value);
        }
    });
    return light;
}

photo::Image develop(const Light& light, Curve curve) {
    photo::Image image{light.width, light.height, 3, {}};
    image.data.resize(light.rgb.size());
    std::transform(light.rgb.begin(), light.rgb.end(), image.data.begin(), [curve](float v) {
        const double coded = codeOf(std::clamp(static_cast<double>(v), 0.0, 1.0), curve);
        return static_cast<std::uint8_t>(std::lround(255 * coded));
    });
    return image;
}

photo::Image asStored(const photo::Image& upright, int orientation) {
    if (orientation != 3 && orientation != 6 && orientation != 8) return upright;
    const bool turned = orientation != 3;
    photo::Image out{turned ? upright.height : upright.width,
                     turned ? upright.width : upright.height,
                     upright.channels,
                     {}};
    out.data.resize(upright.data.size());
    for (int y = 0; y < out.height; ++y)
        for (int x = 0; x < out.width; ++x) {
            const int fromX = orientation == 6   ? out.height - 1 - y
                              : orientation == 8 ? y
                                                 : out.width - 1 - x;
            const int fromY = orientation == 6   ? x
                              : orientation == 8 ? out.width - 1 - x
                                                 : out.height - 1 - y;
            const std::uint8_t* from = upright.at(fromX, fromY);
            std::copy(from, from + out.channels,
                      &out.data[(static_cast<std::size_t>(y) * out.width + x) * out.channels]);
        }
    return out;
}

Result<void> writePhotographs(const Scene& scene, const std::filesystem::path& folder,
                              const PictureOptions& options, const Progress* progress) {
    for (std::size_t i = 0; i < scene.cameras.size(); ++i) {
        if (progress && progress->cancelled())
            return Error{ErrorCode::Cancelled, "stopped before all photographs were written", folder.string(),
                         ""};
        if (auto done = writeOne(scene, i, folder, options); !done) return done;
        if (progress) progress->report(static_cast<double>(i + 1) / scene.cameras.size());
    }
    return {};
}

}  // namespace trammel::render
