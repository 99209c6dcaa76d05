// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/Icons.h"

#include <QFile>
#include <QGuiApplication>
#include <QIconEngine>
#include <QPainter>
#include <QPalette>
#include <QSvgRenderer>

namespace trammel::ui {
namespace {

/// Renders the drawing at the size asked for, its "currentColor" replaced by the palette's.
class LineIconEngine : public QIconEngine {
  public:
    explicit LineIconEngine(QByteArray svg) : svg_(std::move(svg)) {}

    void paint(QPainter* painter, const QRect& rect, QIcon::Mode mode, QIcon::State) override {
        const auto group = mode == QIcon::Disabled ? QPalette::Disabled : QPalette::Active;
        const auto role = mode == QIcon::Selected ? QPalette::HighlightedText : QPalette::WindowText;
        QByteArray coloured = svg_;
        coloured.replace("currentColor", QGuiApplication::palette().color(group, role).name().toLatin1());
        QSvgRenderer renderer(coloured);
        renderer.render(painter, rect);
    }

    QPixmap pixmap(const QSize& size, QIcon::Mode mode, QIcon::State state) override {
        QPixmap pixmap(size);
        pixmap.fill(Qt::transparent);
        QPainter painter(&pixmap);
        paint(&painter, QRect(QPoint(), size), mode, state);
        return pixmap;
    }

    QIconEngine* clone() const override { return new LineIconEngine(*this); }

  private:
    QByteArray svg_;
};

}  // namespace

QIcon icon(const QString& name) {
    QFile file(QStringLiteral(":/icons/%1.svg").arg(name));
    if (!file.open(QIODevice::ReadOnly)) return {};
    return QIcon(new LineIconEngine(file.readAll()));
}

}  // namespace trammel::ui
