// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <atomic>
#include <functional>

namespace trammel {

/// Handed into long work: reports a fraction in [0, 1] and carries the wish to stop.
/// Reports arrive on the worker's thread.
class Progress {
  public:
    Progress() = default;
    explicit Progress(std::function<void(double)> report) : report_(std::move(report)) {}
    void report(double fraction) const { if (report_) report_(fraction); }
    void cancel() { cancelled_ = true; }
    bool cancelled() const { return cancelled_; }

  private:
    std::function<void(double)> report_;
    std::atomic<bool> cancelled_{false};
};

}  // namespace trammel
