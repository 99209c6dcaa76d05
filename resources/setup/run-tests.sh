#!/usr/bin/env bash
# SPDX-License-Identifier: GPL-3.0-or-later
# Installs what is missing, builds everything, runs all tests.
# TRAMMEL_REFERENCE may name a folder with published reference data for more tests.
set -u
. "$(dirname "${BASH_SOURCE[0]}")/steps.sh"

build_release tests
export QT_QPA_PLATFORM=${QT_QPA_PLATFORM:-offscreen}
step tests "the list above names the tests; run one again with: ctest --preset release -R NAME" \
    ctest --preset release --parallel 2
echo
grep "tests passed" "$logs/tests.log" | tail -1
