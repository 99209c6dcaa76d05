// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/TypedNumber.h"

#include <QCoreApplication>
#include <QLocale>
#include <cmath>

namespace trammel::ui {

Result<double> typedNumber(const QString& text, const QString& what) {
    QString plain = text.trimmed();
    plain.replace(QLatin1Char(','), QLatin1Char('.'));
    bool good = false;
    const double value = QLocale::c().toDouble(plain, &good);
    if (good && std::isfinite(value)) return value;
    const QString shown =
        plain.isEmpty()
            ? QCoreApplication::translate("TypedNumber", "nothing is typed")
            : QCoreApplication::translate("TypedNumber", "\"%1\" is no number").arg(text.trimmed());
    return Error{ErrorCode::BadValue, shown.toStdString(), what.toStdString(), "type it like 25.40"};
}

}  // namespace trammel::ui
