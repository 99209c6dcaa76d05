// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <atomic>

#include "core/base/Progress.h"

namespace trammel::ui {

/// Does work with a progress of its own that is stopped when the job is, or when `unwanted` is set because
/// what was asked for has changed meanwhile.
template <class Work>
auto whileWanted(const Progress& job, const std::atomic<bool>& unwanted, Work work) {
    Progress* self = nullptr;
    Progress own([&](double fraction) {
        job.report(fraction);
        if (unwanted || job.cancelled()) self->cancel();
    });
    self = &own;
    if (unwanted || job.cancelled()) own.cancel();
    return work(own);
}

}  // namespace trammel::ui
