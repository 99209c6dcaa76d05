#!/usr/bin/env bash
# SPDX-License-Identifier: GPL-3.0-or-later
# The set-up commands say in one sentence what failed. Nothing is installed or built: apt-get, cmake and the
# others are played by small scripts in a folder that is the whole PATH.
set -u
setup=$(cd "$(dirname "$0")/../../resources/setup" && pwd)
stage=$(mktemp -d)
trap 'rm -rf "$stage"' EXIT
export TRAMMEL_LOGS=$stage/logs TRAMMEL_OS_RELEASE=$stage/os-release
failures=0

# play NAME BODY: a command of that name for the script under test.
play() {
    rm -f "$stage/bin/$1"
    printf '#!/bin/bash\n%s\n' "$2" > "$stage/bin/$1"
    chmod +x "$stage/bin/$1"
}
# fresh: root on Debian 12, packages missing, everything works.
fresh() {
    rm -rf "${stage:?}/bin" "$stage/logs" "$stage/called"
    mkdir -p "$stage/bin"
    for tool in bash awk sed grep fold cat env mkdir tee dirname wc nproc ls tail rm cut date; do
        ln -s "$(command -v $tool)" "$stage/bin/$tool"
    done
    printf 'ID=debian\nVERSION_ID="12"\nPRETTY_NAME="Debian 12"\n' > "$TRAMMEL_OS_RELEASE"
    play id 'echo 0'
    play dpkg-query 'exit 1'
    play apt-get "echo \"\$@\" >> $stage/called"
    play cmake 'exit 0'
    play ctest 'echo "100% tests passed, 0 tests failed out of 3"'
}
# expect CODE WORDS SCRIPT ARGUMENTS...: the script ends with CODE, and its last line holds WORDS.
expect() {
    local code=$1 words=$2 script=$3
    shift 3
    PATH=$stage/bin bash "$setup/$script" "$@" > "$stage/said" 2>&1 < /dev/null
    local got=$?
    if [ $got -ne "$code" ] || ! tail -1 "$stage/said" | grep -qF -- "$words"; then
        echo "$script $*: expected exit $code and \"$words\", got exit $got and:"
        sed 's/^/    /' "$stage/said"
        failures=$((failures + 1))
    fi
}
called() { grep -qF -- "$1" "$stage/called" || { echo "apt-get was not called with: $1"; failures=$((failures + 1)); }; }

fresh
expect 0 "installed" install-packages.sh
called "install --yes --no-install-recommends g++ cmake"
grep -q catch2 "$stage/called" && { echo "test packages without --with-tests"; failures=1; }
expect 0 "installed" install-packages.sh --with-tests
called "catch2"

fresh  # all but one are there
play dpkg-query '[ "${!#}" = libfmt-dev ] && echo "un " || echo "ii "'
expect 0 "libfmt-dev" install-packages.sh --list
[ "$(wc -l < "$stage/said")" -eq 1 ] || { echo "--list names more than what is missing"; failures=1; }
expect 0 "installed" install-packages.sh
called "--no-install-recommends libfmt-dev"

fresh
play dpkg-query 'echo "ii "'
expect 0 "are installed already" install-packages.sh
[ -e "$stage/called" ] && { echo "apt-get was called although nothing is missing"; failures=1; }

fresh
printf 'ID=other\nVERSION_ID="3"\nPRETTY_NAME="Other 3"\n' > "$TRAMMEL_OS_RELEASE"
expect 1 "Stopped: this set-up is for Debian 12 and this is (Other 3)" install-packages.sh
rm "$stage/bin/dpkg-query"
expect 1 "Stopped: this set-up is for Debian 12; on another system" install-packages.sh

fresh
play id 'echo 1000'
expect 1 "there is no sudo; as root run: apt-get install g++" install-packages.sh
play sudo 'exit 1'
expect 1 "Stopped: sudo refused" install-packages.sh

fresh
for trouble in \
    "Temporary failure resolving 'host'|check the network" \
    "E: You don't have enough free space in /var|disk is too full" \
    "E: Could not get lock /var/lib/dpkg/lock|another package manager is at work" \
    "E: Unable to locate package libfmt-dev|enable Debian 12's section" \
    "E: Unable to correct problems, you have held broken packages.|do not fit other packages" \
    "something else|its last lines say why. The log is $stage/logs/packages.log"; do
    play apt-get "case \" \$* \" in *' install '*) echo \"${trouble%|*}\"; exit 100 ;; esac"
    expect 1 "${trouble#*|}" install-packages.sh
done
play apt-get 'exit 100'
expect 1 "could not be refreshed; check the network" install-packages.sh
expect 1 'does not know "--everything"' install-packages.sh --everything

fresh
play apt-get 'exit 100'
expect 1 "could not be refreshed" run-tests.sh
expect 1 "could not be refreshed" try-sample.sh
fresh
play cmake 'case $1 in --preset) echo "CMake Error: no such library"; exit 1 ;; esac'
expect 1 "Stopped: step \"configure\" failed (exit 1); the lines marked \"CMake Error\"" try-sample.sh "$stage/out"
play cmake 'case $1 in --build) echo "error: expected ;"; exit 1 ;; esac'
expect 1 "Stopped: step \"build\" failed (exit 1)" run-tests.sh
expect 1 "The log is $stage/logs/build.log" run-tests.sh
fresh
expect 0 "100% tests passed" run-tests.sh
play ctest 'echo "67% tests passed, 1 tests failed out of 3"; exit 8'
expect 1 "Stopped: step \"tests\" failed (exit 8)" run-tests.sh
touch "$stage/file"
expect 1 "Stopped: the folder $stage/file/out cannot be made" try-sample.sh "$stage/file/out"
expect 1 'does not know "--fast"' try-sample.sh --fast

[ $failures -eq 0 ] && echo "every failure is one sentence"
exit $((failures > 0))
