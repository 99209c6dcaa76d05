// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <memory>

#include "core/fit/Trail.h"
#include "core/photo/Image.h"
#include "ui/tools/Tool.h"

namespace trammel::ui {

/// A photograph read for following edges: the light, and what the follower has looked at so far.
struct TrailGround {
    explicit TrailGround(photo::LinearImage light) : image(std::move(light)), follower(image) {}
    TrailGround(const TrailGround&) = delete;
    photo::LinearImage image;
    fit::EdgeFollower follower;  ///< for the interface's thread only
};

/// What was clicked along an irregular edge.
struct TrailWish {
    survey::Id station, level;
    std::vector<Vec2> clicks;
    bool closed = false;
    survey::OutlinePurpose purpose = survey::OutlinePurpose::Outline;  ///< of a closed one
};

/// A few clicks along an irregular edge; the way between them follows the picture. Enter makes the features.
class TrailTool : public Tool {
  public:
    TrailTool(ToolContext& context, std::function<void(const survey::Id& station)> groundWanted,
              std::function<void(const TrailWish&)> finished);
    QString words() const override;
    void press(const QPointF& photo) override;
    void hover(const QPointF& photo) override;
    void finish() override;
    bool stepBack() override;
    bool cancel() override;
    void paint(QPainter& painter, const ViewTransform& view) const override;

    /// The photograph has been read.
    void setGround(const survey::Id& station, std::shared_ptr<const TrailGround> ground);
    /// The clicks became features: begin anew.
    void clear();
    const std::vector<Vec2>& path() const { return path_; }
    std::size_t clicks() const { return clicks_.size(); }
    bool ready() const;
    std::shared_ptr<const TrailGround> ground() const { return ground_; }

  private:
    void settle() const;
    void give(bool closed);

    std::function<void(const survey::Id&)> groundWanted_;
    std::function<void(const TrailWish&)> finished_;
    survey::Id station_;  ///< where the clicks lie
    mutable survey::Id asked_;
    mutable survey::Id groundOf_;
    mutable std::shared_ptr<const TrailGround> ground_;
    std::vector<Vec2> clicks_;
    std::vector<std::size_t> ends_;  ///< length of the path after each click
    std::vector<Vec2> path_, lead_;  ///< lead: from the last click to the pointer
};

}  // namespace trammel::ui
