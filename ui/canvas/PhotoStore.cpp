// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/canvas/PhotoStore.h"

#include <QMetaObject>
#include <algorithm>
#include <mutex>
#include <new>
#include <tuple>

#include "core/photo/Decode.h"
#include "ui/canvas/Pyramid.h"

namespace trammel::ui {
namespace {

constexpr int kThumbnailWidth = 320;

int shrinkFor(double scale) {
    if (scale > 0.5) return 1;
    if (scale > 0.25) return 2;
    return scale > 0.125 ? 4 : 8;
}

}  // namespace

struct PhotoStore::Shared {
    std::mutex mutex;
    QString latestWhole;
    bool stopping = false;

    void wish(const QString& path) {
        const std::lock_guard lock(mutex);
        latestWhole = path;
    }
    void stop() {
        const std::lock_guard lock(mutex);
        stopping = true;
    }
    bool stopped() {
        const std::lock_guard lock(mutex);
        return stopping;
    }
    bool stillWanted(const QString& path, int shrink) {
        const std::lock_guard lock(mutex);
        return shrink > 1 || latestWhole == path;
    }
};

PhotoStore::PhotoStore(qint64 budget, QObject* parent)
    : QObject(parent), budget_(budget), shared_(std::make_shared<Shared>()) {
    worker_.setMaxThreadCount(1);  // one at a time bounds the memory that decoding needs
}

PhotoStore::~PhotoStore() {
    shared_->stop();
    worker_.clear();
    worker_.waitForDone();
}

Picture PhotoStore::at(const QString& path, double scale) {
    const int wish = shrinkFor(scale);
    ++clock_;
    if (wish < 8) shared_->wish(path);
    Picture best;
    for (int shrink : {1, 2, 4, 8}) {
        const auto it = levels_.find({path, shrink});
        if (it == levels_.end()) continue;
        it->second.lastUse = clock_;
        // the coarsest that is fine enough, else the finest there is
        if (best.image.isNull() || shrink <= wish) best = {it->second.image, shrink};
    }
    const bool nothing = best.image.isNull();
    if (nothing) sendFor(path, 8);
    if (const auto it = previews_.constFind(path); nothing && it != previews_.constEnd()) best = {*it, 8};
    if (wish < 8 && (nothing || best.shrink > wish)) sendFor(path, 1);
    return best;
}

QImage PhotoStore::thumbnail(const QString& path) {
    const auto it = thumbnails_.constFind(path);
    if (it != thumbnails_.constEnd()) return *it;
    sendFor(path, 8);
    return {};
}

QImage PhotoStore::whole(const QString& path) const {
    const auto it = levels_.find({path, 1});
    return it == levels_.end() ? QImage() : it->second.image;
}

void PhotoStore::retry(const QString& path) {
    if (problems_.remove(path)) sendFor(path, 8);
}

void PhotoStore::retryAll() {
    for (const QString& path : problems_.keys()) retry(path);
}

qint64 PhotoStore::bytesHeld() const {
    qint64 sum = 0;
    for (const auto& [key, level] : levels_) sum += level.image.sizeInBytes();
    return sum;
}

void PhotoStore::sendFor(const QString& path, int shrink) {
    if (path.isEmpty() || problems_.contains(path) || !wanted_.emplace(Key{path, shrink}, true).second)
        return;
    auto* job = QRunnable::create([this, path, shrink, shared = shared_] {
        if (shared->stopped()) return;
        if (shrink == 8) {  // something to see at once
            const QImage small = embedded(path);
            if (shared->stopped()) return;
            if (!small.isNull()) {
                const auto show = [this, path, small] { takePreview(path, small); };
                QMetaObject::invokeMethod(this, show, Qt::QueuedConnection);
            }
        }
        auto decoded = std::make_shared<Decoded>();
        if (shared->stillWanted(path, shrink)) *decoded = decodeSafely(path, shrink);
        if (shared->stopped()) return;
        const auto hand = [this, path, shrink, decoded] { take(path, shrink, std::move(*decoded)); };
        QMetaObject::invokeMethod(this, hand, Qt::QueuedConnection);
    });
    worker_.start(job, shrink == 1 ? 0 : 1);  // small pictures first: something to see for every photograph
}

PhotoStore::Decoded PhotoStore::decode(const QString& path, int shrink) {
    Decoded result;
    auto image = photo::decode(path.toStdString(), shrink, photo::Depth::ForEye);
    if (!image) {
        result.problem = QString::fromStdString(image.error().sentence());
        return result;
    }
    result.levels = pyramidOf(*image, shrink);
    const QImage& level = result.levels.at(8);
    result.thumbnail = level.width() > kThumbnailWidth
                           ? level.scaledToWidth(kThumbnailWidth, Qt::SmoothTransformation)
                           : level;
    return result;
}

QImage PhotoStore::embedded(const QString& path) {
    try {
        const auto small = photo::preview(path.toStdString());
        const auto stored = photo::storedSize(path.toStdString());
        if (!small || !*small || !stored) return {};
        // As wide as the picture of an eighth that will take its place.
        const bool upright = ((*small)->width > (*small)->height) == (stored->width > stored->height);
        const int w = upright ? stored->width : stored->height, h = upright ? stored->height : stored->width;
        return pyramidOf(**small, 8)
            .at(8)
            .scaled((w + 7) / 8, (h + 7) / 8, Qt::IgnoreAspectRatio, Qt::SmoothTransformation);
    } catch (const std::bad_alloc&) {
        return {};
    }
}

void PhotoStore::takePreview(const QString& path, const QImage& small) {
    if (thumbnails_.contains(path)) return;  // the real one was quicker
    previews_[path] = small;
    Q_EMIT arrived(path);
}

PhotoStore::Decoded PhotoStore::decodeSafely(const QString& path, int shrink) {
    try {
        return decode(path, shrink);
    } catch (const std::bad_alloc&) {
        Decoded result;
        result.problem = tr("%1: there is not enough memory to show it.").arg(path);
        return result;
    }
}

void PhotoStore::take(const QString& path, int shrink, Decoded decoded) {
    wanted_.erase({path, shrink});
    ++clock_;
    previews_.remove(path);
    if (!decoded.problem.isEmpty()) problems_[path] = decoded.problem;
    if (!decoded.thumbnail.isNull()) thumbnails_[path] = decoded.thumbnail;
    for (auto& [s, image] : decoded.levels) levels_[{path, s}] = {std::move(image), clock_};
    makeRoom();
    Q_EMIT arrived(path);
}

void PhotoStore::makeRoom() {
    qint64 held = bytesHeld();
    while (held > budget_ && levels_.size() > 1) {
        // oldest first; of equally old ones the largest
        const auto oldest =
            std::min_element(levels_.begin(), levels_.end(), [](const auto& a, const auto& b) {
                return std::tuple(a.second.lastUse, a.first.second) <
                       std::tuple(b.second.lastUse, b.first.second);
            });
        held -= oldest->second.image.sizeInBytes();
        levels_.erase(oldest);
    }
}

}  // namespace trammel::ui
