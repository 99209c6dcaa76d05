// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/tasks/FitWork.h"

#include "core/guide/HandFit.h"
#include "core/photo/Decode.h"

namespace trammel::ui {
namespace {

const survey::Mark* fittedIn(const survey::Edit& edit, const survey::Id& id) {
    for (const auto& change : edit.changes)
        if (const auto* put = std::get_if<survey::Put<survey::Mark>>(&change); put && put->object.id == id)
            return &put->object;
    return nullptr;
}

Result<photo::LinearImage> linearPhotograph(const QString& path) {
    auto image = photo::decode(path.toStdString());
    if (!image) return image.error();
    return photo::linearLuminance(std::move(*image));
}

Error stopped() { return {ErrorCode::Cancelled, "the fit was stopped; nothing has changed", {}, {}}; }

}  // namespace

Result<survey::Mark> fitMark(const FitWish& wish, const Progress& progress, std::vector<fit::Rival>* rivals) {
    survey::Survey survey = wish.survey;
    const auto* before = survey::find(wish.survey.marks, wish.mark);
    if (!before) return Error{ErrorCode::NotFound, "the mark is gone", wish.mark, "mark it again"};
    for (auto& m : survey.marks) {
        if (m.id != wish.mark) continue;
        m.origin = survey::MarkOrigin::Hand;  // may be fitted anew
        m.excluded = false;
    }
    fit::RefineOptions options;
    options.onlyMarks = {wish.mark};
    if (wish.along.size() >= 2) options.cornerLegs[wish.mark] = {wish.along[0], wish.along[1]};
    options.scale_px_per_mm = wish.scales;
    if (wish.chosen[0] || wish.chosen[1]) options.chosen[wish.mark] = wish.chosen;
    const auto provide = [&](const survey::Station& s) { return linearPhotograph(wish.paths.at(s.id)); };
    const auto result = fit::refine(survey, provide, options, &progress);
    if (progress.cancelled()) return stopped();
    if (const auto* found = fittedIn(result.edit, wish.mark)) {
        survey::Mark mark = *found;
        mark.excluded = before->excluded;
        return mark;
    }
    // The mark's own photograph is the first to be asked for.
    if (!result.photographs.empty()) return result.photographs.front();
    if (rivals && !result.refusals.empty()) *rivals = result.refusals.front().rivals;
    const std::string why = result.refusals.empty() ? "no edge was found" : result.refusals.front().why;
    return Error{ErrorCode::Refused, why, survey::describe(wish.survey, wish.mark), {}};
}

Result<AllFitted> fitAll(const survey::Survey& survey, const std::map<survey::Id, QString>& paths,
                         const std::map<survey::Id, double>& scales, const Progress& progress) {
    const auto provide = [&](const survey::Station& s) { return linearPhotograph(paths.at(s.id)); };
    fit::RefineOptions options;
    options.scale_px_per_mm = scales;
    const auto result = guide::fitHandMarks(survey, provide, options, &progress);
    if (progress.cancelled()) return stopped();
    if (!result) return result.error();
    AllFitted all{{"Fit all hand marks", {}}, result->disagreeing, {}, result->photographs, result->tried};
    for (const auto& refusal : result->refusals)
        if (!refusal.rivals.empty()) all.between.push_back(refusal.mark);
    for (const auto& mark : result->survey.marks)
        if (const auto* before = survey::find(survey.marks, mark.id); before && !(*before == mark))
            all.edit.changes.push_back(survey::Put<survey::Mark>{mark});
    return all;
}

}  // namespace trammel::ui
