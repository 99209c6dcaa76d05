// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QString>
#include <functional>
#include <optional>

#include "core/base/Error.h"
#include "ui/canvas/MarkScene.h"
#include "ui/canvas/ViewTransform.h"

class QPainter;

namespace trammel::ui {

class Document;
class Choice;

/// What a tool may reach. `complain` shows a refusal as a notice; `refresh` redraws canvas and words.
struct ToolContext {
    Document& document;
    Choice& choice;
    std::function<const MarkScene&()> scene;
    std::function<double()> reach;  ///< how near a click must be, px of the photograph
    std::function<void(const Error&)> complain;
    std::function<void()> refresh;
    /// Brings a place of the photograph into sight, at least at this scale (screen px per px).
    std::function<void(const QPointF& photo, double leastScale)> look{};
};

/// One way of working on a photograph. Coordinates are px of the upright photograph.
class Tool {
  public:
    explicit Tool(ToolContext& context) : context_(context) {}
    virtual ~Tool() = default;

    /// What the next click does, in words.
    virtual QString words() const = 0;
    virtual void press(const QPointF& photo) = 0;
    virtual void drag(const QPointF&) {}
    virtual void release(const QPointF&) {}
    virtual void hover(const QPointF&) {}
    virtual void finish() {}                     ///< Enter, double-click, right click
    virtual bool stepBack() { return false; }    ///< Backspace: takes back the last unfinished click
    virtual bool cancel() { return false; }      ///< Escape; false when there was nothing to drop
    virtual void remove() {}                     ///< Delete
    virtual QString keys() const { return {}; }  ///< letters that this tool wants now, before any shortcut
    virtual void key(QChar) {}                   ///< one of them was pressed
    virtual void paint(QPainter&, const ViewTransform&) const {}

  protected:
    ToolContext& context_;
};

}  // namespace trammel::ui
