// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <cassert>
#include <optional>
#include <utility>
#include <variant>

#include "core/base/Error.h"

namespace trammel {

/// Either a value or an Error. Core never throws across a folder's border.
///
///     auto survey = storage::load(path);
///     if (!survey) return survey.error();
///     use(*survey);
template <class T>
class [[nodiscard]] Result {
  public:
    Result(T value) : content_(std::in_place_index<0>, std::move(value)) {}
    Result(Error error) : content_(std::in_place_index<1>, std::move(error)) {}

    explicit operator bool() const { return content_.index() == 0; }
    const T& operator*() const& { assert(*this); return std::get<0>(content_); }
    T& operator*() & { assert(*this); return std::get<0>(content_); }
    T&& operator*() && { assert(*this); return std::get<0>(std::move(content_)); }
    const T* operator->() const { assert(*this); return &std::get<0>(content_); }
    T* operator->() { assert(*this); return &std::get<0>(content_); }
    const Error& error() const { assert(!*this); return std::get<1>(content_); }

  private:
    std::variant<T, Error> content_;
};

/// Success without a value, or an Error.
template <>
class [[nodiscard]] Result<void> {
  public:
    Result() = default;
    Result(Error error) : error_(std::move(error)) {}
    explicit operator bool() const { return !error_; }
    const Error& error() const { assert(error_); return *error_; }

  private:
    std::optional<Error> error_;
};

}  // namespace trammel
