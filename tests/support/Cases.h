// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <charconv>
#include <cstddef>
#include <fstream>
#include <stdexcept>
#include <string>
#include <vector>

namespace trammel::test {

/// Reference figures of tests/cases/<name>.csv, read as they are written.
///
///     # source: who published or computed the figures, with page or table    (required)
///     # tolerance: how far a result may be off, in words                     (required)
///     column,column,...                                                     (first line without '#')
///     value,value,...                                                       (an empty cell is allowed)
///
/// Everything wrong with a file throws std::runtime_error, so that the test fails rather than skips.
class Cases {
  public:
    /// Row of one file; cells are found by the name of their column.
    class Row {
      public:
        Row(const Cases& file, std::vector<std::string> cells, int line)
            : file_(&file), cells_(std::move(cells)), line_(line) {}

        const std::string& text(const std::string& column) const {
            for (std::size_t i = 0; i < file_->columns_.size(); ++i)
                if (file_->columns_[i] == column) return cells_[i];
            throw std::runtime_error(file_->where(line_) + "no column \"" + column + "\"");
        }
        bool has(const std::string& column) const { return !text(column).empty(); }
        double number(const std::string& column) const {
            const std::string& cell = text(column);
            double value = 0.0;
            const auto end = std::from_chars(cell.data(), cell.data() + cell.size(), value);
            if (end.ec != std::errc() || end.ptr != cell.data() + cell.size())
                throw std::runtime_error(file_->where(line_) + "\"" + cell + "\" is no number");
            return value;
        }
        int line() const { return line_; }

      private:
        const Cases* file_;
        std::vector<std::string> cells_;
        int line_;
    };

    /// Reads tests/cases/<name>.csv; a name with a '/' is a path of its own.
    explicit Cases(const std::string& name)
        : path_(name.find('/') == std::string::npos ? std::string(TRAMMEL_CASES) + "/" + name + ".csv"
                                                    : name) {
        std::ifstream in(path_);
        if (!in) throw std::runtime_error(path_ + ": cannot be read");
        std::string text;
        for (int line = 1; std::getline(in, text); ++line) take(text, line);
        if (source_.empty() || tolerance_.empty())
            throw std::runtime_error(path_ + ": needs the lines \"# source:\" and \"# tolerance:\"");
        if (rows_.empty()) throw std::runtime_error(path_ + ": holds no case");
    }
    Cases(const Cases&) = delete;  // rows point back here
    Cases& operator=(const Cases&) = delete;

    const std::string& source() const { return source_; }
    const std::string& tolerance() const { return tolerance_; }
    const std::vector<Row>& rows() const { return rows_; }

  private:
    std::string where(int line) const { return path_ + ":" + std::to_string(line) + ": "; }

    static std::vector<std::string> split(const std::string& text) {
        std::vector<std::string> cells(1);
        for (const char c : text) {
            if (c == ',')
                cells.emplace_back();
            else if (c != '\r')
                cells.back() += c;
        }
        return cells;
    }

    void take(const std::string& text, int line) {
        if (text.empty()) return;
        if (text.front() == '#') {
            if (text.rfind("# source: ", 0) == 0) source_ += text.substr(10);
            if (text.rfind("# tolerance: ", 0) == 0) tolerance_ += text.substr(13);
            return;
        }
        auto cells = split(text);
        if (columns_.empty()) {
            columns_ = std::move(cells);
            return;
        }
        if (cells.size() != columns_.size())
            throw std::runtime_error(where(line) + "has another number of cells than the line of columns");
        rows_.emplace_back(*this, std::move(cells), line);
    }

    std::string path_, source_, tolerance_;
    std::vector<std::string> columns_;
    std::vector<Row> rows_;
};

}  // namespace trammel::test
