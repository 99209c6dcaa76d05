// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/base/Result.h"

#include <catch2/catch.hpp>
#include <memory>
#include <string>

using namespace trammel;

namespace {

const Error kMissing{ErrorCode::FileMissing, "there is no such photograph", "front.jpg",
                     "copy it beside the survey"};

Result<std::unique_ptr<int>> make(bool good) {
    if (!good) return kMissing;
    return std::make_unique<int>(7);
}

Result<void> act(bool good) {
    if (!good) return kMissing;
    return {};
}

}  // namespace

TEST_CASE("an error reads as one sentence: object, what, remedy") {
    CHECK(kMissing.sentence() == "front.jpg: there is no such photograph; copy it beside the survey.");
    CHECK(Error{ErrorCode::Cancelled, "stopped", "", ""}.sentence() == "stopped.");
    CHECK(Error{ErrorCode::BadValue, "sigma is zero", "reading R3", ""}.sentence() ==
          "reading R3: sigma is zero.");
}

TEST_CASE("a result holds either its value or its error") {
    auto good = make(true);
    REQUIRE(good);
    CHECK(**good == 7);
    const std::unique_ptr<int> taken = *std::move(good);  // move-only values come out
    CHECK(*taken == 7);

    const auto bad = make(false);
    REQUIRE_FALSE(bad);
    CHECK(bad.error().code == ErrorCode::FileMissing);
    CHECK(bad.error().object == "front.jpg");
}

TEST_CASE("a result of an error is an error even when its value could be made from one") {
    struct FromError {
        FromError() = default;
        explicit FromError(const Error&) : made(true) {}
        bool made = false;
    };
    const Result<FromError> bad = kMissing;
    CHECK_FALSE(bad);
}

TEST_CASE("success without a value") {
    CHECK(act(true));
    REQUIRE_FALSE(act(false));
    CHECK(act(false).error().remedy == "copy it beside the survey");
}
