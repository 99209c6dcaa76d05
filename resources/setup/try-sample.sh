#!/usr/bin/env bash
# SPDX-License-Identifier: GPL-3.0-or-later
# From a fresh Debian 12 machine to the dimensioned outline of the bundled sample:
# installs what is missing, builds, fits the sample's hand marks to the edges in its photographs, adjusts the
# survey, writes its drawing, opens the window.
#   try-sample.sh [--no-window] [OUTPUT-FOLDER]
set -u
. "$(dirname "${BASH_SOURCE[0]}")/steps.sh"

window=yes
out=$root/build/sample
for argument in "$@"; do
    case $argument in
        --no-window) window=no ;;
        -*) stop "try-sample.sh does not know \"$argument\"; use --no-window, the name of a folder, or nothing." ;;
        *) out=$argument ;;
    esac
done
mkdir -p "$out" 2> /dev/null || stop "the folder $out cannot be made; name another one."
out=$(cd "$out" && pwd)

build_release program
program=$root/build/release/bin/trammel
sample=$root/samples/stepped-board/stepped-board.trammel
survey=$out/stepped-board.trammel

step fit "the line above says why" \
    "$program" fit "$sample" --out "$survey"

echo
echo "== adjust: $program adjust $survey"
"$program" adjust "$survey" > "$out/report.txt" 2> "$logs/adjust.log"
code=$?
cat "$out/report.txt" "$logs/adjust.log"
case $code in
    0) ;;
    1) echo "   (the survey disagrees with itself somewhere: the report names the suspects)" ;;
    *) stop "step \"adjust\" failed (exit $code); the line above says why." "$logs/adjust.log" ;;
esac

also_good=1  # the files are written, and say that the survey disagrees
step handover "the line above says why" \
    "$program" handover "$survey" --out "$out"
ls "$out"/*.dxf > /dev/null 2>&1 ||
    stop "step \"handover\" wrote no DXF into $out; see what it said." "$logs/handover.log"

echo
echo "Done. The dimensions with their ± stand in $out/report.txt"
for file in "$out"/*; do
    case $file in
        *.dxf) echo "The drawing is                       $file" ;;
        *.trammel) echo "The survey with fitted marks is       $file" ;;
        */report.txt) ;;
        *) echo "Also written:                         $file" ;;
    esac
done
[ $window = yes ] || exit 0
if [ -z "${DISPLAY:-}${WAYLAND_DISPLAY:-}" ]; then
    echo "There is no display here; on one that has a screen, open the window with: $program $survey"
    exit 0
fi
echo "Opening the window (close it to end this command). Another time: $program $survey"
"$program" "$survey" > "$logs/window.log" 2>&1 ||
    stop "the window did not open or ended badly; the files above are whole all the same." "$logs/window.log"
