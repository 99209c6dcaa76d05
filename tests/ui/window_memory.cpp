// SPDX-License-Identifier: GPL-3.0-or-later
// Opens the window on twelve photographs of 24 megapixels made here, looks at each whole and at full size,
// pans, and prints the peak of resident memory, the time of a frame and of going to a photograph seen before;
// then all levels of one photograph over one plain decode by libjpeg-turbo. First the time until the sample
// is painted, and of undo. Exit 1 above one gibibyte.
#include <QApplication>
#include <QElapsedTimer>
#include <QEventLoop>
#include <QFile>
#include <QKeyEvent>
#include <QTemporaryDir>
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <ctime>
#include <random>
#include <vector>

#include <turbojpeg.h>

#include "ScriptedPrompts.h"
#include "core/photo/Encode.h"
#include "ui/MainWindow.h"

using namespace trammel;
using namespace trammel::ui;

namespace {

constexpr int kPhotographs = 12, kWidth = 6000, kHeight = 4000;

/// Shaded stripes with noise: nothing that a codec finds unusually easy.
QByteArray makePhotograph(const QString& path) {
    photo::Image image{kWidth, kHeight, 3, {}};
    image.data.resize(std::size_t(kWidth) * kHeight * 3);
    std::mt19937 random(1);
    std::size_t at = 0;
    for (int y = 0; y < kHeight; ++y)
        for (int x = 0; x < kWidth; ++x) {
            const auto noise = random();
            const int base = ((x / 40 + y / 60) % 5) * 40 + 30;
            for (int c = 0; c < 3; ++c) image.data[at++] = std::uint8_t(base + int((noise >> (8 * c)) % 16));
        }
    if (!photo::encodeJpeg(image, path.toStdString(), 90)) return {};
    QFile file(path);
    return file.open(QIODevice::ReadOnly) ? file.readAll() : QByteArray();
}

/// The same picture as another file: bytes behind a JPEG's end mean nothing.
bool copyOf(const QByteArray& jpeg, const QString& path, int number) {
    QFile file(path);
    return file.open(QIODevice::WriteOnly) && file.write(jpeg + QByteArray::number(number)) > jpeg.size();
}

double processorSeconds() { return double(std::clock()) / CLOCKS_PER_SEC; }

double plainDecode(const QByteArray& jpeg) {
    const double begin = processorSeconds();
    const tjhandle handle = tjInitDecompress();
    std::vector<unsigned char> out(std::size_t(kWidth) * kHeight * 3);
    const int bad = tjDecompress2(handle, reinterpret_cast<const unsigned char*>(jpeg.constData()),
                                  static_cast<unsigned long>(jpeg.size()), out.data(), kWidth, 0, kHeight,
                                  TJPF_RGB, TJFLAG_ACCURATEDCT);
    tjDestroy(handle);
    return bad ? -1.0 : processorSeconds() - begin;
}

/// Peak resident memory of this process in bytes, from the kernel.
qint64 peak() {
    QFile status(QStringLiteral("/proc/self/status"));
    if (!status.open(QIODevice::ReadOnly)) return -1;
    for (const QByteArray& line : status.readAll().split('\n'))
        if (line.startsWith("VmHWM:")) return line.simplified().split(' ')[1].toLongLong() * 1024;
    return -1;
}

template <class Condition>
bool waitFor(Condition condition) {
    QElapsedTimer timer;
    timer.start();
    while (!condition() && timer.elapsed() < 60000) {
        QCoreApplication::processEvents(QEventLoop::AllEvents, 20);
        QCoreApplication::sendPostedEvents(nullptr, QEvent::DeferredDelete);
    }
    return condition();
}

/// Milliseconds of each of `count` frames while panning.
std::vector<double> panFrames(PhotoCanvas& canvas, int count) {
    std::vector<double> times;
    for (int i = 0; i < count; ++i) {
        QKeyEvent key(QEvent::KeyPress, i % 40 < 20 ? Qt::Key_Right : Qt::Key_Left, Qt::NoModifier);
        QCoreApplication::sendEvent(&canvas, &key);
        QElapsedTimer timer;
        timer.start();
        canvas.repaint();
        times.push_back(timer.nsecsElapsed() * 1e-6);
    }
    return times;
}

/// From nothing to the sample painted, and acts taken back in it.
void startAndUndo(Prompts& prompts) {
    QElapsedTimer timer;
    timer.start();
    MainWindow window(prompts);
    window.resize(1920, 1080);
    window.show();
    window.desk().openFile(QStringLiteral(TRAMMEL_SAMPLES "/stepped-board/stepped-board.trammel"));
    QCoreApplication::processEvents();
    window.canvas().repaint();
    const double start = timer.nsecsElapsed() * 1e-6;
    auto& document = window.document();
    std::vector<double> times;
    for (const auto& mark : document.survey().marks) {
        if (times.size() == 40) break;
        survey::Mark moved = mark;
        for (auto& p : moved.points) p.px.x() += 1.0;
        if (!document.perform({"Move", {survey::Put<survey::Mark>{moved}}})) return;
        QCoreApplication::processEvents();
        timer.restart();
        document.undoStack().undo();
        window.canvas().repaint();
        times.push_back(timer.nsecsElapsed() * 1e-6);
    }
    std::sort(times.begin(), times.end());
    std::printf(
        "window opened, survey of the sample read and painted: %.0f ms; an act taken back: median "
        "%.1f ms, longest %.1f ms\n",
        start, times[times.size() / 2], times.back());
}

/// Processor's seconds for all levels of a photograph of which the first picture is at hand.
double allLevels(const QString& path) {
    PhotoStore store;
    QEventLoop loop;  // sleeps between arrivals: only decoding counts
    QObject::connect(&store, &PhotoStore::arrived, &loop, &QEventLoop::quit);
    store.at(path, 0.01);
    loop.exec();
    const double begin = processorSeconds();
    store.at(path, 1.0);
    while (store.whole(path).isNull()) loop.exec();
    return processorSeconds() - begin;
}

template <class Work>
double least(int repeat, Work work) {
    double best = 1e9;
    for (int i = 0; i < repeat; ++i) best = std::min(best, work());
    return best;
}

}  // namespace

int main(int argc, char** argv) {
    if (qEnvironmentVariableIsEmpty("QT_QPA_PLATFORM")) qputenv("QT_QPA_PLATFORM", "offscreen");
    QApplication app(argc, argv);
    QTemporaryDir folder;
    ScriptedPrompts prompts;
    startAndUndo(prompts);
    const QByteArray jpeg = makePhotograph(folder.filePath(QStringLiteral("first.jpg")));
    for (int i = 0; i < kPhotographs; ++i) {
        prompts.files << folder.filePath(QStringLiteral("photograph-%1.jpg").arg(i));
        if (!copyOf(jpeg, prompts.files.back(), i)) return 2;
    }
    MainWindow window(prompts);
    window.resize(1920, 1080);
    window.show();
    window.desk().startFromPhotographs();
    if (!waitFor([&] { return window.document().survey().stations.size() == kPhotographs; })) return 2;
    std::vector<double> frames, switches;
    for (int round = 0; round < 2; ++round)
        for (const auto& station : window.document().survey().stations) {
            QElapsedTimer timer;
            timer.start();
            window.choice().setStation(station.id);
            window.canvas().fitView();
            QCoreApplication::processEvents();
            window.canvas().repaint();
            if (round > 0) switches.push_back(timer.nsecsElapsed() * 1e-6);
            window.canvas().lookAt({kWidth / 2.0, kHeight / 2.0});
            const QString path = window.canvas().path();
            if (!waitFor([&] { return !window.photographs().whole(path).isNull(); })) return 2;
            for (const double factor : {1.0, 0.73, 3.1}) {  // as stored, shrunk, enlarged
                window.canvas().zoom(factor);
                const auto more = panFrames(window.canvas(), 10);
                frames.insert(frames.end(), more.begin(), more.end());
            }
        }
    std::sort(frames.begin(), frames.end());
    std::sort(switches.begin(), switches.end());
    const double mib = double(peak()) / (1024 * 1024);
    std::printf(
        "twelve photographs of 24 megapixels, each looked at twice: peak of resident memory %.0f MiB "
        "(bar 1024)\n",
        mib);
    std::printf(
        "frames while panning at scales 0.7 to 2.3 in a window of 1920 x 1080: median %.1f ms, 95 %% "
        "within %.1f ms\n",
        frames[frames.size() / 2], frames[frames.size() * 95 / 100]);
    std::printf("going to a photograph seen before: median %.1f ms, longest %.1f ms until it is painted\n",
                switches[switches.size() / 2], switches.back());
    const double plain = least(3, [&] { return plainDecode(jpeg); });
    const double all = least(3, [&] { return allLevels(prompts.files.front()); });
    std::printf("all levels of one photograph: %.2f of a plain decode by libjpeg-turbo (%.3f s)\n",
                all / plain, plain);
    return mib > 0 && mib <= 1024 ? 0 : 1;
}
