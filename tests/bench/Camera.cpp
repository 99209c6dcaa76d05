// SPDX-License-Identifier: GPL-3.0-or-later
// Time of the corrected view of a photograph, beside one cv::remap with precomputed maps, both on two
// threads.
#include <fmt/core.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdlib>
#include <ctime>
#include <opencv2/imgproc.hpp>
#include <vector>

#include "core/camera/CorrectPicture.h"

using namespace trammel;

namespace {

struct Times {
    double wall = 1e9, processor = 1e9;  // s, of the quickest turn
};

template <class Work>
void measure(Times& times, Work work) {
    const auto begin = std::chrono::steady_clock::now();
    const std::clock_t worked = std::clock();
    work();
    times.processor = std::min(times.processor, static_cast<double>(std::clock() - worked) / CLOCKS_PER_SEC);
    times.wall =
        std::min(times.wall, std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count());
}

void print(const char* what, const Times& t, const Times& against) {
    fmt::print("  {:<44} {:7.1f} ms ({:7.1f} ms of processor)   ratio {:.2f} ({:.2f})\n", what, 1e3 * t.wall,
               1e3 * t.processor, t.wall / against.wall, t.processor / against.processor);
}

}  // namespace

int main(int argc, char** argv) {
    const int width = argc > 1 ? std::atoi(argv[1]) : 6000, height = width * 2 / 3;
    const int turns = argc > 2 ? std::atoi(argv[2]) : 9;
    if (width < 100 || width > 32000 || turns < 1) return 2;
    cv::setNumThreads(2);
    camera::Constants lens;  // a 50 mm lens on a frame of 36 mm, 2 % of barrel in the corners
    lens.c = width * 50.0 / 36.0;
    lens.pp = {width / 2.0, height / 2.0};
    lens.k1 = -0.11;
    const auto correction = camera::Correction::of(lens, Vec2::Zero(), width, height);
    if (!correction) return fmt::print(stderr, "{}\n", correction.error().sentence()), 2;
    const auto& f = correction->frame();

    cv::Mat picture(height, width, CV_8UC3), ours(f.height, f.width, CV_8UC3), theirs;
    for (int y = 0; y < height; ++y)
        for (int x = 0; x < 3 * width; ++x)
            picture.ptr(y)[x] =
                static_cast<unsigned char>(128 + 50 * std::sin(x / 21.0) + 50 * std::cos(y / 9.0));
    cv::Mat mapX(f.height, f.width, CV_32F), mapY(f.height, f.width, CV_32F), places, fractions;
    for (int y = 0; y < f.height; ++y)
        for (int x = 0; x < f.width; ++x) {
            const Vec2 from = correction->toOriginal(Vec2(x + f.x, y + f.y));
            mapX.at<float>(y, x) = static_cast<float>(from.x());
            mapY.at<float>(y, x) = static_cast<float>(from.y());
        }
    cv::convertMaps(mapX, mapY, places, fractions, CV_16SC2);

    Times own, floats, fixed;  // in turns, so that what else the machine does falls on all alike
    for (int k = 0; k < turns; ++k) {
        measure(floats,
                [&] { cv::remap(picture, theirs, mapX, mapY, cv::INTER_LINEAR, cv::BORDER_CONSTANT); });
        measure(fixed, [&] {
            cv::remap(picture, theirs, places, fractions, cv::INTER_LINEAR, cv::BORDER_CONSTANT);
        });
        measure(own, [&] {
            camera::correctPicture(
                *correction, {picture.data, width, height, 3, static_cast<std::ptrdiff_t>(picture.step[0])},
                1, {ours.data, f.width, f.height, 3, static_cast<std::ptrdiff_t>(ours.step[0])});
        });
    }
    const Times& best = fixed.wall < floats.wall ? fixed : floats;
    fmt::print("corrected view of {} × {} px, 3 channels, 2 threads, best of {} turns\n", width, height,
               turns);
    print("cv::remap, maps of floats at hand", floats, best);
    print("cv::remap, maps of fixed point at hand", fixed, best);
    print("correctPicture, map computed as it goes", own, best);
    cv::Mat difference;
    cv::absdiff(ours, theirs, difference);
    const cv::Scalar mean = cv::mean(difference);
    fmt::print("  mean difference of the pictures {:.3f} codes\n", (mean[0] + mean[1] + mean[2]) / 3);
    return mean[0] < 1.0 ? 0 : 1;
}
