// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/storage/FrameEdit.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "core/storage/ImportPhotograph.h"

namespace trammel::storage {

using namespace survey;

namespace {

constexpr int kLargestFrame = 1'000'000;  // px, as core/survey takes it
constexpr double kSlack = 0.5;            // px: an offset from a raw developer may be rounded

std::optional<Error> outside(const Survey& s, const Station& station, const FrameAnswer& a) {
    const Photo& p = station.photo;
    const double x = a.offsetKnown ? a.offsetX : 0.0, y = a.offsetKnown ? a.offsetY : 0.0;
    const bool sound =
        std::isfinite(x) && std::isfinite(y) && a.fullWidth <= kLargestFrame && a.fullHeight <= kLargestFrame;
    if (sound && x >= -kSlack && y >= -kSlack && x + p.width <= a.fullWidth + kSlack &&
        y + p.height <= a.fullHeight + kSlack)
        return std::nullopt;
    return Error{
        ErrorCode::BadValue, "this crop does not lie within this frame", describe(s, station.id),
        fmt::format("type frame sizes of at least the photograph's {} × {} px plus what was cut away",
                    p.width, p.height)};
}

FrameCrop cropOf(const Photo& p, const FrameAnswer& a) {
    const bool whole = p.width == a.fullWidth && p.height == a.fullHeight;
    if (a.offsetKnown) return {a.fullWidth, a.fullHeight, a.offsetX, a.offsetY, true};
    return {a.fullWidth, a.fullHeight, 0.5 * (a.fullWidth - p.width), 0.5 * (a.fullHeight - p.height), whole};
}

/// The group with the principal point near the middle of this frame.
CameraGroup centred(CameraGroup g, const FrameAnswer& a) {
    const double doubt = kPrincipalPointSigma * std::max(a.fullWidth, a.fullHeight);
    const auto better = [&](const Constant& c) {
        return c.mode == ConstantMode::Fixed ||
               (c.mode == ConstantMode::Prior && c.sigma > 0.0 && c.sigma < 0.5 * doubt);
    };
    if (better(g.principalX) || better(g.principalY)) return g;
    g.principalX = {(a.fullWidth - 1) / 2.0, doubt, ConstantMode::Prior};
    g.principalY = {(a.fullHeight - 1) / 2.0, doubt, ConstantMode::Prior};
    return g;
}

}  // namespace

FrameAnswer wholeFrame(const Photo& photo) { return {photo.width, photo.height, true, 0.0, 0.0}; }

std::vector<Id> unanswered(const Survey& survey, const Id& station) {
    std::vector<Id> out;
    const Station* of = find(survey.stations, station);
    if (!of) return out;
    for (const Station& s : survey.stations)
        if (s.id != station && s.group == of->group && !s.photo.crop.known) out.push_back(s.id);
    return out;
}

Result<Edit> frameEdit(const Survey& survey, const Id& id, const FrameAnswer& answer, bool others) {
    const Station* station = find(survey.stations, id);
    if (!station)
        return Error{ErrorCode::NotFound, "the survey has no such photograph", id, "choose another one"};
    if (const auto no = outside(survey, *station, answer)) return *no;
    std::vector<Station> changed{*station};
    changed.front().photo.crop = cropOf(station->photo, answer);
    FrameAnswer sizeAlone = answer;
    sizeAlone.offsetKnown = false;
    if (others)
        for (const Id& other : unanswered(survey, id)) {
            const Station& s = *find(survey.stations, other);
            if (outside(survey, s, sizeAlone)) continue;
            changed.push_back(s);
            changed.back().photo.crop = cropOf(s.photo, sizeAlone);
        }
    const bool alone = std::any_of(survey.stations.begin(), survey.stations.end(), [&](const Station& s) {
        const bool moved =
            std::any_of(changed.begin(), changed.end(), [&](const Station& c) { return c.id == s.id; });
        const FrameCrop& c = s.photo.crop;
        return s.group == station->group && !moved &&
               (c.fullWidth != answer.fullWidth || c.fullHeight != answer.fullHeight);
    });
    Edit edit{"Set the frame of " + describe(survey, id), {}};
    if (const CameraGroup* group = find(survey.groups, station->group)) {
        CameraGroup own = centred(*group, answer);
        if (alone) own.id = freshId(survey, 'G');
        for (Station& s : changed) s.group = own.id;
        if (alone || own != *group) edit.changes.push_back(Put<CameraGroup>{own});
    }
    for (const Station& s : changed) edit.changes.push_back(Put<Station>{s});
    return edit;
}

}  // namespace trammel::storage
