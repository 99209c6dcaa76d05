// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/tasks/PageFile.h"

#include "core/sheet/WriteSheet.h"
#include "core/storage/Disk.h"

namespace trammel::ui {

Result<void> writePage(const sheet::Sheet& page, const QString& title, const QString& place) {
    const auto bytes = place.endsWith(QStringLiteral(".svg"), Qt::CaseInsensitive)
                           ? sheet::svg(page)
                           : sheet::pdf({page}, title.toStdString());
    if (!bytes) return bytes.error();
    return storage::writeWhole(place.toStdString(), *bytes);
}

}  // namespace trammel::ui
