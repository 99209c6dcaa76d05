// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/tools/TrailTool.h"

#include <QCoreApplication>
#include <QPainter>

#include "ui/canvas/MarkPainter.h"
#include "ui/document/Choice.h"
#include "ui/document/Document.h"
#include "ui/tools/MarkEdits.h"

namespace trammel::ui {
namespace {

constexpr double kLongestLead_px = 400.0;  ///< to the pointer: beyond, the way is found when it is clicked

QString tr(const char* text) { return QCoreApplication::translate("TrailTool", text); }

fit::TrailOptions byHand() {
    fit::TrailOptions o;
    o.handSigma_px = kHandSigma_px;
    return o;
}

}  // namespace

TrailTool::TrailTool(ToolContext& context, std::function<void(const survey::Id&)> groundWanted,
                     std::function<void(const TrailWish&)> finished)
    : Tool(context), groundWanted_(std::move(groundWanted)), finished_(std::move(finished)) {}

/// Asks for the photograph at hand when it is another one.
void TrailTool::settle() const {
    const auto& now = context_.choice.station();
    if (now.empty() || asked_ == now) return;
    asked_ = now;
    ground_.reset();
    groundWanted_(now);
}

bool TrailTool::ready() const { return ground_ && groundOf_ == context_.choice.station(); }

void TrailTool::setGround(const survey::Id& station, std::shared_ptr<const TrailGround> ground) {
    if (station != asked_) return;
    ground_ = std::move(ground);
    groundOf_ = station;
    context_.refresh();
}

QString TrailTool::words() const {
    settle();
    if (context_.choice.station().empty()) return tr("Add a photograph first; then mark on it.");
    if (context_.choice.level().empty())
        return tr("Add a level first (left): a trail's edges and arcs lie in one.");
    if (!ready()) return tr("Reading the photograph…");
    if (clicks_.empty())
        return tr("Click a first point on the irregular edge; the trail follows it from click to click.");
    if (clicks_.size() < 2) return tr("Click the next point along the edge; Backspace takes one back.");
    if (clicks_.size() < 3)
        return tr(
            "Enter: makes edges and arcs of the trail. Click: goes on along the edge; Backspace takes one "
            "back.");
    return tr(
        "Enter: makes edges and arcs of the trail. Click: goes on; a click on the first point closes it "
        "into an outline.");
}

void TrailTool::press(const QPointF& photo) {
    if (context_.choice.level().empty())
        return context_.complain({ErrorCode::Refused,
                                  "a trail's edges and arcs lie in a level, and none is chosen",
                                  {},
                                  "add a level in the panel on the left"});
    if (!ready()) return;
    if (station_ != context_.choice.station()) clear();
    station_ = context_.choice.station();
    const Vec2 at(photo.x(), photo.y());
    if (clicks_.size() >= 3 && (at - clicks_.front()).norm() < context_.reach()) return give(true);
    if (!clicks_.empty()) {
        const auto way = fit::followClicks(ground_->follower, {clicks_.back(), at}, byHand());
        if (!way) return context_.complain(way.error());  // the clicks before stay
        path_.insert(path_.end(), way->begin(), way->end());
    }
    clicks_.push_back(at);
    ends_.push_back(path_.size());
    lead_.clear();
    context_.refresh();
}

void TrailTool::hover(const QPointF& photo) {
    if (clicks_.empty() || !ready() || station_ != context_.choice.station()) return;
    lead_.clear();
    const Vec2 at(photo.x(), photo.y());
    if ((at - clicks_.back()).norm() < kLongestLead_px)
        if (auto way = fit::followClicks(ground_->follower, {clicks_.back(), at}, byHand()))
            lead_ = std::move(*way);
    context_.refresh();
}

void TrailTool::finish() {
    if (clicks_.empty()) return;
    if (clicks_.size() < 2)
        return context_.complain(
            {ErrorCode::Refused, "a trail needs two clicks or more", {}, "click on along the edge"});
    give(false);
}

void TrailTool::give(bool closed) {
    lead_.clear();
    finished_({station_, context_.choice.level(), clicks_, closed});
    context_.refresh();
}

void TrailTool::clear() {
    clicks_.clear();
    ends_.clear();
    path_.clear();
    lead_.clear();
    context_.refresh();
}

bool TrailTool::stepBack() {
    if (clicks_.empty()) return false;
    clicks_.pop_back();
    ends_.pop_back();
    path_.resize(ends_.empty() ? 0 : ends_.back());
    lead_.clear();
    context_.refresh();
    return true;
}

bool TrailTool::cancel() {
    if (clicks_.empty()) return false;
    clear();
    return true;
}

void TrailTool::paint(QPainter& painter, const ViewTransform& view) const {
    if (clicks_.empty() || station_ != context_.choice.station()) return;
    const auto screen = [&](const std::vector<Vec2>& points) {
        std::vector<QPointF> out;
        for (const Vec2& p : points) out.push_back(view.toScreen({p.x(), p.y()}));
        return out;
    };
    paintPending(painter, screen(path_), false, false);
    paintPending(painter, screen(lead_), false, false);
    paintPending(painter, screen(clicks_), false, true);
}

}  // namespace trammel::ui
