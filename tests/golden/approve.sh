#!/usr/bin/env bash
# SPDX-License-Identifier: GPL-3.0-or-later
# Shows each output that differs from its approved file and, when you agree, makes it the approved one.
#   approve.sh [BUILD-FOLDER]      default: build/release
set -u
golden=$(cd "$(dirname "$0")" && pwd)
received=${1:-$golden/../../build/release}/received
[ -d "$received" ] || { echo "nothing was received in $received; run the tests first"; exit 1; }
found=no
while IFS= read -r -u 3 name; do
    found=yes
    echo "== $name"
    diff -u "$golden/$name" "$received/$name" | head -60
    read -r -p "approve $name? [y/N] " answer
    [ "$answer" = y ] || continue
    mkdir -p "$(dirname "$golden/$name")" && mv "$received/$name" "$golden/$name" && echo "approved; commit it"
done 3< <(cd "$received" && find . -type f | sed 's|^\./||' | sort)
[ $found = yes ] || echo "nothing differs"
