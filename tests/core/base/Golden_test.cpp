// SPDX-License-Identifier: GPL-3.0-or-later
#include "Golden.h"

using trammel::test::firstDifference;

TEST_CASE("the comparison with a golden file names the first line that differs") {
    CHECK(firstDifference("a\nb\n", "a\nb\n").empty());
    CHECK(firstDifference("", "").empty());
    CHECK(firstDifference("a\nb\nc\n", "a\nx\ny\n") == "line 2\n  approved: b\n  received: x");
    CHECK(firstDifference("a\n", "a\nb\n") == "line 2\n  approved: (end of file)\n  received: b");
    CHECK(firstDifference("a\n\n", "a\n") == "line 2\n  approved: \n  received: (end of file)");
    CHECK(firstDifference("a\n", "a") == "only the end of the last line differs");
}
