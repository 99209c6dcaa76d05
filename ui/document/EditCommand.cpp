// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/document/EditCommand.h"

#include "ui/document/Document.h"

namespace trammel::ui {

EditCommand::EditCommand(Document& document, survey::Edit edit, survey::Edit inverse)
    : QUndoCommand(QString::fromStdString(edit.name)),
      document_(document),
      edit_(std::move(edit)),
      inverse_(std::move(inverse)) {}

void EditCommand::undo() { document_.replay(inverse_); }

void EditCommand::redo() {
    if (applied_) {
        applied_ = false;
        return;
    }
    document_.replay(edit_);
}

}  // namespace trammel::ui
