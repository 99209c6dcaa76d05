// SPDX-License-Identifier: GPL-3.0-or-later
// Runs a fuzz target over files, with any compiler: the seeds, and each of them with a few bytes changed.
#include <fmt/core.h>

#include <cstdint>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <random>
#include <vector>

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

int main(int argc, char** argv) {
    constexpr int kChanged = 20;
    std::mt19937 random(1);
    int runs = 0;
    for (int i = 1; i < argc; ++i)
        for (const auto& entry : std::filesystem::recursive_directory_iterator(argv[i])) {
            if (!entry.is_regular_file()) continue;
            std::ifstream in(entry.path(), std::ios::binary);
            std::vector<std::uint8_t> bytes((std::istreambuf_iterator<char>(in)), {});
            LLVMFuzzerTestOneInput(bytes.data(), bytes.size());
            ++runs;
            for (int k = 0; k < kChanged && !bytes.empty(); ++k, ++runs) {
                auto changed = bytes;
                for (int n = 0; n < 3; ++n)
                    changed[random() %
                            (k % 2 ? changed.size() : std::min<std::size_t>(changed.size(), 200))] =
                        static_cast<std::uint8_t>(random());
                LLVMFuzzerTestOneInput(changed.data(), changed.size());
            }
        }
    constexpr int kSkipped = 77;
    if (runs == 0) fmt::print("skipped without seeds of this format: nothing was replayed\n");
    fmt::print("{} runs\n", runs);
    return runs > 0 ? 0 : kSkipped;
}
