// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/base/Result.h"
#include "core/survey/Survey.h"
#include "ui/tools/Tool.h"

namespace trammel::ui {

/// A known length in the photograph: two clicks (on marks that are there, or on free places, which become
/// corners of the chosen level), then its value is typed in the bar above the photograph.
class ReferenceTool : public Tool {
  public:
    using Tool::Tool;
    QString words() const override;
    void press(const QPointF& photo) override;
    bool stepBack() override;
    bool cancel() override;
    void paint(QPainter& painter, const ViewTransform& view) const override;

    /// Both ends are there.
    bool ready() const { return ends_.size() == 2; }

    /// Puts the reference into the survey as one act. On refusal the two ends stay.
    Result<void> set(const std::string& name, survey::Measured length_mm);

  private:
    struct End {
        QPointF photo;
        survey::Id feature;  ///< empty: a corner is made here
    };
    std::vector<End> ends_;
    survey::Id station_;
};

}  // namespace trammel::ui
