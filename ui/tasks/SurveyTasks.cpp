// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/tasks/SurveyTasks.h"

#include <QCoreApplication>
#include <algorithm>

#include "core/adjust/Adjust.h"
#include "core/adjust/Report.h"
#include "core/storage/SurveyFile.h"
#include "core/survey/Names.h"
#include "ui/tasks/PhotographsWork.h"

namespace trammel::ui {
namespace {

/// What a fit did: how far the middle of the points moved, and how well the picture tells their place.
QString fitWords(const QString& name, const survey::Mark& before, const survey::Mark& fitted) {
    const auto middle = [](const survey::Mark& m) {
        Vec2 sum = Vec2::Zero();
        for (const auto& p : m.points) sum += p.px / static_cast<double>(m.points.size());
        return sum;
    };
    double sigma = 0.0;
    for (const auto& p : fitted.points) sigma = std::max(sigma, p.sigma_px);
    const QString known = QString::number(2.0 * sigma, 'f', 2);
    if (fitted.points.size() > 1)
        return QCoreApplication::translate("SurveyTasks",
                                           "%1 was fitted: %2 points on its edge, each ± %3 px or better.")
            .arg(name)
            .arg(fitted.points.size())
            .arg(known);
    return QCoreApplication::translate("SurveyTasks", "%1 was fitted: moved %2 px, now ± %3 px.")
        .arg(name)
        .arg((middle(fitted) - middle(before)).norm(), 0, 'f', 1)
        .arg(known);
}

}  // namespace

SurveyTasks::SurveyTasks(Document& document, Jobs& jobs, QObject* parent)
    : QObject(parent), document_(document), jobs_(jobs) {}

void SurveyTasks::perform(const survey::Edit& edit) {
    if (const auto done = document_.perform(edit); !done) Q_EMIT wrong(done.error());
}

void SurveyTasks::adjust() {
    const QString name = tr("Adjusting");
    if (!document_.isOpen() || jobs_.running(name)) return;
    const auto identity = document_.identity();
    const auto revision = document_.revision();
    jobs_.run(name,
              [this, survey = document_.survey(), previous = document_.solution(), identity,
               revision](const Progress& progress) -> Jobs::Outcome {
                  adjust::Options options;
                  options.previous = previous;  // mostly one edit away: a fraction of the time
                  auto solved = adjust::adjust(survey, options, &progress);
                  if (!solved) {
                      return [this, error = solved.error()] {
                          if (error.code == ErrorCode::Cancelled)
                              Q_EMIT said(tr("The adjustment was stopped; nothing has changed."));
                          else
                              Q_EMIT wrong(error);
                      };
                  }
                  auto solution = std::make_shared<const adjust::Solution>(std::move(*solved));
                  // here, because it takes a noticeable time in a large survey
                  auto advice = std::make_shared<const Result<adjust::Advice>>(adjust::advise(*solution));
                  return [this, solution, advice, identity, revision] {
                      if (document_.identity() != identity) return;
                      document_.setSolution(solution, revision, advice);
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
        survey::Survey after = survey;
        std::vector<LensFound> lenses;
        if (survey::apply(after, read.edit))
            lenses = keptLensesFor(after, read.edit, base.parent_path(),
                                   calibrate::LensStore(calibrate::usersLensFolder()));
        return [this, read, lenses, identity] {
            if (document_.identity() != identity) return;
            for (const auto& problem : read.problems) Q_EMIT wrong(problem);
            for (const auto& note : read.notes) Q_EMIT said(QString::fromStdString(note));
            if (!read.edit.changes.empty()) perform(read.edit);
            for (const auto& found : lenses) Q_EMIT lensFound(found);
        };
    };
    jobs_.run(tr("Reading photographs"), work);
}

void SurveyTasks::useLens(const LensFound& found) {
    const auto edit = calibrate::useLens(document_.survey(), found.group, found.match.record);
    if (!edit) return Q_EMIT wrong(edit.error());
    perform(*edit);
}

/// A folder that was moved is one mishap, not one for each photograph.
constexpr std::size_t kNamedOneByOne = 3;

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
            if (problems.size() > kNamedOneByOne)
                return Q_EMIT wrong({problems.front().code,
                                     std::to_string(problems.size()) +
                                         " photographs are missing or were changed, this one first",
                                     problems.front().object,
                                     "put them back beside the survey, or save it where they are"});
            for (const auto& problem : problems) Q_EMIT wrong(problem);
        };
    });
}

std::map<survey::Id, QString> SurveyTasks::photographPaths() const {
    std::map<survey::Id, QString> paths;
    for (const auto& s : document_.survey().stations)
        paths[s.id] = QString::fromStdString(document_.photoPath(s).string());
    return paths;
}

/// One mark, how it was to be fitted, and what came of it.
struct SurveyTasks::OneFit {
    survey::Mark before;
    FitWish wish;
    bool mayAsk = false;
    Result<survey::Mark> fitted = Error{};
    std::vector<fit::Rival> rivals{};
};

void SurveyTasks::fitMark(const survey::Id& id, const std::vector<Vec2>& along, const Chosen& chosen) {
    const auto& survey = document_.survey();
    const auto* mark = survey::find(survey.marks, id);
    const auto* feature = mark ? survey::find(survey.features, mark->feature) : nullptr;
    if (!feature) return;
    const bool mayAsk = feature->kind == survey::FeatureKind::Corner && along.empty();
    const OneFit one{
        *mark,
        {survey, id, along, photographPaths(), chosen, adjust::scalesOf(document_.solution().get())},
        mayAsk};
    const auto identity = document_.identity();
    const auto work = [this, one, identity](const Progress& progress) -> Jobs::Outcome {
        OneFit done = one;
        done.fitted = ui::fitMark(one.wish, progress, &done.rivals);
        return [this, done, identity] {
            if (document_.identity() == identity) takeFit(done);
        };
    };
    jobs_.run(tr("Fitting"), work);
}

void SurveyTasks::takeFit(const OneFit& fit) {
    const auto& survey = document_.survey();
    const survey::Mark& before = fit.before;
    const auto& fitted = fit.fitted;
    const auto* now = survey::find(survey.marks, before.id);
    if (!now || !(*now == before)) return;  // moved or removed meanwhile: the user's hand goes first
    if (fitted) {
        const std::string name = survey::describe(survey, before.id);
        const QString words = fitWords(QString::fromStdString(name), before, *fitted);
        perform({"Fit " + name, {survey::Put<survey::Mark>{*fitted}}});
        return Q_EMIT said(words);
    }
    if (!fit.rivals.empty())
        return Q_EMIT rivalsFound(before.id, fit.rivals, fit.wish.along, fit.wish.chosen);
    const auto& error = fitted.error();
    if (error.code == ErrorCode::Cancelled)
        return Q_EMIT said(tr("The fit was stopped; nothing has changed."));
    if (fit.mayAsk && error.code == ErrorCode::Refused)
        return Q_EMIT edgesNeeded(before.id, QString::fromStdString(error.sentence()));
    Q_EMIT wrong(error);
}

void SurveyTasks::fitAll() {
    const QString name = tr("Fitting all hand marks");
    if (!document_.isOpen() || jobs_.running(name)) return;
    const auto revision = document_.revision();
    const auto work = [this, survey = document_.survey(), paths = photographPaths(),
                       scales = adjust::scalesOf(document_.solution().get()),
                       revision](const Progress& progress) -> Jobs::Outcome {
        auto fitted = ui::fitAll(survey, paths, scales, progress);
        return [this, fitted, revision] { takeFits(fitted, revision); };
    };
    jobs_.run(name, work);
}

void SurveyTasks::takeFits(const Result<AllFitted>& fitted, quint64 revision) {
    if (!fitted) {
        if (fitted.error().code != ErrorCode::Cancelled) return Q_EMIT wrong(fitted.error());
        return Q_EMIT said(tr("The fit was stopped; nothing has changed."));
    }
    if (document_.revision() != revision)
        return Q_EMIT said(
            tr("The survey changed while marks were fitted; nothing was taken over. Fit again."));
    for (const auto& problem : fitted->photographs) Q_EMIT wrong(problem);
    if (!fitted->edit.changes.empty()) perform(fitted->edit);
    Q_EMIT allFitted(*fitted);
}

void SurveyTasks::offerMarks(const survey::Id& station) {
    const QString name = tr("Looking for marks to offer");
    if (!survey::find(document_.survey().stations, station) || jobs_.running(name)) return;
    if (!document_.solution())
        return Q_EMIT said(tr("Adjust first: marks are offered where the adjustment expects features."));
    const OfferWish wish{document_.survey(), station, document_.solution(), photographPaths()};
    const auto identity = document_.identity();
    jobs_.run(name, [this, wish, identity](const Progress& progress) -> Jobs::Outcome {
        auto offers = ui::offerMarks(wish, progress);
        return [this, offers, identity, station = wish.station] {
            if (document_.identity() == identity) takeOffers(station, offers);
        };
    });
}

void SurveyTasks::takeOffers(const survey::Id& station, const Result<std::vector<fit::Offer>>& offers) {
    if (!offers && offers.error().code == ErrorCode::Cancelled)
        return Q_EMIT said(tr("The looking for marks was stopped; nothing has changed."));
    if (!offers) return Q_EMIT wrong(offers.error());
    Q_EMIT offered(station, *offers);
}

void SurveyTasks::fitOffer(const fit::Offer& offer, const fit::Rival& chosen) {
    if (!document_.solution()) return;
    const OfferWish wish{document_.survey(), offer.expected.station, document_.solution(), photographPaths()};
    const auto identity = document_.identity();
    jobs_.run(tr("Fitting"), [this, wish, offer, chosen, identity](const Progress&) -> Jobs::Outcome {
        auto fitted = ui::fitOffer(wish, offer, chosen);
        return [this, fitted, identity, feature = offer.expected.feature] {
            if (document_.identity() != identity) return;
            if (fitted)
                Q_EMIT offerFitted(feature, *fitted);
            else
                Q_EMIT wrong(fitted.error());
        };
    });
}

void SurveyTasks::readGround(const survey::Id& station) {
    const auto* found = survey::find(document_.survey().stations, station);
    if (!found) return;
    const QString path = QString::fromStdString(document_.photoPath(*found).string());
    const auto identity = document_.identity();
    jobs_.run(tr("Reading the photograph"),
              [this, path, station, identity](const Progress&) -> Jobs::Outcome {
                  auto ground = ui::readGround(path);
                  return [this, ground, station, identity] {
                      if (document_.identity() != identity) return;
                      if (!ground) return Q_EMIT wrong(ground.error());
                      Q_EMIT groundRead(station, *ground);
                  };
              });
}

void SurveyTasks::makeTrail(const TrailWish& wish, std::shared_ptr<const TrailGround> ground) {
    const QString name = tr("Following the trail");
    if (!ground || jobs_.running(name)) return;
    const auto revision = document_.revision();
    const auto work = [this, wish, ground, survey = document_.survey(), solution = document_.solution(),
                       revision](const Progress& progress) -> Jobs::Outcome {
        const auto edit = ui::makeTrail(survey, wish, ground->image, solution.get(), progress);
        return [this, edit, revision] { takeTrail(edit, revision); };
    };
    jobs_.run(name, work);
}

void SurveyTasks::takeTrail(const Result<survey::Edit>& edit, quint64 revision) {
    if (!edit && edit.error().code == ErrorCode::Cancelled)
        return Q_EMIT said(tr("The trail was stopped; its clicks are still there."));
    if (!edit) return Q_EMIT wrong(edit.error());
    if (document_.revision() != revision)
        return Q_EMIT said(tr("The survey changed meanwhile; press Enter again."));
    if (const auto done = document_.perform(*edit); !done) return Q_EMIT wrong(done.error());
    std::map<survey::FeatureKind, int> count;
    for (const auto& change : edit->changes)
        if (const auto* put = std::get_if<survey::Put<survey::Feature>>(&change)) ++count[put->object.kind];
    QStringList what;
    for (const auto& [kind, n] : count)
        what << tr("%1 %2%3").arg(n).arg(QString::fromLatin1(survey::kindName(kind).data()),
                                         n == 1 ? QString() : QStringLiteral("s"));
    Q_EMIT trailMade(what.join(QStringLiteral(", ")));
}

void SurveyTasks::handOver(const handover::Terms& terms, const QString& file) {
    if (!document_.solution() || file.isEmpty()) return;
    HandoverWish wish{document_.survey(), document_.solution(), terms, file.toStdString(),
                      document_.revision()};
    jobs_.run(tr("Writing the drawing"), [this, wish, file](const Progress& progress) -> Jobs::Outcome {
        auto outcome = ui::handOver(wish, &progress);
        return [this, outcome, file] {
            if (outcome)
                Q_EMIT handedOver(file, *outcome);
            else
                Q_EMIT wrong(outcome.error());
        };
    });
}

}  // namespace trammel::ui
