// SPDX-License-Identifier: GPL-3.0-or-later
#include "FitPhotographs.h"

#include "core/photo/Decode.h"

namespace trammel::campaign {

Result<guide::HandFit> fitToPhotographs(const survey::Survey& byHand, const std::filesystem::path& folder) {
    const auto provider = [&](const survey::Station& station) -> Result<photo::LinearImage> {
        auto image = photo::decode(folder / station.photo.path);
        if (!image) return image.error();
        return photo::linearLuminance(std::move(*image));
    };
    auto out = guide::fitHandMarks(byHand, provider);
    if (out && !out->photographs.empty()) return out->photographs.front();
    return out;
}

}  // namespace trammel::campaign
