// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QHash>
#include <QImage>
#include <QObject>
#include <QThreadPool>
#include <map>
#include <memory>

namespace trammel::ui {

/// A picture of a photograph, halved `shrink` = 1, 2, 4 or 8 times over.
struct Picture {
    QImage image;  ///< null when nothing is at hand yet
    int shrink = 1;
};

/// Decoded photographs as pyramids, within a bound of memory. The first picture is the camera's own small one
/// where the file holds it. Decoding happens on one worker thread; the
/// interface asks for the scale it wants, gets the best at hand, and is told when better arrives. Whole
/// pictures are held for the photographs looked at last; of the others only small ones.
class PhotoStore : public QObject {
    Q_OBJECT
  public:
    /// 400 MB hold three photographs of 24 megapixels whole (128 MB each with their smaller levels); the
    /// decoder needs another 250 MB for a moment, which leaves the process well under a gigabyte.
    static constexpr qint64 kBudget = qint64(400) * 1000 * 1000;

    explicit PhotoStore(qint64 budget = kBudget, QObject* parent = nullptr);
    ~PhotoStore() override;

    /// Best picture at hand to be shown at `scale` screen px per photograph px; a better one is sent for.
    Picture at(const QString& path, double scale);

    /// Small picture for lists, at most 320 px wide; null until decoded, then kept.
    QImage thumbnail(const QString& path);

    /// Whole picture if it is at hand; null otherwise (nothing is sent for).
    QImage whole(const QString& path) const;

    /// Sentence of what is wrong with the file; empty when it decodes or was not tried yet.
    QString problem(const QString& path) const { return problems_.value(path); }

    /// Tries a file once more that could not be decoded; it may be there again.
    void retry(const QString& path);
    void retryAll();

    qint64 bytesHeld() const;

  Q_SIGNALS:
    void arrived(const QString& path);

  private:
    struct Level {
        QImage image;
        quint64 lastUse = 0;
    };
    struct Decoded {
        std::map<int, QImage> levels;
        QImage thumbnail;
        QString problem;
    };
    using Key = std::pair<QString, int>;  ///< path, shrink

    void sendFor(const QString& path, int shrink);
    void take(const QString& path, int shrink, Decoded decoded);
    void makeRoom();
    static Decoded decode(const QString& path, int shrink);
    /// The small picture that the camera put into the file, made as large as that of an eighth; null without.
    static QImage embedded(const QString& path);
    void takePreview(const QString& path, const QImage& small);
    static Decoded decodeSafely(const QString& path, int shrink);

    qint64 budget_;
    std::map<Key, Level> levels_;
    QHash<QString, QImage> thumbnails_;
    QHash<QString, QImage> previews_;  ///< of the file's own making, until the first decoded level arrives
    QHash<QString, QString> problems_;
    std::map<Key, bool> wanted_;  ///< sent for, not yet arrived
    quint64 clock_ = 0;
    /// Seen by the worker too: end at once; the newest wish for a whole picture (older ones are skipped).
    struct Shared;
    std::shared_ptr<Shared> shared_;
    QThreadPool worker_;
};

}  // namespace trammel::ui
