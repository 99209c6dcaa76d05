// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

/// The inside of the DXF reader; include DxfReader.h instead.
namespace trammel::handover {

/// Everything from one group 0 to the next: an entity, a table entry, the start of a section with what
/// follows.
struct DxfRecord {
    std::string_view type;
    std::vector<std::pair<int, std::string_view>> tags;
    std::size_t line = 0;      ///< of its group 0, from 1
    mutable bool bad = false;  ///< a value that should be a number was none
    mutable std::string_view badValue;

    bool has(int code) const;
    std::string_view text(int code) const;  ///< first value of that code, else empty
    double number(int code, double otherwise = 0.0) const;
    int integer(int code) const;
    double parse(std::string_view value) const;
    std::string layer() const;
};

/// Cuts a DXF text into records.
class DxfScan {
  public:
    explicit DxfScan(std::string_view text);
    /// The next record; nothing at the end of the text or after a failure.
    std::optional<DxfRecord> record();
    /// Makes record() return the last one once more.
    void putBack();
    /// Fails when a number of the record could not be read.
    void check(const DxfRecord& record);
    bool failed() const { return !complaint_.empty(); }
    const std::string& complaint() const { return complaint_; }

  private:
    std::optional<std::pair<int, std::string_view>> tag();
    std::optional<std::string_view> nextLine();
    std::string_view text_;
    std::size_t at_ = 0, line_ = 0;
    std::optional<std::pair<int, std::string_view>> pending_;
    std::size_t pendingLine_ = 0, startAt_ = 0, startLine_ = 0, startPendingLine_ = 0;
    std::optional<std::pair<int, std::string_view>> startPending_;
    std::string complaint_;
};

/// TEXT as written → UTF-8: %%c ⌀, %%p ±, %%d °, \U+XXXX, bytes above 127 as Latin-1 unless already UTF-8.
std::string decodeDxf(std::string_view text);

}  // namespace trammel::handover
