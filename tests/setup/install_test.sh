#!/usr/bin/env bash
# SPDX-License-Identifier: GPL-3.0-or-later
# The installed program works from where it lies, and its page of the manual names every command.
#   install_test.sh BUILD_FOLDER
set -eu
build=$1
root=$(mktemp -d)
trap 'rm -rf "$root"' EXIT
wrong() {
    echo "$1"
    exit 1
}
cmake --install "$build" --prefix "$root/usr" >/dev/null
program=$root/usr/bin/trammel
cp -r "$root/usr/share/trammel/samples" "$root/work"
code=0
"$program" adjust "$root/work/stepped-board/stepped-board.trammel" >"$root/report" || code=$?
[ "$code" -le 1 ] || wrong "the installed program does not adjust the installed sample"
grep -q '±' "$root/report" || wrong "the installed program printed no dimensions"

page=$root/usr/share/man/man1/trammel.1
commands=$("$program" --help | sed -n '/^Subcommands:/,$p' | awk 'NR > 1 && /^  [a-z]/ {print $1}')
[ -n "$commands" ] || wrong "no commands found in --help"
for command in $commands; do
    grep -q "^\.BI* $command\b" "$page" || wrong "the page of the manual does not name the command $command"
done
for file in applications/trammel.desktop mime/packages/trammel-survey.xml \
    icons/hicolor/scalable/apps/trammel.svg doc/trammel/copyright; do
    [ -s "$root/usr/share/$file" ] || wrong "$file was not installed"
done
if command -v desktop-file-validate >/dev/null; then
    desktop-file-validate "$root/usr/share/applications/trammel.desktop" || wrong "the desktop entry is not valid"
else
    echo "skipped without desktop-file-utils: whether the desktop entry is valid"
fi
if command -v dpkg-shlibdeps >/dev/null; then
    (cd "$root" && cpack --config "$build/CPackConfig.cmake" -B "$root/package" >"$root/cpack.log") ||
        wrong "no package could be made: $(tail -1 "$root/cpack.log")"
    package=$(echo "$root"/package/*.deb)
    dpkg-deb --field "$package" Depends | grep -q libc6 || wrong "the package names no libraries that it needs"
    dpkg-deb --contents "$package" | grep -q ' ./usr/bin/trammel$' || wrong "the package holds no program"
else
    echo "skipped without dpkg-dev: the package for Debian"
fi
echo "installed, run, and packed"
