// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QUndoCommand>

#include "core/survey/Edit.h"

namespace trammel::ui {

class Document;

/// One entry of the undo list: a core edit that is already applied, and its inverse.
class EditCommand : public QUndoCommand {
  public:
    EditCommand(Document& document, survey::Edit edit, survey::Edit inverse);
    void undo() override;
    void redo() override;

  private:
    Document& document_;
    survey::Edit edit_, inverse_;
    bool applied_ = true;  ///< pushing calls redo() once; the edit is in the survey by then
};

}  // namespace trammel::ui
