// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/base/Result.h"
#include "core/survey/Edit.h"
#include "ui/tools/Tool.h"

namespace trammel::ui {

/// Makes an outline by choosing features in order, in any photograph or in the list of features.
class OutlineTool : public Tool {
  public:
    using Tool::Tool;
    QString words() const override;
    void press(const QPointF& photo) override;
    void finish() override;
    bool stepBack() override;
    bool cancel() override;
    void paint(QPainter& painter, const ViewTransform& view) const override;

    /// Adds a feature to the chain (a click in the list does this); the first one again closes it.
    void add(const survey::Id& feature);
    void setPurpose(survey::OutlinePurpose purpose) { purpose_ = purpose; }

  private:
    std::vector<survey::Id> chain_;
    survey::OutlinePurpose purpose_ = survey::OutlinePurpose::Outline;
};

/// The edit that adds this chain as an outline in the level of its first feature.
Result<survey::Edit> outlineEdit(const survey::Survey& survey, const std::vector<survey::Id>& chain,
                                 survey::OutlinePurpose purpose);

}  // namespace trammel::ui
