// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QHash>
#include <QImage>
#include <QObject>
#include <QThreadPool>
#include <map>
#include <memory>

#include "core/unfold/Rectify.h"

namespace trammel::ui {

/// What a view of the sheet wants to show of its photograph.
struct PictureWish {
    QString path;
    unfold::Plane plane;
    unfold::Window window;
};

/// A rectified picture and what of the sheet it covers.
struct RectifiedPicture {
    QImage image;
    unfold::Window window;
    double depth = 0.0;
    QString path;
    camera::Pose pose;
};

/// Rectified photographs for the sheet, made one after the other on a worker at the screen's resolution. A
/// wish stops the work on the one before for the same view. Decoded photographs are kept up to a bound, the
/// ones used last; of large ones only the size that the screen needs is decoded.
class UnfoldedPictures : public QObject {
    Q_OBJECT
  public:
    explicit UnfoldedPictures(QObject* parent = nullptr);
    ~UnfoldedPictures() override;

    void want(const unfold::Arrangement& arrangement, const PictureWish& wish);
    const RectifiedPicture* at(unfold::View view) const;
    /// A sentence of what is wrong with a photograph's file; empty when nothing is.
    QString problem(const QString& path) const { return problems_.value(path); }
    bool anyProblem() const { return !problems_.isEmpty(); }
    bool busy() const { return !running_.empty(); }
    /// Forgets everything: another survey, another arrangement, files that may be there again.
    void clear();

    static constexpr std::size_t kBudget = 150'000'000;  ///< bytes of decoded photographs

  Q_SIGNALS:
    void arrived();

  private:
    struct Shelf;
    struct Running {
        std::shared_ptr<Progress> progress;
        PictureWish wish;
    };
    void take(unfold::View view, const std::shared_ptr<Progress>& progress, RectifiedPicture picture,
              const QString& problem);

    std::map<unfold::View, RectifiedPicture> pictures_;
    std::map<unfold::View, Running> running_;
    QHash<QString, QString> problems_;
    std::shared_ptr<Shelf> shelf_;
    QThreadPool worker_;
};

}  // namespace trammel::ui
