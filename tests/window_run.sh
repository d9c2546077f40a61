#!/usr/bin/env bash
# Drives the real window with a pointer and keys through every demo, and keeps screenshots to be looked at.
#
#   tests/window_run.sh PROGRAM FOLDER
#
# Needs Xvfb, openbox, xdotool and ImageMagick's import (Debian: xvfb openbox xdotool imagemagick), and a Vulkan driver
# (mesa-vulkan-drivers). Settings and recovered work are kept in the folder, not in the user's own. For each demo: open, drag the
# piece, undo, save, compare, do again, save, drag the clock, walk, look around, quit, open again.
set -euo pipefail
program="$(realpath "$1")"
folder="$(mkdir -p "$2" && realpath "$2")"
rooms="$(cd "$(dirname "$0")/.." && pwd)/rooms"
export DISPLAY=":${WINDOW_RUN_DISPLAY:-91}"
export XDG_CONFIG_HOME="$folder/config" XDG_DATA_HOME="$folder/data" XDG_RUNTIME_DIR="$folder/runtime"
mkdir -p "$XDG_CONFIG_HOME" "$XDG_DATA_HOME" "$XDG_RUNTIME_DIR"
chmod 700 "$XDG_RUNTIME_DIR"

Xvfb "$DISPLAY" -screen 0 1280x742x24 >"$folder/xvfb.log" 2>&1 &
screen=$!
sleep 1
openbox >"$folder/openbox.log" 2>&1 &
manager=$!
app=0
trap 'kill "$app" "$manager" "$screen" 2>/dev/null || true' EXIT
sleep 1

# The software adapter draws a few frames a second: a press lasts longer than a frame.
shot() { sleep 1; import -window root "$folder/$1.png"; }
key() { xdotool key --delay 300 "$1"; sleep 1; }
click() {
    xdotool mousemove "$1" "$2"; sleep 0.7
    xdotool mousedown 1; sleep 0.5; xdotool mouseup 1; sleep 1
}
drag() {
    xdotool mousemove "$1" "$2"; sleep 0.7
    xdotool mousedown 1; sleep 0.6
    for k in 1 2 3 4 5 6; do
        xdotool mousemove $(($1 + ($3 - $1) * k / 6)) $(($2 + ($4 - $2) * k / 6)); sleep 0.4
    done
    sleep 0.6; xdotool mouseup 1; sleep 1
}
open() {
    "$program" "$1" >"$folder/app.log" 2>&1 &
    app=$!
    sleep 25
}
has_quit() {
    for _ in $(seq 20); do
        kill -0 "$app" 2>/dev/null || return 0
        sleep 0.5
    done
    echo "the window does not close" >&2
    return 1
}

# Where the piece is in the first picture of each demo.
for demo in "ferry-hall 600 270" "tunnel-walk 358 276" "stair-court 563 205"; do
    read -r demo x y <<<"$demo"
    room="$folder/$demo.ron"
    cp "$rooms/$demo.ron" "$room"
    open "$room"
    shot "$demo-1-opened"
    drag "$x" "$y" $((x + 70)) "$y" # the piece, along its wall
    sleep 8
    shot "$demo-2-moved"
    key ctrl+z
    sleep 3
    key ctrl+s
    if ! cmp -s <("$program" check --json "$room") <("$program" check --json "$rooms/$demo.ron"); then
        echo "$demo: after undo and save the room is another" >&2
        exit 1
    fi
    along="$(grep -m1 -o 'along_m: [0-9.]*' "$room")"
    key ctrl+shift+z
    sleep 3
    key ctrl+s
    sleep 2
    if [ "$(grep -m1 -o 'along_m: [0-9.]*' "$room")" = "$along" ]; then
        echo "$demo: the moved piece was not saved" >&2
        exit 1
    fi
    click 900 600                 # in the chart: stand there at that hour
    shot "$demo-3-elsewhere"
    drag 60 555 120 555           # the clock
    shot "$demo-4-later"
    key space; sleep 3; key space # walk a few steps
    key q; shot "$demo-5-aside"; key r
    key 2; sleep 3; shot "$demo-6-around"
    key 3; sleep 3; shot "$demo-7-plan"
    key ctrl+q
    has_quit
    open "$room"
    shot "$demo-8-opened-again"
    if grep -q ERROR "$folder/app.log"; then
        cat "$folder/app.log" >&2
        exit 1
    fi
    key ctrl+q
    has_quit
    echo "$demo: opened, moved, undone, done again, saved, walked, opened again"
done
