#!/usr/bin/env bash
# SPDX-License-Identifier: GPL-3.0-or-later
# Rules that the compiler does not enforce. Prints one line a breach; exit 1 when there is any.
#   check.sh ROOT
set -u
export LC_ALL=C.UTF-8
cd "$1" || exit 1
breaches=0
breach() {
    echo "$1"
    breaches=$((breaches + 1))
}
# files PATTERN...: our files whose names match one of the patterns, without build folders.
files() {
    local tests=()
    for pattern in "$@"; do tests+=(-o -name "$pattern"); done
    find . \( -path ./build -o -path './build-*' -o -path ./.git \) -prune -o -type f \( "${tests[@]:1}" \) -print |
        sed 's|^\./||' | sort
}
# found SENTENCE FILES REGEX [EXCEPT]: each line of the files that matches, and not EXCEPT, is a breach.
found() {
    [ -n "$2" ] || return
    while IFS= read -r hit; do breach "$hit   <- $1"; done < <(
        echo "$2" | xargs -d '\n' grep -nHE -- "$3" | grep -vE -- "${4:-^$}")
}

code=$(files '*.h' '*.cpp')
scripts=$(files '*.sh' '*.py' '*.cmake')
headers=$(files '*.h')
core=$(echo "$code" | grep '^core/')
ours=$(echo "$code" | grep -E '^(core|ui|app)/')

for file in $code $scripts; do
    lines=$(wc -l < "$file")
    [ "$lines" -le 500 ] || breach "$file: $lines lines; split it, 500 are the most"
done
for file in $code; do
    head -1 "$file" | grep -q '^// SPDX-License-Identifier: GPL-3.0-or-later$' ||
        breach "$file: the first line is not the SPDX line"
done
for file in $(files '*.sh' '*.py'); do
    head -2 "$file" | grep -q '^# SPDX-License-Identifier: GPL-3.0-or-later$' ||
        breach "$file: no SPDX line among the first two"
done
for file in $headers; do
    grep -q '^#pragma once$' "$file" || breach "$file: no #pragma once"
done
for folder in core/*/; do
    [ -d "$folder" ] || continue
    [ -f "${folder}README.md" ] || breach "$folder: no README.md that says what it is for, may include, where to start"
done
for file in $(files README.md | grep -E '^(core|ui)/'); do
    lines=$(wc -l < "$file")
    [ "$lines" -le 20 ] || breach "$file: $lines lines; 20 are the most"
done

# A folder includes only the folders that core/CMakeLists.txt names for it, not what those name in turn.
while read -r folder uses; do
    allowed=$(echo "$folder $uses" | sed 's/  */|/g; s/|$//')
    found "core/CMakeLists.txt does not name this folder for core/$folder" "$(echo "$core" | grep "^core/$folder/")" \
        '^[[:space:]]*#[[:space:]]*include[[:space:]]*"core/' "include[[:space:]]*\"core/($allowed)/"
done < <(sed -n 's/^trammel_core(\([a-z]*\)\( USES\([a-z ]*\)\)\?.*/\1 \3/p' core/CMakeLists.txt)

found 'include by folder, never by ".."' "$code" '^[[:space:]]*#[[:space:]]*include[[:space:]]*"\.\.?/'
found 'include our own headers as "core/…", "ui/…" or "app/…"' "$ours" \
    '^[[:space:]]*#[[:space:]]*include[[:space:]]*"[^"]*"' 'include[[:space:]]*"(core|ui|app)/'
found 'core is free of Qt' "$core" '^[[:space:]]*#[[:space:]]*include[[:space:]]*<Q[A-Z]'
found 'of OpenCV only core, imgproc and calib3d' "$code" \
    'include[[:space:]]*<opencv2/(highgui|imgcodecs|videoio|opencv)\b'
found 'no "using namespace" in a header' "$headers" '^using namespace '
found 'no path of one machine' "$(files '*.h' '*.cpp' '*.sh' '*.py' '*.cmake' '*.md' '*.json' '*.txt' '*.trammel' run |
    grep -v '^tests/hygiene/')" '(^|[^A-Za-z0-9_./}$-])(/work/|/home/[a-z]|/root/|/Users/)|[^A-Za-z][A-Z]:\\\\[A-Za-z]'
found 'no fixed temporary folder in the program' "$ours" '"/tmp/'

[ $breaches -eq 0 ] || { echo "$breaches breaches"; exit 1; }
echo "clean: $(echo "$code" | wc -l) source files"
