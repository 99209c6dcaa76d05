// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/canvas/CorrectedView.h"

#include <QCoreApplication>
#include <optional>

namespace trammel::ui {

namespace {

QString tr(const char* words) { return QCoreApplication::translate("CorrectedView", words); }

struct Lens {
    camera::Constants constants;
    Vec2 offset = Vec2::Zero();
};

std::optional<Lens> lensOf(const survey::Survey& survey, const adjust::Solution* solution,
                           const survey::Station& station) {
    if (solution)
        if (const auto found = solution->stations.find(station.id); found != solution->stations.end())
            return Lens{found->second.constants, found->second.offset};
    const auto* group = survey::find(survey.groups, station.group);
    if (!group || !(group->principalDistance.value > 0.0)) return std::nullopt;
    camera::Constants k;
    k.c = group->principalDistance.value;
    k.pp = {group->principalX.value, group->principalY.value};
    k.k1 = group->k1.value, k.k2 = group->k2.value, k.k3 = group->k3.value;
    k.p1 = group->p1.value, k.p2 = group->p2.value;
    return Lens{k, station.photo.crop.offset()};
}

}  // namespace

std::shared_ptr<const camera::Correction> correctedView(const survey::Survey& survey,
                                                        const adjust::Solution* solution,
                                                        const survey::Id& id, QString* why) {
    const auto nothing = [&](const QString& sentence) {
        if (why) *why = sentence;
        return nullptr;
    };
    const auto* station = survey::find(survey.stations, id);
    if (!station) return nothing(tr("Choose a photograph first."));
    const auto lens = lensOf(survey, solution, *station);
    const int width = station->photo.width, height = station->photo.height;
    if (!lens || !camera::Correction::worthwhile(lens->constants, lens->offset, width, height))
        return nothing(tr("No distortion of this lens is known: calibrate it, or adjust first."));
    const auto made = camera::Correction::of(lens->constants, lens->offset, width, height);
    if (!made) return nothing(QString::fromStdString(made.error().sentence()));
    return std::make_shared<const camera::Correction>(*made);
}

}  // namespace trammel::ui
