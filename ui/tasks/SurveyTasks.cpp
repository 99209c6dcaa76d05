// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/tasks/SurveyTasks.h"

#include "core/adjust/Adjust.h"
#include "core/adjust/Report.h"
#include "core/fit/RefineSurvey.h"
#include "core/storage/SurveyFile.h"
#include "ui/tasks/FitWork.h"
#include "ui/tasks/PhotographsWork.h"

namespace trammel::ui {

SurveyTasks::SurveyTasks(Document& document, PhotoStore& store, Jobs& jobs, QObject* parent)
    : QObject(parent), document_(document), store_(store), jobs_(jobs) {}

void SurveyTasks::perform(const survey::Edit& edit) {
    if (const auto done = document_.perform(edit); !done) Q_EMIT wrong(done.error());
}

void SurveyTasks::adjust() {
    const QString name = tr("Adjusting");
    if (!document_.isOpen() || jobs_.running(name)) return;
    const auto identity = document_.identity();
    const auto revision = document_.revision();
    jobs_.run(
        name,
        [this, survey = document_.survey(), identity, revision](const Progress& progress) -> Jobs::Outcome {
            auto solved = adjust::adjust(survey, {}, &progress);
            if (!solved) {
                return [this, error = solved.error()] {
                    if (error.code == ErrorCode::Cancelled)
                        Q_EMIT said(tr("The adjustment was stopped; nothing has changed."));
                    else
                        Q_EMIT wrong(error);
                };
            }
            auto solution = std::make_shared<const adjust::Solution>(std::move(*solved));
            return [this, solution, identity, revision] {
                if (document_.identity() != identity) return;
                document_.setSolution(solution, revision);
                Q_EMIT adjusted();
            };
        });
}

void SurveyTasks::addPhotographs(const QStringList& files) {
    std::vector<std::filesystem::path> paths;
    for (const auto& file : files) paths.emplace_back(file.toStdString());
    if (paths.empty()) return;
    const auto identity = document_.identity();
    const auto& folder = document_.photoFolder();
    const auto base = folder.empty() ? folder : folder / "survey.trammel";  // only the folder matters
    const auto work = [this, survey = document_.survey(), base, paths,
                       identity](const Progress& progress) -> Jobs::Outcome {
        const auto read = readPhotographs(survey, base, paths, progress);
        return [this, read, identity] {
            if (document_.identity() != identity) return;
            for (const auto& problem : read.problems) Q_EMIT wrong(problem);
            for (const auto& note : read.notes) Q_EMIT said(QString::fromStdString(note));
            if (!read.edit.changes.empty()) perform(read.edit);
        };
    };
    jobs_.run(tr("Reading photographs"), work);
}

void SurveyTasks::checkPhotographs() {
    if (document_.survey().stations.empty()) return;
    // Absolute paths make the check independent of where the survey file lies.
    auto survey = withPhotoPathsFrom(document_.survey(), document_.photoFolder(), document_.photoFolder());
    const auto file = document_.photoFolder() / "survey.trammel";
    const auto identity = document_.identity();
    jobs_.run(tr("Checking photographs"), [this, survey, file, identity](const Progress&) -> Jobs::Outcome {
        const auto problems = storage::checkPhotographs(survey, file);
        return [this, problems, identity] {
            if (document_.identity() != identity) return;
            for (const auto& problem : problems) Q_EMIT wrong(problem);
        };
    });
}

void SurveyTasks::fitMark(const survey::Id& id, const std::vector<Vec2>& along) {
    const auto& survey = document_.survey();
    const auto* mark = survey::find(survey.marks, id);
    const auto* feature = mark ? survey::find(survey.features, mark->feature) : nullptr;
    const auto* station = mark ? survey::find(survey.stations, mark->station) : nullptr;
    if (!feature || !station) return;
    const auto path = QString::fromStdString(document_.photoPath(*station).string());
    FitWish wish{survey, *mark, feature->kind, along};
    const bool mayAsk = feature->kind == survey::FeatureKind::Corner && along.empty();
    const auto identity = document_.identity();
    const auto work = [this, wish, whole = store_.whole(path), path, mayAsk,
                       identity](const Progress&) -> Jobs::Outcome {
        auto fitted = ui::fitMark(wish, whole, path);
        return [this, before = wish.mark, fitted, mayAsk, identity] {
            if (document_.identity() == identity) takeFit(before, fitted, mayAsk);
        };
    };
    jobs_.run(tr("Fitting"), work);
}

void SurveyTasks::takeFit(const survey::Mark& before, const Result<survey::Mark>& fitted, bool mayAsk) {
    const auto& survey = document_.survey();
    const auto* now = survey::find(survey.marks, before.id);
    if (!now || !(*now == before)) return;  // moved or removed meanwhile: the user's hand goes first
    if (!fitted && mayAsk)
        return Q_EMIT edgesNeeded(before.id, QString::fromStdString(fitted.error().sentence()));
    if (!fitted) return Q_EMIT wrong(fitted.error());
    perform({"Fit " + survey::describe(survey, before.id), {survey::Put<survey::Mark>{*fitted}}});
}

void SurveyTasks::fitAll() {
    const auto revision = document_.revision();
    // The provider runs on the worker: it gets the places of the files, not the document.
    std::map<survey::Id, QString> paths;
    for (const auto& s : document_.survey().stations)
        paths[s.id] = QString::fromStdString(document_.photoPath(s).string());
    const auto work = [this, survey = document_.survey(), paths,
                       revision](const Progress& progress) -> Jobs::Outcome {
        const auto provide = [&](const survey::Station& station) {
            return linearPhotograph(paths.at(station.id));
        };
        auto result = fit::refine(survey, provide, {}, &progress);
        return [this, result, revision] {
            if (document_.revision() != revision)
                return Q_EMIT said(
                    tr("The survey changed while marks were fitted; nothing was taken over. Fit again."));
            for (const auto& problem : result.photographs) Q_EMIT wrong(problem);
            if (!result.edit.changes.empty()) {
                auto edit = result.edit;
                edit.name = "Fit all hand marks";
                perform(edit);
            }
            Q_EMIT said(
                tr("%1 of %2 hand marks were fitted to the photographs; the others stay as they were.")
                    .arg(result.fitted)
                    .arg(result.tried));
        };
    };
    jobs_.run(tr("Fitting all hand marks"), work);
}

void SurveyTasks::handOver(const handover::Terms& terms, const QString& file) {
    if (!document_.solution() || file.isEmpty()) return;
    HandoverWish wish{document_.survey(), document_.solution(), terms, file.toStdString()};
    jobs_.run(tr("Writing the drawing"), [this, wish, file](const Progress&) -> Jobs::Outcome {
        auto outcome = ui::handOver(wish);
        return [this, outcome, file] {
            if (outcome)
                Q_EMIT handedOver(file, *outcome);
            else
                Q_EMIT wrong(outcome.error());
        };
    });
}

}  // namespace trammel::ui
