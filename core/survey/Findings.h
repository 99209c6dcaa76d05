// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <fmt/core.h>

#include <cmath>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/Result.h"
#include "core/survey/Survey.h"

namespace trammel::survey {

/// What a number may be without being a slip of the keyboard or of a file. Far wider than anything that can
/// be measured, and narrow enough that squares and reciprocals stay numbers.
struct Range {
    double low, high;
};
inline constexpr Range kLength_mm{1e-6, 1e9};

/// Collects findings about one object.
class Findings {
  public:
    Findings(const Survey& survey, const Id& id) : survey_(&survey), object_(id) {}
    explicit Findings(std::string object) : object_(std::move(object)) {}

    /// The object's name is looked up here: most have nothing to be said of them.
    void add(std::string what, std::string remedy, ErrorCode code = ErrorCode::BadValue) {
        errors_.push_back(
            {code, std::move(what), survey_ ? describe(*survey_, object_) : object_, std::move(remedy)});
    }
    void dangling(std::string_view role, const Id& id) {
        add(id.empty() ? fmt::format("names no {}", role)
                       : fmt::format("names the {} {}, which the survey does not hold", role, id),
            id.empty() ? "choose one or remove this" : "choose another or remove this", ErrorCode::NotFound);
    }
    /// False, and a finding, when the value is NaN or infinite.
    bool finite(std::string_view name, double value) {
        if (std::isfinite(value)) return true;
        add(fmt::format("{} is not a number", name), "enter it again");
        return false;
    }
    void positive(std::string_view name, double value, std::string_view remedy) {
        if (finite(name, value) && !(value > 0.0))
            add(fmt::format("{} is {:g}, which is not above zero", name, value), std::string(remedy));
    }
    /// A finding when the value's size is beyond reason. Zero passes: whether it may be zero is said
    /// elsewhere.
    void plausible(std::string_view name, double value, const Range& range) {
        const double size = std::abs(value);
        if (!std::isfinite(value) || value == 0.0 || (size >= range.low && size <= range.high)) return;
        add(fmt::format("{} is {:g}, which cannot be meant", name, value),
            fmt::format("enter a value between {:g} and {:g}", range.low, range.high));
    }
    void notNegative(std::string_view name, double value, std::string_view remedy) {
        if (finite(name, value) && value < 0.0)
            add(fmt::format("{} is {:g}, which is below zero", name, value), std::string(remedy));
    }
    std::vector<Error> take() { return std::move(errors_); }

  private:
    const Survey* survey_ = nullptr;
    std::string object_;  ///< its id, or its name where there is no survey
    std::vector<Error> errors_;
};

inline constexpr std::string_view kEnterSigma = "enter a standard uncertainty above zero";

}  // namespace trammel::survey
