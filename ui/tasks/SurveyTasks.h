// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QObject>
#include <QStringList>

#include "core/math/Types.h"
#include "ui/document/Document.h"
#include "ui/tasks/FitWork.h"
#include "ui/tasks/HandoverWork.h"
#include "ui/tasks/Jobs.h"
#include "ui/tasks/LensWork.h"
#include "ui/tasks/OfferWork.h"
#include "ui/tasks/TrailWork.h"

namespace trammel::ui {

/// The long works of the window: each takes a snapshot, runs as a job, and brings its outcome back to the
/// document if the same survey is still open.
class SurveyTasks : public QObject {
    Q_OBJECT
  public:
    SurveyTasks(Document& document, Jobs& jobs, QObject* parent = nullptr);

    void adjust();
    void addPhotographs(const QStringList& files);
    /// Sets a camera group's constants to a kept lens's.
    void useLens(const LensFound& found);
    /// Missing, unreadable or changed photographs become notices.
    void checkPhotographs();
    using Chosen = std::array<std::optional<fit::Rival>, 2>;
    /// Fits one mark. A corner whose edges cannot be found asks for them (`edgesNeeded`), a mark between two
    /// edges asks which (`rivalsFound`).
    void fitMark(const survey::Id& mark, const std::vector<Vec2>& along = {}, const Chosen& chosen = {});
    /// Fits all hand marks as one act; those that then disagree keep their hand points and are named.
    void fitAll();
    /// Looks in a photograph for the features not marked in it yet, by the last adjustment (`offered`).
    void offerMarks(const survey::Id& station);
    /// Fits an offered mark to the edge that the user chose (`offerFitted`).
    void fitOffer(const fit::Offer& offer, const fit::Rival& chosen);
    /// Reads a photograph for following edges in it (`groundRead`).
    void readGround(const survey::Id& station);
    /// Makes features of a trail as one act (`trailMade`).
    void makeTrail(const TrailWish& wish, std::shared_ptr<const TrailGround> ground);
    void handOver(const handover::Terms& terms, const QString& file);

  Q_SIGNALS:
    void wrong(const trammel::Error& error);
    void said(const QString& sentence);
    void adjusted();
    /// All hand marks were tried; what could be fitted is in the survey.
    void allFitted(const trammel::ui::AllFitted& outcome);
    void edgesNeeded(const std::string& mark, const QString& why);
    void rivalsFound(const std::string& mark, const std::vector<trammel::fit::Rival>& rivals,
                     const std::vector<trammel::Vec2>& along, const SurveyTasks::Chosen& chosen);
    void offered(const std::string& station, const std::vector<trammel::fit::Offer>& offers);
    void groundRead(const std::string& station, std::shared_ptr<const trammel::ui::TrailGround> ground);
    void trailMade(const QString& what);
    void offerFitted(const std::string& feature, const trammel::survey::Mark& mark);
    /// New photographs were taken with a lens that was calibrated and kept.
    void lensFound(const trammel::ui::LensFound& found);
    void handedOver(const QString& file, const trammel::ui::HandedOver& outcome);

  private:
    void perform(const survey::Edit& edit);
    std::map<survey::Id, QString> photographPaths() const;
    struct OneFit;
    void takeFit(const OneFit& fit);
    void takeOffers(const survey::Id& station, const Result<std::vector<fit::Offer>>& offers);
    void takeTrail(const Result<survey::Edit>& edit, quint64 revision);
    void takeFits(const Result<AllFitted>& fitted, quint64 revision);

    Document& document_;
    Jobs& jobs_;
};

}  // namespace trammel::ui
