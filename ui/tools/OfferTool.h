// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/fit/Propose.h"
#include "ui/tools/Tool.h"

namespace trammel::ui {

/// Goes through the marks offered in one photograph: each is taken into the survey, or rejected, by itself;
/// all sure ones together as one act. What was taken and is undone is on offer again.
class OfferTool : public Tool {
  public:
    using RivalWanted = std::function<void(const fit::Offer& offer, const fit::Rival& chosen)>;
    OfferTool(ToolContext& context, survey::Id station, std::vector<fit::Offer> offers,
              RivalWanted rivalWanted);
    QString words() const override;
    QString keys() const override;
    void key(QChar letter) override;
    void press(const QPointF& photo) override;
    void finish() override { take(); }
    bool stepBack() override;
    void remove() override { reject(); }
    void paint(QPainter& painter, const ViewTransform& view) const override;

    /// The current one becomes part of the survey, as it was found. One between rivals waits for a letter.
    void take();
    void reject();
    void step(int by);
    /// All sure ones as one act.
    void takeSure();
    void chooseRival(std::size_t index);
    /// The mark that a chosen rival was fitted to.
    void takeFitted(const survey::Id& feature, const survey::Mark& mark);

    /// For the bar above the photograph.
    const fit::Offer* current() const;
    int left() const, sureLeft() const;
    bool isShown() const;  ///< its photograph is the large one

  private:
    bool isOpen(std::size_t i) const;
    void settle();
    QString name(const fit::Offer& offer) const;
    void perform(const std::vector<survey::Mark>& marks);
    void look();

    survey::Id station_;
    std::vector<fit::Offer> offers_;  ///< those with something to show; their places are their numbers
    std::vector<bool> rejected_;
    std::size_t current_ = 0;
    RivalWanted rivalWanted_;
};

}  // namespace trammel::ui
