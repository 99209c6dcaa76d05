// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/tasks/TrailWork.h"

#include "core/fit/TrailEdit.h"
#include "core/photo/Decode.h"
#include "ui/tools/MarkEdits.h"

namespace trammel::ui {
namespace {

/// Takes the lens' distortion out; nothing where the adjustment does not know the photograph.
fit::Undistort undistortionOf(const adjust::Solution* solution, const survey::Id& station) {
    const auto found = solution ? solution->stations.find(station)
                                : std::map<survey::Id, adjust::StationResult>::const_iterator{};
    if (!solution || found == solution->stations.end()) return {};
    return [k = found->second.constants, offset = found->second.offset](const Vec2& px) -> Vec2 {
        const auto ideal = camera::undistort(k, px + offset);
        return ideal ? Vec2(k.c * *ideal + k.pp - offset) : px;
    };
}

}  // namespace

Result<std::shared_ptr<const TrailGround>> readGround(const QString& path) {
    auto image = photo::decode(path.toStdString());
    if (!image) return image.error();
    return std::make_shared<const TrailGround>(photo::linearLuminance(std::move(*image)));
}

Result<survey::Edit> makeTrail(const survey::Survey& survey, const TrailWish& wish,
                               const photo::LinearImage& image, const adjust::Solution* solution,
                               const Progress& progress) {
    const auto stopped = [] { return Error{ErrorCode::Cancelled, "the trail was stopped", {}, {}}; };
    fit::TrailOptions options;
    options.closed = wish.closed;
    options.handSigma_px = kHandSigma_px;
    const fit::EdgeFollower follower(image);  // the interface's own one is in use
    const auto trail = fit::followTrail(image, follower, wish.clicks, options);
    if (!trail) return trail.error();
    progress.report(0.3);
    if (progress.cancelled()) return stopped();
    const auto pieces = fit::splitTrail(image, *trail, {}, undistortionOf(solution, wish.station));
    if (!pieces) return pieces.error();
    progress.report(0.9);
    if (progress.cancelled()) return stopped();
    fit::TrailTarget target{wish.station, wish.level, wish.closed};
    target.purpose = wish.purpose;
    return fit::trailEdit(survey, *pieces, target);
}

}  // namespace trammel::ui
