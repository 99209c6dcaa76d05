# SPDX-License-Identifier: GPL-3.0-or-later
# Sourced by the set-up commands: steps that show what they do, keep a log, and fail with one sentence.
# shellcheck shell=bash

root=$(cd "$(dirname "${BASH_SOURCE[0]}")/../.." && pwd)
setup=$root/resources/setup
logs=${TRAMMEL_LOGS:-$root/build/logs}
{ mkdir -p "$logs" 2> /dev/null && [ -w "$logs" ]; } || {
    echo "Stopped: $root cannot be written to; copy the sources to a folder of your own and try again." >&2
    exit 1
}

# The compiler cache serves every clone of these sources, not only the one that filled it.
export CCACHE_BASEDIR=$root CCACHE_NOHASHDIR=1

# stop SENTENCE [LOG]
stop() {
    echo >&2
    echo "Stopped: $1${2:+ The log is $2}" >&2
    exit 1
}

# step NAME REMEDY COMMAND...: runs the command (exit 0 is good, and the one in also_good), output to the screen and to the log folder (build/logs, or TRAMMEL_LOGS).
step() {
    local name=$1 remedy=$2 log=$logs/$1.log
    shift 2
    echo
    echo "== $name: $*"
    "$@" < /dev/null 2>&1 | tee "$log"
    local code=${PIPESTATUS[0]}
    [ "$code" -eq 0 ] || [ "$code" = "${also_good:-0}" ] || stop "step \"$name\" failed (exit $code); $remedy." "$log"
}

# Compilers at once: one a processor, and no more than memory allows (1.2 GB each).
jobs_that_fit() {
    local cpus kb fit
    cpus=$(nproc)
    kb=$(awk '/^MemAvailable/ {print $2}' /proc/meminfo)
    fit=$(( ${kb:-4000000} / 1200000 ))
    [ "$fit" -lt 1 ] && fit=1
    [ "$fit" -lt "$cpus" ] && echo "$fit" || echo "$cpus"
}

# build_release tests|program: packages, configure, compile.
build_release() {
    local with_tests=OFF packages=()
    if [ "$1" = tests ]; then
        with_tests=ON
        packages=(--with-tests)
    fi
    bash "$setup/install-packages.sh" "${packages[@]}" || exit 1
    cd "$root" || exit 1
    step configure "the lines marked \"CMake Error\" name what is missing" \
        cmake --preset release -DTRAMMEL_TESTS=$with_tests -DTRAMMEL_BENCH=$with_tests
    step build "the first line with \"error:\" names the place; on a machine short of memory close other programs and try again" \
        cmake --build --preset release --parallel "$(jobs_that_fit)"
}
