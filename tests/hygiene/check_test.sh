#!/usr/bin/env bash
# SPDX-License-Identifier: GPL-3.0-or-later
# Shows that check.sh finds each kind of breach, and nothing in a clean tree.
set -u
here=$(cd "$(dirname "$0")" && pwd)
tree=$(mktemp -d)
trap 'rm -rf "$tree"' EXIT
failures=0

# fresh: a clean tree of one core folder.
fresh() {
    rm -rf "${tree:?}"/*
    mkdir -p "$tree/core/base" "$tree/ui" "$tree/tests" "$tree/build"
    printf '# core/base\n' > "$tree/core/base/README.md"
    printf '// SPDX-License-Identifier: GPL-3.0-or-later\n#pragma once\n#include <vector>\n' > "$tree/core/base/A.h"
    printf '// SPDX-License-Identifier: GPL-3.0-or-later\n#include "core/base/A.h"\n' > "$tree/core/base/A.cpp"
    printf 'trammel_core(base LIBS fmt::fmt)\ntrammel_core(math USES base)\n' > "$tree/core/CMakeLists.txt"
    printf 'not checked\n' > "$tree/build/Made.cpp"
}
# expect_breach WORDS FILE CONTENT: appends CONTENT to FILE of a clean tree; the check must say WORDS.
expect_breach() {
    fresh
    printf "%b" "$3" >> "$tree/$2"
    local said
    if said=$(bash "$here/check.sh" "$tree"); then
        echo "not found: $1"
        failures=$((failures + 1))
    elif ! echo "$said" | grep -qF -- "$1" || [ "$(echo "$said" | wc -l)" -ne 2 ]; then
        echo "expected one breach with \"$1\", got: $said"
        failures=$((failures + 1))
    fi
}

fresh
bash "$here/check.sh" "$tree" || { echo "a clean tree is accused"; failures=1; }

expect_breach "501 lines" core/base/A.cpp "$(printf '\\n%.0s' $(seq 499))"
expect_breach "the first line is not the SPDX line" ui/B.cpp '#include <vector>\n'
expect_breach "no SPDX line among the first two" ui/b.sh '#!/bin/sh\n'
expect_breach "no #pragma once" ui/B.h '// SPDX-License-Identifier: GPL-3.0-or-later\n'
expect_breach "21 lines" core/base/README.md "$(printf '\\n%.0s' $(seq 20))"
expect_breach 'never by ".."' tests/B.cpp '// SPDX-License-Identifier: GPL-3.0-or-later\n  # include "../core/base/A.h"\n'
expect_breach 'our own headers' core/base/A.cpp '#include "A.h"\n'
expect_breach 'does not name this folder for core/base' core/base/A.cpp '#include "core/math/B.h"\n'
expect_breach "free of Qt" core/base/A.h '#include <QString>\n'
expect_breach "of OpenCV only" core/base/A.cpp '#include <opencv2/highgui.hpp>\n'
expect_breach "using namespace" core/base/A.h 'using namespace std;\n'
expect_breach "path of one machine" core/base/A.cpp '// see /home/someone/notes\n'
expect_breach "fixed temporary folder" core/base/A.cpp 'const char* p = "/tmp/x";\n'
fresh
mkdir "$tree/core/new"
bash "$here/check.sh" "$tree" | grep -q "core/new/: no README.md" || { echo "not found: missing README"; failures=1; }

[ $failures -eq 0 ] && echo "every kind of breach is found"
exit $((failures > 0))
