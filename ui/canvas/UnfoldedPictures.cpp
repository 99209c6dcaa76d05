// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/canvas/UnfoldedPictures.h"

#include <QMetaObject>
#include <algorithm>
#include <list>
#include <mutex>
#include <new>

#include "core/photo/Decode.h"

namespace trammel::ui {

/// Decoded photographs, used last first. Only the worker reads files, but it may be another thread each time.
struct UnfoldedPictures::Shelf {
    struct Book {
        QString path;
        int shrink = 1;
        std::shared_ptr<const photo::Image> image;
    };
    std::mutex mutex;
    std::list<Book> books;

    Result<std::shared_ptr<const photo::Image>> take(const QString& path, int shrink) {
        {
            const std::lock_guard lock(mutex);
            const auto it = std::ranges::find_if(
                books, [&](const Book& b) { return b.path == path && b.shrink == shrink; });
            if (it != books.end()) {
                books.splice(books.begin(), books, it);
                return books.front().image;
            }
        }
        auto decoded = photo::decode(path.toStdString(), shrink);
        if (!decoded) return decoded.error();
        auto image = std::make_shared<const photo::Image>(std::move(*decoded));
        const std::lock_guard lock(mutex);
        books.push_front({path, shrink, image});
        std::size_t held = 0;
        for (auto it = books.begin(); it != books.end();) {
            held += it->image->data.size();
            it = held > kBudget && it != books.begin() ? books.erase(it) : std::next(it);
        }
        return image;
    }
    void clear() {
        const std::lock_guard lock(mutex);
        books.clear();
    }
};

namespace {

bool same(const PictureWish& a, const PictureWish& b) {
    return a.path == b.path && a.plane.view == b.plane.view && a.plane.depth == b.plane.depth &&
           a.window.topLeft == b.window.topLeft && a.window.pxPerMm == b.window.pxPerMm &&
           a.window.width == b.window.width && a.window.height == b.window.height &&
           a.plane.station.pose.R == b.plane.station.pose.R &&
           a.plane.station.pose.t == b.plane.station.pose.t;
}

}  // namespace

UnfoldedPictures::UnfoldedPictures(QObject* parent) : QObject(parent), shelf_(std::make_shared<Shelf>()) {
    worker_.setMaxThreadCount(1);
}

UnfoldedPictures::~UnfoldedPictures() {
    for (auto& [view, running] : running_) running.progress->cancel();
    worker_.clear();
    worker_.waitForDone();
}

const RectifiedPicture* UnfoldedPictures::at(unfold::View view) const {
    const auto it = pictures_.find(view);
    return it == pictures_.end() ? nullptr : &it->second;
}

void UnfoldedPictures::clear() {
    for (auto& [view, running] : running_) running.progress->cancel();
    running_.clear();
    pictures_.clear();
    problems_.clear();
    shelf_->clear();
}

void UnfoldedPictures::want(const unfold::Arrangement& arrangement, const PictureWish& wish) {
    const unfold::View view = wish.plane.view;
    if (const auto it = running_.find(view); it != running_.end()) {
        if (same(it->second.wish, wish)) return;
        it->second.progress->cancel();
        running_.erase(it);
    }
    if (problems_.contains(wish.path)) return;
    auto progress = std::make_shared<Progress>();
    running_[view] = {progress, wish};
    worker_.start([this, arrangement, wish, view, progress, shelf = shelf_] {
        RectifiedPicture picture{{}, wish.window, wish.plane.depth, wish.path, wish.plane.station.pose};
        QString problem;
        try {
            if (progress->cancelled()) return;
            const int shrink = unfold::shrinkFor(wish.plane.station, wish.window.pxPerMm);
            const auto source = shelf->take(wish.path, shrink);
            if (source) {
                const photo::Image& image = **source;
                const auto made = unfold::rectify(
                    arrangement, wish.plane, wish.window,
                    {image.data.data(), image.width, image.height, image.channels, shrink}, progress.get());
                if (made)
                    picture.image = QImage(made->data(), wish.window.width, wish.window.height,
                                           4 * wish.window.width, QImage::Format_RGBA8888_Premultiplied)
                                        .convertToFormat(QImage::Format_ARGB32_Premultiplied);
                else if (made.error().code != ErrorCode::Cancelled)
                    problem = QString::fromStdString(made.error().sentence());
            } else {
                problem = QString::fromStdString(source.error().sentence());
            }
        } catch (const std::bad_alloc&) {
            problem = tr("%1: there is not enough memory to show it.").arg(wish.path);
        }
        if (progress->cancelled()) return;
        QMetaObject::invokeMethod(
            this, [this, view, progress, picture, problem] { take(view, progress, picture, problem); },
            Qt::QueuedConnection);
    });
}

void UnfoldedPictures::take(unfold::View view, const std::shared_ptr<Progress>& progress,
                            RectifiedPicture picture, const QString& problem) {
    const auto it = running_.find(view);
    if (it == running_.end() || it->second.progress != progress) return;  // another wish since
    running_.erase(it);
    if (!problem.isEmpty()) problems_[picture.path] = problem;
    pictures_[view] = std::move(picture);
    Q_EMIT arrived();
}

}  // namespace trammel::ui
